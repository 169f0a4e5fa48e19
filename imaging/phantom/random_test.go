package phantom

import (
	"math"
	"testing"
)

// moments returns mean and variance of n draws.
func moments(n int, draw func() float64) (mean, variance float64) {
	var sum, square float64
	for range n {
		v := draw()
		sum += v
		square += v * v
	}
	mean = sum / float64(n)
	return mean, square/float64(n) - mean*mean
}

// Standard errors: of a mean sd/√n, of a variance σ²√(2/n) (more for Poisson
// with few counts: √((1/λ + 2)/n)); five of them are allowed.
func TestRandomMoments(t *testing.T) {
	const n = 200000
	r := newRandom(11, 1)
	mean, variance := moments(n, r.normal)
	near(t, "mean of normals", mean, 0, 5/math.Sqrt(n))
	near(t, "variance of normals", variance, 1, 5*math.Sqrt(2.0/n))
	for _, lambda := range []float64{0.3, 4, 29, 31, 2500} {
		mean, variance = moments(n, func() float64 { return r.poisson(lambda) })
		near(t, "mean of counts", mean, lambda, 5*math.Sqrt(lambda/n))
		near(t, "variance of counts", variance, lambda+rounding(lambda), 5*lambda*math.Sqrt((1/lambda+2)/n))
	}
}

// rounding is the variance that rounding adds to the normal approximation.
func rounding(lambda float64) float64 {
	if lambda > 30 {
		return 1.0 / 12
	}
	return 0
}

func TestNoiseIsCounted(t *testing.T) {
	f := newField(400, 300)
	for i := range f.v {
		f.v[i] = 0.5
	}
	f.noise(9, Beam{Photons: 1000, GaussSD: 20})
	i := -1
	mean, variance := moments(len(f.v), func() float64 { i++; return float64(f.v[i]) })
	n := float64(len(f.v))
	want := (500 + 20*20 + 1.0/12) / (1000 * 1000) // counts + electronic noise + rounding
	near(t, "mean", mean, 0.5, 5*math.Sqrt(want/n))
	near(t, "variance", variance, want, 5*want*math.Sqrt(2/n))
}

// A blurred step keeps its place and takes the width of the Gaussian.
func TestBlurKeepsPlaceAndSum(t *testing.T) {
	f := newField(101, 41)
	f.v[20*101+50] = 1
	f.blur(2.5)
	var sum, mx, my, xx float64
	for y := range f.h {
		for x := range f.w {
			v := float64(f.v[y*f.w+x])
			sum += v
			mx += v * float64(x)
			my += v * float64(y)
			xx += v * float64(x-50) * float64(x-50)
		}
	}
	near(t, "sum", sum, 1, 1e-5)
	near(t, "x", mx/sum, 50, 1e-4)
	near(t, "y", my/sum, 20, 1e-4)
	near(t, "width", math.Sqrt(xx/sum), 2.5, 0.01)
}

// The bone texture is centred, so that it does not change the mean density.
func TestTrabeculaeAreCentred(t *testing.T) {
	b := newTrabeculae(4)
	r := newRandom(4, 9)
	mean, variance := moments(100000, func() float64 { return b.at(MM{40 * r.uniform(), 40 * r.uniform()}) })
	near(t, "mean", mean, 0, 0.25)
	near(t, "standard deviation", math.Sqrt(variance), 1, 0.3)
}
