package trace

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// tally sums up how well lines were found.
type tally struct {
	refused     int
	rms, length []float64 // px, and parts of the true length, of each line
	std         []float64 // stated, px
	schneider   []float64 // degrees off
	within      float64   // sum of the parts of lines that lie within 2 standard uncertainties
	right       float64   // lines that keep to within 3 px of their canal
	warned      float64   // lines with a caution
	confidence  float64   // sum of the means
}

// add counts a line between two marks.
func (c *tally) add(l Line, want curve, a, b measure.Point) {
	sum, in, conf := 0.0, 0.0, 0.0
	for i, p := range l.Points {
		d := want.away(p)
		sum += d * d
		conf += l.Confidence[i]
		if d < 2*p.U {
			in++
		}
	}
	n := float64(len(l.Points))
	rms := math.Sqrt(sum / n)
	c.rms, c.std = append(c.rms, rms), append(c.std, l.StdUnc)
	true := want.lengthBetween(a, b)
	c.length = append(c.length, math.Abs(l.Length()/true-1))
	c.schneider = append(c.schneider, math.Abs(schneider(l.Points)-schneider(want.between(a, b))))
	c.within += in / n
	c.confidence += conf / n
	if rms < 3 {
		c.right++
	}
	if len(l.Cautions) > 0 {
		c.warned++
	}
}

// between returns the true line between the feet of two marks.
func (c curve) between(a, b measure.Point) []measure.Point {
	var out []measure.Point
	for i := int(c.nearest(at(a))); i <= int(c.nearest(at(b))); i++ {
		out = append(out, measure.Pt(c[i].x, c[i].y))
	}
	return out
}

// schneider is the angle between the axis of the coronal third and the line
// from its end to the last point, in degrees: the construction of Schneider 1971
// with the start of the curve at the same place for all lines.
func schneider(p []measure.Point) float64 {
	k := len(p) / 3
	axis := math.Atan2(p[k].Y-p[0].Y, p[k].X-p[0].X)
	apical := math.Atan2(p[len(p)-1].Y-p[k].Y, p[len(p)-1].X-p[k].X)
	return math.Abs(math.Remainder(apical-axis, 2*math.Pi)) * 180 / math.Pi
}

// highest returns what a share of values don't exceed.
func highest(v []float64, share float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	v = slices.Sorted(slices.Values(v))
	return v[min(int(share*float64(len(v))), len(v)-1)]
}

// trial traces all canals of a scene, each with two clicks 3 px off at most.
func (c *tally) trial(kind string, seed uint64) {
	s := newScene(kind, seed)
	t := NewMap(s.draw(), false)
	r := rand.New(rand.NewPCG(seed, 9))
	for k := range s.canals {
		a, b := s.ends(k)
		a, b = off(r, a), off(r, b)
		l, err := t.Canal(a, b, nil, true)
		if err != nil {
			c.refused++
			continue
		}
		c.add(l, s.truth(k), a, b)
	}
}

// Where a second canal overlaps or a filling hides the canal the line says so:
// what it states covers how far it is off. Where there is none, none is found.
func TestLinesAreHonest(t *testing.T) {
	for _, c := range []struct {
		kind        string
		covers      float64 // share of the points within 2 standard uncertainties at least
		right, warn float64 // share of the lines at least
	}{
		{"one", 0.85, 1, 0},
		{"apart", 0.85, 1, 0},
		{"beside", 0.8, 0, 1},
		{"across", 0.8, 0, 1},
		{"filled", 0.8, 1, 1},
		{"weak", 0.85, 1, 0},
	} {
		var sum tally
		for _, seed := range []uint64{3, 8} {
			sum.trial(c.kind, seed)
		}
		n := float64(len(sum.rms))
		if sum.refused > 0 || sum.within < c.covers*n || sum.right < c.right*n || sum.warned < c.warn*n {
			t.Errorf("%s: %.0f lines, %d refused, %.0f %% within 2 standard uncertainties, %.0f right, %.0f with a caution; rms %.2f, stated %.2f px",
				c.kind, n, sum.refused, 100*sum.within/n, sum.right, sum.warned, sum.rms, sum.std)
		}
	}
	var none tally
	for seed := uint64(1); seed <= 3; seed++ {
		none.trial("none", seed)
	}
	if n := float64(len(none.rms)); none.refused < 2 || none.warned < n || none.confidence > 0.5*n {
		t.Errorf("no canal: %d refused, %.0f with a caution, confidence %.2f in all", none.refused, none.warned, none.confidence)
	}
}

