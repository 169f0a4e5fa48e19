package trace

import (
	"math"
	"math/rand/v2"
	"testing"

	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// fileSpec is a phantom of random blur, noise, texture and shape with a file.
func fileSpec(seed uint64) phantom.Spec {
	s := trialSpec(seed)
	s.Width, s.Height = 440, 640
	s.Canal.OrificeMM = phantom.MM{X: 0, Y: -3}
	s.Canal.StraightMM = min(s.Canal.StraightMM, 6)
	s.Canal.TiltDeg /= 2
	r := rand.New(rand.NewPCG(seed, 4))
	s.File = &phantom.FileSpec{LengthMM: 11 + 2*r.Float64(), ShortMM: 0.5 + r.Float64(), DiameterMM: 0.1 + 0.15*r.Float64()}
	return s
}

// ends sums up how tips and stops were found.
type ends struct {
	n, squares, within, lost float64
	lengths                  []float64 // parts of the true length off
}

// tally counts an end whose place along the line is off by the distance to the
// truth along it.
func (e *ends) tally(got, want, inward measure.Point) {
	d := at(inward).sub(at(want)).unit()
	off := at(got).sub(at(want)).dot(d)
	e.n++
	e.squares += off * off
	if math.Abs(off) < 2*got.U {
		e.within++
	}
}

// file traces the file of a phantom from two clicks 3 px off at most.
func (e *ends) file(t testing.TB, seed uint64) {
	m, tr := phantom.Periapical(fileSpec(seed))
	r := rand.New(rand.NewPCG(seed, 3))
	l, err := File(m, off(r, tr.File.Tip), off(r, tr.File.Stop))
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Cautions) > 0 {
		e.lost++
	}
	n := len(l.Points) - 1
	e.tally(l.Points[0], tr.File.Tip, l.Points[20])
	e.tally(l.Points[n], tr.File.Stop, l.Points[n-20])
	e.lengths = append(e.lengths, math.Abs(l.Length()/tr.File.LengthPx-1))
}

// Two clicks on a known file find its tip and its stop, and state how well.
func TestFileTipAndStop(t *testing.T) {
	var e ends
	for seed := uint64(1); seed <= 4; seed++ {
		e.file(t, seed)
	}
	if rms := math.Sqrt(e.squares / e.n); rms > 0.7 || e.within < e.n-1 || e.lost > 1 {
		t.Errorf("%.0f ends: %.2f px off (root mean square), %.0f within 2 standard uncertainties; %.0f files with an end unseen", e.n, rms, e.within, e.lost)
	}
	if worst := highest(e.lengths, 1); worst > 0.004 {
		t.Errorf("a length is %.2f %% off", 100*worst)
	}
}

// BenchmarkEnds reports how tips and stops fare on as many seeds as rounds.
func BenchmarkEnds(b *testing.B) {
	var e ends
	for i := range b.N {
		e.file(b, uint64(1000+i))
	}
	b.ReportMetric(math.Sqrt(e.squares/e.n), "rms-px")
	b.ReportMetric(100*e.within/e.n, "covered-%")
	b.ReportMetric(e.lost, "unseen")
	b.ReportMetric(100*highest(e.lengths, 0.9), "length-p90-%")
}

// The tip of a filling is found from a click near it; where nothing ends, that
// is said.
func TestTipOfAFilling(t *testing.T) {
	var e ends
	for seed := uint64(1); seed <= 3; seed++ {
		s := newScene("filled", seed)
		c := s.canals[0]
		place := func(l float64) measure.Point {
			p := c.line.At(l)
			return measure.Pt(p.X+float64(s.width)/2, p.Y+float64(s.height)/2)
		}
		m := NewMap(s.draw(), true)
		r := rand.New(rand.NewPCG(seed, 3))
		got, err := m.Tip(off(r, place(c.filled)), place(c.filled-90))
		if err != nil {
			t.Fatal(err)
		}
		e.tally(got, place(c.filled), place(c.filled-20))
		if got, err := m.Tip(place(c.filled-60), place(c.filled-140)); err == nil {
			t.Errorf("seed %d: a tip at %v in the middle of the filling", seed, got)
		}
	}
	if rms := math.Sqrt(e.squares / e.n); rms > 0.8 || e.within < e.n-1 {
		t.Errorf("tips %.2f px off, %.0f of %.0f within 2 standard uncertainties", rms, e.within, e.n)
	}
}
