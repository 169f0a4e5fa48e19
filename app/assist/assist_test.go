package assist

import (
	"errors"
	"math"
	"slices"
	"sync"
	"testing"

	"rootrule/imaging"
	"rootrule/imaging/outline"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// scene is an Assistant for one phantom, whose truth is exact. Prepared once:
// that takes longest.
var scene = sync.OnceValues(func() (*Assistant, phantom.Truth) {
	spec := phantom.NewSpec(21)
	spec.Width, spec.Height, spec.PixelMM = 660, 1000, 0.03
	spec.File.ShortMM, spec.File.LengthMM = 2, 16
	spec.Lesion = &phantom.LesionSpec{SemiMM: [2]float64{2, 1.6}, BeyondMM: 1.6, EdgeMM: 0.1, Depth: 0.7}
	m, truth := phantom.Periapical(spec)
	return New(func(id string) (*imaging.Image, error) {
		if id != "a" {
			return nil, errors.New("open image: there is none: open another")
		}
		return m, nil
	}), truth
})

// off is the largest distance of the line through marks from the true line.
func off(marks, truth []measure.Point) float64 {
	worst := 0.0
	line := measure.NewLine(truth)
	for _, p := range measure.NewLine(marks).Points(8) {
		best := math.Inf(1)
		for _, q := range line.Points(8) {
			best = math.Min(best, p.Dist(q))
		}
		worst = math.Max(worst, best)
	}
	return worst
}

func TestCanalFollowsTheTruth(t *testing.T) {
	a, truth := scene()
	c := truth.Canals[0]
	mid := c.CentreLine[len(c.CentreLine)*3/4]
	for _, k := range []struct {
		name   string
		clicks Clicks
	}{
		{"two clicks", Clicks{Orifice: c.Orifice, Apex: c.Apex}},
		{"clicks 2 px off", Clicks{Orifice: measure.Pt(c.Orifice.X+2, c.Orifice.Y), Apex: measure.Pt(c.Apex.X-2, c.Apex.Y+1)}},
		{"a click on the way", Clicks{Orifice: c.Orifice, Apex: c.Apex, Via: []measure.Point{mid}}},
	} {
		l, err := a.Canal("a", k.clicks)
		if err != nil {
			t.Errorf("%s: %v", k.name, err)
			continue
		}
		if d := off(l.Marks, c.CentreLine); d > 3.5 {
			t.Errorf("%s: the line lies up to %.1f px off", k.name, d)
		}
		last := len(l.Marks) - 1
		if l.Marks[0].U != 0 || l.Marks[last].U != 0 {
			t.Errorf("%s: the ends claim %g and %g px, where the canal ends the hand has said", k.name, l.Marks[0].U, l.Marks[last].U)
		}
		for _, v := range k.clicks.Via {
			i := slices.IndexFunc(l.Marks, func(p measure.Point) bool { return p.Dist(v) < 1.5 && p.U == 0 })
			if i < 1 {
				t.Errorf("%s: no mark of the hand's holds the line at the click", k.name)
			}
		}
	}
}

func TestRefusals(t *testing.T) {
	a, truth := scene()
	c := truth.Canals[0]
	for _, k := range []struct {
		name string
		ask  func() error
	}{
		{"ends too close", func() error { _, err := a.Canal("a", Clicks{Orifice: c.Apex, Apex: c.Apex}); return err }},
		{"an end outside", func() error {
			_, err := a.Canal("a", Clicks{Orifice: c.Orifice, Apex: measure.Pt(-500, 5)})
			return err
		}},
		{"no such image", func() error { _, err := a.File("b", c.Orifice, c.Apex); return err }},
		{"no such mark", func() error {
			_, err := a.Pull("a", measure.Canal{Marks: []measure.Point{c.Orifice, c.Apex}}, 2)
			return err
		}},
		{"a filling without direction", func() error { _, err := a.Tip("a", c.Apex, c.Apex); return err }},
	} {
		if k.ask() == nil {
			t.Errorf("%s: no error", k.name)
		}
	}
	if _, err := a.Lesion("a", measure.Pt(12, 12)); !errors.Is(err, outline.ErrNoEdge) {
		t.Errorf("air: %v", err)
	}
}

// TestPullHoldsTheRest: dragging one mark moves the line between the marks
// that hold it on both sides, and nothing else.
func TestPullHoldsTheRest(t *testing.T) {
	a, truth := scene()
	c := truth.Canals[0]
	l, err := a.Canal("a", Clicks{Orifice: c.Orifice, Apex: c.Apex, Via: []measure.Point{c.CentreLine[len(c.CentreLine)*2/3]}})
	if err != nil {
		t.Fatal(err)
	}
	traced := measure.Canal{Name: "D", Orifice: 1, Marks: append([]measure.Point{measure.Pt(c.Orifice.X+9, c.Orifice.Y-150)}, l.Marks...)}
	last := len(traced.Marks) - 1
	via := slices.IndexFunc(traced.Marks[2:last], func(p measure.Point) bool { return p.U == 0 }) + 2
	for _, k := range []struct {
		name        string
		mark        int
		first, rest int // marks before first and from rest on stay
	}{
		{"the reference point", 0, 0, 1},
		{"the orifice", 1, 1, via},
		{"between orifice and click", 3, 2, via},
		{"the apex", last, via + 1, last + 1},
	} {
		p, err := a.Pull("a", traced, k.mark)
		if err != nil {
			t.Errorf("%s: %v", k.name, err)
			continue
		}
		to := measure.Pt(traced.Marks[k.mark].X+3, traced.Marks[k.mark].Y+1)
		quick, err := p.To(to)
		if err != nil {
			t.Errorf("%s: %v", k.name, err)
		}
		got, _, err := p.Drop(to)
		if err != nil {
			t.Errorf("%s: %v", k.name, err)
			continue
		}
		if !slices.Contains(got.Marks, to) || !slices.Contains(quick.Marks, to) {
			t.Errorf("%s: the dragged mark is not where it was left", k.name)
		}
		tail := traced.Marks[k.rest:]
		if !slices.Equal(got.Marks[:k.first], traced.Marks[:k.first]) || !slices.Equal(got.Marks[len(got.Marks)-len(tail):], tail) {
			t.Errorf("%s: marks beyond those that hold the line have moved", k.name)
		}
		m := measure.Marks{Version: measure.MarksVersion, Images: []measure.ImageMarks{{ID: "a", File: "a.png", Canals: []measure.Canal{got}}}}
		if err := m.Validate(); err != nil {
			t.Errorf("%s: %v", k.name, err)
		}
	}
}

func TestCurveStartStaysWithItsMark(t *testing.T) {
	start := 4
	for _, k := range []struct {
		name                           string
		first, rest, more, mark, moved int
		want                           int // -1: none
	}{
		{"replaced before it", 1, 3, 2, 1, 2, 6},
		{"replaced behind it", 5, 7, 3, 5, 6, 4},
		{"itself dragged", 3, 6, 1, 4, 5, 5},
		{"replaced", 3, 6, 1, 3, 3, -1},
	} {
		got := -1
		if s := shifted(&start, k.first, k.rest, k.more, k.mark, k.moved); s != nil {
			got = *s
		}
		if got != k.want {
			t.Errorf("%s: mark %d, want %d", k.name, got, k.want)
		}
	}
}

func TestFileFromTipToStop(t *testing.T) {
	a, truth := scene()
	f := truth.File
	l, err := a.File("a", measure.Pt(f.Tip.X+2, f.Tip.Y-3), measure.Pt(f.Stop.X-1, f.Stop.Y+3))
	if err != nil {
		t.Fatal(err)
	}
	if got := measure.NewLine(l.Marks).Length(); math.Abs(got-f.LengthPx) > 2 {
		t.Errorf("the file is %.1f px long, in truth %.1f", got, f.LengthPx)
	}
}

func TestOutlineIsFoundAgainAfterARestart(t *testing.T) {
	a, truth := scene()
	o, err := a.Lesion("a", truth.Lesion.Centre)
	if err != nil {
		t.Fatal(err)
	}
	fresh, _ := scene()
	again := New(fresh.images) // knows nothing of the outline
	for _, k := range []struct {
		name string
		from *Assistant
	}{{"as found", a}, {"after a restart", again}} {
		larger, err := k.from.Shifted("a", o.Marks, 4)
		if err != nil {
			t.Errorf("%s: %v", k.name, err)
			continue
		}
		was, now := measure.NewOutline(o.Marks), measure.NewOutline(larger.Marks)
		if ratio := now.Length() / was.Length(); ratio < 1.02 || ratio > 1.2 {
			t.Errorf("%s: 4 px outward make the edge %.2f times as long", k.name, ratio)
		}
	}
}

// TestQueueRunsTheNewest: what waits is dropped for what is newer, and nothing
// runs twice.
func TestQueueRunsTheNewest(t *testing.T) {
	start := make(chan struct{})
	var mu sync.Mutex
	var ran []int
	done := make(chan struct{})
	q := NewQueue(func(work func()) { go work() })
	note := func(i int) { mu.Lock(); ran = append(ran, i); mu.Unlock() }
	q.Do(func() { <-start; note(0) })
	for i := 1; i < 10; i++ {
		q.Do(func() {
			note(i)
			if i == 9 {
				close(done)
			}
		})
	}
	close(start)
	<-done
	mu.Lock()
	defer mu.Unlock()
	if ran[len(ran)-1] != 9 || len(ran) > 2 {
		t.Errorf("ran %v, want the first and the last", ran)
	}
}
