package outline

import "math"

// order is the highest harmonic of a contour and unknowns the number of
// coefficients: the mean, cosines and sines.
const (
	order    = 14
	unknowns = 2*order + 1
)

// waves holds 1, cos t, sin t, cos 2t, … at each ray.
var waves = func() (b [rays][unknowns]float64) {
	for k := range b {
		b[k][0] = 1
		for m := 1; m <= order; m++ {
			b[k][2*m], b[k][2*m-1] = math.Sincos(2 * math.Pi * float64(k*m%rays) / rays)
		}
	}
	return b
}()

// prior holds the standard deviation that harmonic m of a lesion's edge is
// expected to have about the ellipse, relative to its radius; 0 means any.
// Shift, size and the ellipse itself are free. By trial: an outline that
// deviates from an ellipse by a tenth or so, the less the finer.
type prior struct {
	third float64 // of harmonic 3
	free  int     // the highest harmonic that may have any size
}

func (p prior) sd(m int) float64 {
	if m <= p.free {
		return 0
	}
	q := 3 / float64(m)
	return p.third * q * q
}

// shapes are the priors among which the evidence decides: from all but an
// ellipse to lobed.
var shapes = []prior{{0.008, 2}, {0.016, 2}, {0.032, 2}, {0.064, 2}, {0.128, 2}}

// series is a smooth function of direction with the covariance of its
// coefficients.
type series struct {
	c   [unknowns]float64
	cov [unknowns][unknowns]float64
	// evidence is the logarithm of the probability of the data under the prior,
	// up to a constant (MacKay 1992, Neural Comput 4:415–447, eq. 4.10).
	evidence float64
}

// normal holds the normal equations of a weighted fit, lower half.
type normal struct {
	n   int
	a   [unknowns][unknowns]float64
	rhs [unknowns]float64
}

// newNormal adds up values y with weights w, the inverse variances; top is the
// highest harmonic used.
func newNormal(y, w []float64, top int) *normal {
	e := &normal{n: 2*top + 1}
	for k := range rays {
		if w[k] == 0 {
			continue
		}
		b := waves[k][:e.n]
		for i, v := range b {
			bw := v * w[k]
			e.rhs[i] += bw * y[k]
			row := e.a[i][:i+1]
			for j := range row {
				row[j] += bw * b[j]
			}
		}
	}
	return e
}

// solve finds the most probable series under a prior (ridge regression), its
// covariance left out.
func (e *normal) solve(p prior) (s series, f factor) {
	f = factor{n: e.n, l: e.a}
	largest := 0.0
	for i := range e.n {
		largest = math.Max(largest, f.l[i][i])
	}
	for i := range e.n {
		f.l[i][i] += 1e-9*largest + 1e-300
		if sd := p.sd((i + 1) / 2); sd > 0 {
			f.l[i][i] += 1 / (sd * sd)
			s.evidence -= math.Log(sd)
		}
	}
	s.evidence -= f.decompose() / 2
	s.c = f.solve(e.rhs)
	for i, c := range s.c[:e.n] { // the penalised sum of squares is Σ w y² − cᵀ rhs, of which the first is a constant
		s.evidence += c * e.rhs[i] / 2
	}
	return s, f
}

// fitSeries finds the most probable series for values y with weights w.
func fitSeries(y, w []float64, top int, p prior) series {
	s, _ := newNormal(y, w, top).solve(p)
	return s
}

// fitShape fits with each of the priors and returns the most probable, with
// the covariance of the posterior.
func fitShape(y, w []float64) series {
	e := newNormal(y, w, order)
	best, at := e.solve(shapes[0])
	for _, p := range shapes[1:] {
		if s, f := e.solve(p); s.evidence > best.evidence {
			best, at = s, f
		}
	}
	best.cov = at.inverse()
	return best
}

// at returns the series on ray k.
func (s *series) at(k int) float64 {
	sum := 0.0
	for i, b := range waves[k] {
		sum += b * s.c[i]
	}
	return sum
}

func (s *series) all() (out [rays]float64) {
	for k := range out {
		out[k] = s.at(k)
	}
	return out
}

// variance returns that of the linear form Σ g·s over the rays.
func (s *series) variance(g func(k int) float64) float64 {
	var f [unknowns]float64
	for k := range rays {
		v := g(k)
		if v == 0 {
			continue
		}
		for i, b := range waves[k] {
			f[i] += v * b
		}
	}
	sum := 0.0
	for i := range f {
		for j := range f {
			sum += f[i] * s.cov[i][j] * f[j]
		}
	}
	return sum
}

// factor is the lower Cholesky factor of a symmetric positive matrix.
type factor struct {
	n int
	l [unknowns][unknowns]float64
}

// decompose replaces the lower half of the matrix by its factor and returns
// the logarithm of its determinant.
func (f *factor) decompose() (logDet float64) {
	for i := range f.n {
		row := &f.l[i]
		for j := range i {
			s := row[j]
			for k, v := range f.l[j][:j] {
				s -= row[k] * v
			}
			row[j] = s / f.l[j][j]
		}
		s := row[i]
		for _, v := range row[:i] {
			s -= v * v
		}
		row[i] = math.Sqrt(math.Max(s, 1e-300))
		logDet += 2 * math.Log(row[i])
	}
	return logDet
}

// solve returns the solution for a right-hand side.
func (f *factor) solve(x [unknowns]float64) [unknowns]float64 {
	for i := range f.n {
		for k, v := range f.l[i][:i] {
			x[i] -= v * x[k]
		}
		x[i] /= f.l[i][i]
	}
	for i := f.n - 1; i >= 0; i-- {
		for k := i + 1; k < f.n; k++ {
			x[i] -= f.l[k][i] * x[k]
		}
		x[i] /= f.l[i][i]
	}
	return x
}

// inverse returns the inverse of the matrix.
func (f *factor) inverse() (inv [unknowns][unknowns]float64) {
	for i := range f.n {
		var unit [unknowns]float64
		unit[i] = 1
		inv[i] = f.solve(unit)
	}
	return inv
}
