package measure

import (
	"math"
	"testing"
)

// TestSchneiderFigureShowsTheAngle: a straight part of 100 px and an arc of 30°
// to the apex give Schneider's angle of 15° (shared definition: half the arc).
// The figure must show the angle that the finding gives.
func TestSchneiderFigureShowsTheAngle(t *testing.T) {
	const r, arc = 120.0, 30.0
	var marks []Point
	for i := range 5 {
		marks = append(marks, Pt(50, 20+25*float64(i)))
	}
	for i := 1; i <= 5; i++ {
		a := arc * float64(i) / 5 * math.Pi / 180
		marks = append(marks, Pt(50+r*(1-math.Cos(a)), 120+r*math.Sin(a)))
	}
	for _, c := range []struct {
		name  string
		start *int
		want  float64
		tol   float64
	}{
		{"start found from the trace", nil, arc / 2, 0.6},
		{"start marked", ptr(4), arc / 2, 0.05},
	} {
		f, ok := NewSchneiderFigure(Canal{Name: "a", Marks: marks, CurveStart: c.start})
		if !ok {
			t.Errorf("%s: no figure", c.name)
			continue
		}
		got := angleAt(f.Leave, f.To, f.Apex)
		if math.Abs(got-c.want) > c.tol {
			t.Errorf("%s: the lines meet at %.2f°, want %.2f°", c.name, got, c.want)
		}
		if d := f.From.Dist(marks[0]); d > 2 {
			t.Errorf("%s: the axis starts %.1f px from the orifice", c.name, d)
		}
	}
	if _, ok := NewSchneiderFigure(Canal{Name: "a", Marks: marks[:5]}); ok {
		t.Error("a straight canal has a figure")
	}
}

// angleAt returns the angle at p between q and r in degrees.
func angleAt(p, q, r Point) float64 {
	a := math.Atan2(q.Y-p.Y, q.X-p.X) - math.Atan2(r.Y-p.Y, r.X-p.X)
	return math.Abs(math.Remainder(a, 2*math.Pi)) * 180 / math.Pi
}
