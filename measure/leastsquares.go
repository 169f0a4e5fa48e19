package measure

import "math"

// problem is a least-squares problem: residuals returns n numbers, in units of
// their standard uncertainty, at the parameters x.
type problem struct {
	n         int
	step      []float64 // of the numeric derivative, one per parameter
	residuals func(x, r []float64)
}

// fit is the solution of a problem.
type fit struct {
	x    []float64
	r    []float64
	chi2 float64
	jac  [][]float64 // jac[i][j] = ∂rᵢ/∂xⱼ
	cov  [][]float64 // (JᵀJ)⁻¹; nil where the residuals don't determine x
}

// solve minimises the sum of squares from x by the method of Levenberg and
// Marquardt (Marquardt 1963, J SIAM 11:431–441).
func (p problem) solve(x []float64) fit {
	f := fit{x: append([]float64{}, x...), r: make([]float64, p.n)}
	p.residuals(f.x, f.r)
	f.chi2 = sumSquares(f.r)
	f.jac = p.jacobian(f.x, nil)
	lambda := 1e-3
	trial, r := make([]float64, len(x)), make([]float64, p.n)
	for range 60 {
		a, g := normal(f.jac, f.r)
		for j := range a {
			a[j][j] *= 1 + lambda
		}
		d, ok := solveSymmetric(a, g)
		if !ok {
			lambda = math.Max(lambda*10, 1e-6)
			if lambda > 1e12 {
				break
			}
			continue
		}
		small := true
		for j := range trial {
			trial[j] = f.x[j] - d[j]
			small = small && math.Abs(d[j]) <= 1e-7*p.step[j]
		}
		p.residuals(trial, r)
		if chi2 := sumSquares(r); chi2 <= f.chi2 {
			f.chi2 = chi2
			copy(f.x, trial)
			copy(f.r, r)
			f.jac = p.jacobian(f.x, f.jac)
			lambda /= 10
		} else {
			lambda *= 10
		}
		if small || lambda > 1e12 {
			break
		}
	}
	a, _ := normal(f.jac, f.r)
	f.cov = inverse(a)
	return f
}

// jacobian returns the derivatives of the residuals by central differences.
func (p problem) jacobian(x []float64, into [][]float64) [][]float64 {
	if into == nil {
		into = make([][]float64, p.n)
		for i := range into {
			into[i] = make([]float64, len(x))
		}
	}
	plus, minus := make([]float64, p.n), make([]float64, p.n)
	for j, h := range p.step {
		at := x[j]
		x[j] = at + h
		p.residuals(x, plus)
		x[j] = at - h
		p.residuals(x, minus)
		x[j] = at
		for i := range into {
			into[i][j] = (plus[i] - minus[i]) / (2 * h)
		}
	}
	return into
}

func sumSquares(r []float64) float64 {
	sum := 0.0
	for _, x := range r {
		sum += x * x
	}
	return sum
}

// normal returns JᵀJ and Jᵀr.
func normal(jac [][]float64, r []float64) (a [][]float64, g []float64) {
	n := len(jac[0])
	a, g = make([][]float64, n), make([]float64, n)
	for j := range a {
		a[j] = make([]float64, n)
	}
	for i, row := range jac {
		for j := range n {
			g[j] += row[j] * r[i]
			for k := range n {
				a[j][k] += row[j] * row[k]
			}
		}
	}
	return a, g
}

// solveSymmetric solves a·x = b for a positive definite matrix, scaled to a
// unit diagonal; ok is false when it is singular.
func solveSymmetric(a [][]float64, b []float64) (x []float64, ok bool) {
	l, scale, ok := cholesky(a)
	if !ok {
		return nil, false
	}
	return substitute(l, scale, b), true
}

// cholesky factors D·a·D = L·Lᵀ with D = diag(1/√aⱼⱼ).
func cholesky(a [][]float64) (l [][]float64, scale []float64, ok bool) {
	n := len(a)
	l, scale = make([][]float64, n), make([]float64, n)
	for j := range n {
		if !(a[j][j] > 0) {
			return nil, nil, false
		}
		scale[j] = 1 / math.Sqrt(a[j][j])
		l[j] = make([]float64, n)
	}
	for i := range n {
		for j := 0; j <= i; j++ {
			sum := a[i][j] * scale[i] * scale[j]
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = sum / l[j][j]
				continue
			}
			if !(sum > 1e-14) {
				return nil, nil, false
			}
			l[i][i] = math.Sqrt(sum)
		}
	}
	return l, scale, true
}

func substitute(l [][]float64, scale, b []float64) []float64 {
	n := len(b)
	x := make([]float64, n)
	for i := range n {
		sum := b[i] * scale[i]
		for k := range i {
			sum -= l[i][k] * x[k]
		}
		x[i] = sum / l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			x[i] -= l[k][i] * x[k]
		}
		x[i] /= l[i][i]
	}
	for i := range x {
		x[i] *= scale[i]
	}
	return x
}

// inverse returns the inverse of a positive definite matrix, nil when it is
// singular.
func inverse(a [][]float64) [][]float64 {
	l, scale, ok := cholesky(a)
	if !ok {
		return nil
	}
	inv := make([][]float64, len(a))
	for j := range a {
		e := make([]float64, len(a))
		e[j] = 1
		inv[j] = substitute(l, scale, e)
	}
	return inv
}
