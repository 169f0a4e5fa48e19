package measure

import "math"

// most is the largest number of parameters of a fit in this package: two arcs
// in a volume.
const most = 10

// row is one number for each parameter.
type row [most]float64

// normals are the normal equations of a least-squares problem with n
// parameters: a = JᵀJ, g = Jᵀr, and the sum of squares itself.
type normals struct {
	n    int
	a    [most]row
	g    row
	chi2 float64
}

// add takes in one residual and its derivatives.
func (e *normals) add(r float64, j *row) {
	e.chi2 += r * r
	for i := range e.n {
		if j[i] == 0 {
			continue
		}
		e.g[i] += j[i] * r
		for k := range i + 1 {
			e.a[i][k] += j[i] * j[k]
		}
	}
}

// factor is the Cholesky factor of the normal equations, scaled to a unit
// diagonal, with the diagonal raised by the factor 1 + damping; ok is false
// when they are singular.
type factor struct {
	n     int
	l     [most]row
	scale row
}

func (e *normals) factor(damping float64) (f factor, ok bool) {
	f.n = e.n
	for j := range e.n {
		if !(e.a[j][j] > 0) {
			return f, false
		}
		f.scale[j] = 1 / math.Sqrt(e.a[j][j])
	}
	for i := range e.n {
		for j := range i + 1 {
			sum := e.a[i][j] * f.scale[i] * f.scale[j]
			for k := range j {
				sum -= f.l[i][k] * f.l[j][k]
			}
			if i != j {
				f.l[i][j] = sum / f.l[j][j]
				continue
			}
			if sum += damping; !(sum > 1e-13) {
				return f, false
			}
			f.l[i][i] = math.Sqrt(sum)
		}
	}
	return f, true
}

// solve returns (JᵀJ)⁻¹ b.
func (f *factor) solve(b *row) (x row) {
	for i := range f.n {
		sum := b[i] * f.scale[i]
		for k := range i {
			sum -= f.l[i][k] * x[k]
		}
		x[i] = sum / f.l[i][i]
	}
	for i := f.n - 1; i >= 0; i-- {
		for k := i + 1; k < f.n; k++ {
			x[i] -= f.l[k][i] * x[k]
		}
		x[i] /= f.l[i][i]
	}
	for i := range f.n {
		x[i] *= f.scale[i]
	}
	return x
}

// variance returns the diagonal element j of (JᵀJ)⁻¹.
func (f *factor) variance(j int) float64 {
	var e row
	e[j] = 1
	x := f.solve(&e)
	return x[j]
}

// logDet returns the logarithm of the determinant of (JᵀJ)⁻¹.
func (f *factor) logDet() float64 {
	sum := 0.0
	for i := range f.n {
		sum += math.Log(f.scale[i] / f.l[i][i])
	}
	return 2 * sum
}
