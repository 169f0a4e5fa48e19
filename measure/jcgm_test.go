package measure

import (
	"math"
	"testing"
)

// JCGM 100:2008, H.1, end-gauge calibration: l = l_s + d − l_s(δα·θ + α_s·δθ),
// with the values of table H.1 in nm, and its result to first order,
// u_c(l) = 32 nm, l = 50 000 838 nm.
func TestEndGaugeOfTheGuide(t *testing.T) {
	const ls, alpha = 50_000_623.0, 11.5e-6
	w := &work{}
	standard := known(ls, 25, w.source())
	// d: repeated observations 5.8 nm, random 3.9 nm and systematic 6.7 nm errors
	// of the comparator.
	d := exact(215).widened(5.8, w.source()).widened(3.9, w.source()).widened(6.7, w.source())
	deltaAlpha := known(0, 0.58e-6, w.source())
	theta := exact(-0.1).widened(0.41, w.source())
	expansion := known(alpha, 1.2e-6, w.source())
	deltaTheta := known(0, 0.029, w.source())
	l := standard.plus(d).minus(standard.times(deltaAlpha.times(theta).plus(expansion.times(deltaTheta))))
	if math.Abs(l.v-50_000_838) > 0.5 {
		t.Errorf("l = %.1f nm, want 50000838", l.v)
	}
	// The guide rounds its contributions: 25, 9.7, 2.9 and 16.6 nm.
	if math.Abs(l.std()-32) > 0.5 {
		t.Errorf("u(l) = %.2f nm, want 32", l.std())
	}
}

// JCGM 100:2008, H.2 takes correlated inputs; the identity behind it: what is
// shared cancels in a ratio and adds up in a sum.
func TestSharedSourcesAreCorrelated(t *testing.T) {
	a := known(10, 0.3, 1)
	b := a.scaled(2)
	if u := b.over(a).std(); u > 1e-15 {
		t.Errorf("the ratio of a length to itself has the uncertainty %g", u)
	}
	if u := a.plus(b).std(); math.Abs(u-0.9) > 1e-12 {
		t.Errorf("u(a + 2a) = %g, want 0.9", u)
	}
	if u := a.plus(known(20, 0.4, 2)).std(); math.Abs(u-0.5) > 1e-12 {
		t.Errorf("u(a + b) = %g, want 0.5", u)
	}
	if u := a.minus(a).std(); u > 1e-15 {
		t.Errorf("u(a − a) = %g", u)
	}
}

// The numeric law of propagation against a seeded Monte Carlo (JCGM 101:2008,
// 7): length and area of a scaled outline, mean and standard deviation.
func TestPropagationAgreesWithMonteCarlo(t *testing.T) {
	marks := ellipseCase(7, 4, 16).marks.Images[0].Lesions[0].Outline
	w := &work{}
	g := w.outlineGroup("", marks)
	f := func(p []vec, out []float64) {
		c := closedCurve(p)
		out[0], out[1] = c.area(), c.length()
	}
	scale := known(0.05, 0.0007, w.source())
	r := propagate(g, 2, f)
	area := r[0].estimate.magnitude().times(scale).times(scale)
	length := r[1].estimate.times(scale)
	random := seeded(5)
	var a, l moments
	p, out := make([]vec, len(g.p)), make([]float64, 2)
	for range 20000 {
		for i, q := range g.p {
			p[i] = q.add(vec{g.u[i] * random.NormFloat64(), g.u[i] * random.NormFloat64(), 0})
		}
		f(p, out)
		s := 0.05 + 0.0007*random.NormFloat64()
		a.add(math.Abs(out[0]) * s * s)
		l.add(out[1] * s)
	}
	for _, c := range []struct {
		name string
		e    estimate
		m    moments
	}{{"area", area, a}, {"length", length, l}} {
		// 20000 trials know a standard deviation to 0.5 %; terms of second order
		// that the law leaves out add little.
		if ratio := c.e.std() / c.m.sd(); math.Abs(ratio-1) > 0.03 {
			t.Errorf("%s: u = %.5f, Monte Carlo %.5f", c.name, c.e.std(), c.m.sd())
		}
	}
}
