package trace

import "math"

// order is that of the difference a smoothing spline holds down: third
// differences are 0 for a straight line and for a parabola, so that an arc of
// constant curvature costs next to nothing.
const order = 3

// band is a symmetric positive definite matrix with order diagonals beside the
// main one, factored in place as L·D·Lᵀ: row i holds Dᵢ and L at i+1 … i+order.
type band [][order + 1]float64

// thirdSquared returns ΔᵀΔ for third differences Δ of n values, times k.
func thirdSquared(n int, k float64) band {
	b := make(band, n)
	c := [order + 1]float64{-1, 3, -3, 1}
	for r := 0; r+order < n; r++ {
		for i := 0; i <= order; i++ {
			for j := i; j <= order; j++ {
				b[r+i][j-i] += k * c[i] * c[j]
			}
		}
	}
	return b
}

// factor replaces the matrix by its factors and returns the logarithm of its
// determinant; −∞ when it is not positive definite.
func (b band) factor() float64 {
	sum := 0.0
	for i := range b {
		d := b[i][0]
		if !(d > 0) {
			return math.Inf(-1)
		}
		sum += math.Log(d)
		for k := 1; k <= order && i+k < len(b); k++ {
			f := b[i][k] / d
			for j := k; j <= order && i+j < len(b); j++ {
				b[i+k][j-k] -= f * b[i][j]
			}
		}
		for k := 1; k <= order; k++ {
			b[i][k] /= d
		}
	}
	return sum
}

// solve returns the solution for a right-hand side, from the factors.
func (b band) solve(rhs []float64) []float64 {
	x := append([]float64(nil), rhs...)
	for i := range b {
		for k := 1; k <= order && i+k < len(b); k++ {
			x[i+k] -= b[i][k] * x[i]
		}
	}
	for i := len(b) - 1; i >= 0; i-- {
		x[i] /= b[i][0]
		for k := 1; k <= order && i+k < len(b); k++ {
			x[i] -= b[i][k] * x[i+k]
		}
	}
	return x
}

// inverseDiagonal returns the diagonal of the inverse, from the factors
// (Takahashi, Fagan & Chin 1973; Hutchinson & de Hoog 1985, Numer Math 47:99).
func (b band) inverseDiagonal() []float64 {
	n := len(b)
	z := make(band, n) // the inverse within the band: z[i][k] at (i, i+k)
	at := func(i, j int) float64 {
		if i > j {
			i, j = j, i
		}
		if j >= n {
			return 0
		}
		return z[i][j-i]
	}
	out := make([]float64, n)
	for i := n - 1; i >= 0; i-- {
		for k := order; k >= 0; k-- {
			v := 0.0
			if k == 0 {
				v = 1 / b[i][0]
			}
			for m := 1; m <= order && i+m < n; m++ {
				v -= b[i][m] * at(i+m, i+k)
			}
			if i+k < n {
				z[i][k] = v
			}
		}
		out[i] = z[i][0]
	}
	return out
}

// smooth is a smoothing spline through values at even distances.
type smooth struct {
	value    []float64
	variance []float64 // of value
	scale    float64   // variance of a value of weight 1, from the scatter
	reach    float64   // distance over which values are averaged, in samples
}

// stiffness returns the factor of the squared third differences for values of
// weight w that makes the spline average over about reach values: its kernel
// falls off with (w/k)^(1/6) (Silverman 1984, Ann Stat 12:898–916).
func stiffness(reach, w float64) float64 { return w * math.Pow(reach/2, 2*order) }

// smoothAt fits values with weights (inverse variances up to a common factor;
// 0 leaves a value out) at one stiffness. It returns the fit and twice the
// negative logarithm of the restricted likelihood, constants left out.
func smoothAt(y, w []float64, k float64) (f []float64, b band, scale, score float64) {
	b = thirdSquared(len(y), k)
	rhs := make([]float64, len(y))
	used := 0.0
	for i := range y {
		b[i][0] += w[i]
		rhs[i] = w[i] * y[i]
		if w[i] > 0 {
			used++
		}
	}
	logDet := b.factor()
	f = b.solve(rhs)
	sum := 0.0
	for i := range y {
		sum += rhs[i] * (y[i] - f[i])
	}
	free := max(used-order, 1)
	scale = max(sum, 1e-12) / free
	return f, b, scale, free*math.Log(scale) + logDet - float64(len(y)-order)*math.Log(k)
}

// smoothed fits the smoothing spline whose stiffness, between averaging over
// reach least and most, makes the values most likely: restricted maximum
// likelihood in the view of the spline as a random process (Wahba 1985, Ann
// Stat 13:1378–1402). Its posterior variance then covers on the average along
// the line (Wahba 1983, J R Stat Soc B 45:133–150).
func smoothed(y, w []float64, least, most float64) smooth {
	mean := 0.0
	for _, v := range w {
		mean += v / float64(len(w))
	}
	best := math.Inf(1)
	var s smooth
	for reach := least; reach <= most*1.0001; reach *= 1.25 {
		f, b, scale, score := smoothAt(y, w, stiffness(reach, mean))
		if score < best {
			best = score
			s = smooth{value: f, variance: b.inverseDiagonal(), scale: scale, reach: reach}
		}
	}
	for i := range s.variance {
		s.variance[i] *= s.scale
	}
	return s
}
