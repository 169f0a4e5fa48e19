package trace

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The banded factors against dense linear algebra.
func TestBandMatchesDense(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, n := range []int{4, 5, 9, 40} {
		b := thirdSquared(n, 3.7)
		rhs := make([]float64, n)
		for i := range b {
			b[i][0] += 0.1 + r.Float64()
			rhs[i] = r.NormFloat64()
		}
		dense := mat.NewSymDense(n, nil)
		for i := range n {
			for k := 0; k <= order && i+k < n; k++ {
				dense.SetSym(i, i+k, b[i][k])
			}
		}
		var chol mat.Cholesky
		if !chol.Factorize(dense) {
			t.Fatal("not positive definite")
		}
		var inverse mat.SymDense
		if err := chol.InverseTo(&inverse); err != nil {
			t.Fatal(err)
		}
		var x mat.VecDense
		if err := chol.SolveVecTo(&x, mat.NewVecDense(n, rhs)); err != nil {
			t.Fatal(err)
		}
		if got := b.factor(); math.Abs(got-chol.LogDet()) > 1e-9 {
			t.Errorf("n %d: logarithm of the determinant %g, want %g", n, got, chol.LogDet())
		}
		solution, diagonal := b.solve(rhs), b.inverseDiagonal()
		for i := range n {
			if math.Abs(solution[i]-x.AtVec(i)) > 1e-9 || math.Abs(diagonal[i]-inverse.At(i, i)) > 1e-9 {
				t.Fatalf("n %d, row %d: %g and %g, want %g and %g", n, i, solution[i], diagonal[i], x.AtVec(i), inverse.At(i, i))
			}
		}
	}
}

// A parabola costs a spline of third differences nothing, however stiff.
func TestSmoothKeepsParabolas(t *testing.T) {
	y, w := make([]float64, 50), make([]float64, 50)
	for i := range y {
		y[i], w[i] = 3-0.2*float64(i)+0.01*float64(i*i), 1
	}
	f, _, _, _ := smoothAt(y, w, stiffness(30, 1))
	for i := range y {
		if math.Abs(f[i]-y[i]) > 1e-5 {
			t.Fatalf("at %d: %g, want %g", i, f[i], y[i])
		}
	}
}

// The stated variance of a spline covers on the average along the line (Wahba
// 1983): over noisy arcs joined to straight parts, which have a kink in their
// curvature that no spline follows, a little less than 95.4 % of all values lie
// within two standard deviations.
func TestSmoothedCovers(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	within, all := 0, 0
	for range 200 {
		n := 60 + r.IntN(60)
		start, bend, noise := r.IntN(n), 0.02*r.NormFloat64(), 0.5+r.Float64()
		truth, y, w := make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range y {
			d := math.Max(float64(i-start), 0)
			w[i] = 0.3 + r.Float64()
			truth[i] = 0.1*float64(i) + bend*d*d/2
			y[i] = truth[i] + noise*r.NormFloat64()/math.Sqrt(w[i])
		}
		s := smoothed(y, w, 4, float64(n))
		for i := range y {
			all++
			if math.Abs(s.value[i]-truth[i]) < 2*math.Sqrt(s.variance[i]) {
				within++
			}
		}
	}
	if share := float64(within) / float64(all); share < 0.90 || share > 0.97 {
		t.Errorf("%.1f %% within two standard deviations, want 90–97 %%", 100*share)
	}
}

func TestCubicKeepsLines(t *testing.T) {
	v := []float64{1, 3, 5, 7, 9}
	for _, x := range []float64{-1.5, 0, 0.3, 2.5, 3.9, 4, 6} {
		if got := cubic(v, x); math.Abs(got-(1+2*x)) > 1e-12 {
			t.Errorf("at %g: %g, want %g", x, got, 1+2*x)
		}
	}
}