// Beside a canal the alternative is the other one, where they lie apart.
func TestAlternative(t *testing.T) {
	s := newScene("apart", 3)
	m := NewMap(s.draw(), false)
	a, b := s.ends(0)
	l, err := m.Canal(a, b, nil, true)
	if err != nil {
		t.Fatal(err)
	}
	other, err := m.Alternative(l)
	if err != nil {
		t.Fatal(err)
	}
	middle := other.Points[len(other.Points)/2]
	if d := s.truth(1).away(middle); d > 3 {
		t.Errorf("the alternative passes %.1f px beside the other canal", d)
	}
	if len(other.Cautions) == 0 {
		t.Error("the alternative comes without a caution")
	}
}

// BenchmarkTrials reports how lines fare on each kind of scene, with as many
// seeds as rounds: -bench Trials -benchtime 100x.
func BenchmarkTrials(b *testing.B) {
	for _, kind := range []string{"one", "apart", "beside", "across", "filled", "weak", "none"} {
		b.Run(kind, func(b *testing.B) {
			var c tally
			for i := range b.N {
				c.trial(kind, uint64(1000+i))
			}
			c.report(b)
		})
	}
}

// BenchmarkTrialsDemo does so on the exposures of the demo case.
func BenchmarkTrialsDemo(b *testing.B) {
	sums := map[string]*tally{}
	for i := range b.N {
		for _, e := range phantom.Demo(uint64(i + 1)).Exposures {
			m := NewMap(e.Image, false)
			for k, canal := range e.Truth.Canals {
				name := e.ID + "/" + canal.Name
				if sums[name] == nil {
					sums[name] = &tally{}
				}
				r := rand.New(rand.NewPCG(uint64(i+1), uint64(k)))
				from, to := off(r, canal.Orifice), off(r, canal.Apex)
				l, err := m.Canal(from, to, nil, true)
				if err != nil {
					sums[name].refused++
					continue
				}
				sums[name].add(l, truth(canal), from, to)
			}
		}
	}
	for name, c := range sums {
		n := float64(len(c.rms))
		b.Logf("%-10s %d refused; rms p50 %.2f px, stated p50 %.2f px, covered %.1f %%, with a caution %.0f %%, confidence %.2f", name, c.refused, highest(c.rms, 0.5), highest(c.std, 0.5), 100*c.within/n, 100*c.warned/n, c.confidence/n)
	}
}

func (c *tally) report(b *testing.B) {
	n := max(float64(len(c.rms)), 1)
	b.ReportMetric(float64(c.refused), "refused")
	b.ReportMetric(highest(c.rms, 0.5), "rms-p50-px")
	b.ReportMetric(highest(c.rms, 0.9), "rms-p90-px")
	b.ReportMetric(highest(c.std, 0.5), "stated-p50-px")
	b.ReportMetric(100*c.within/n, "covered-%")
	b.ReportMetric(100*c.right/n, "right-%")
	b.ReportMetric(100*c.warned/n, "cautions-%")
	b.ReportMetric(100*highest(c.length, 0.9), "length-p90-%")
	b.ReportMetric(highest(c.schneider, 0.9), "schneider-p90-deg")
	b.ReportMetric(c.confidence/n, "confidence")
}
