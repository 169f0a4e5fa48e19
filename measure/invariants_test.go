package measure

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// randomCanal draws a canal that is clearly bent, with 6 to 14 marks.
func randomCanal(t *rapid.T) (idealCanal, []Point, *int) {
	angle := rapid.Float64Range(25, 65).Draw(t, "angle")
	c := idealCanal{rapid.Float64Range(6, 13).Draw(t, "straight"), [][2]float64{{angle, rapid.Float64Range(5, 12).Draw(t, "radius")}}}
	marks, start := c.marks(rapid.IntRange(6, 14).Draw(t, "marks"), true)
	return c, marks, start
}

// motion is a turn, a mirror image, a factor and a shift.
type motion struct {
	angle, factor, dx, dy float64
	mirror                bool
}

func randomMotion(t *rapid.T) motion {
	return motion{rapid.Float64Range(-3, 3).Draw(t, "turn"), 1, rapid.Float64Range(-500, 500).Draw(t, "dx"), rapid.Float64Range(-500, 500).Draw(t, "dy"), rapid.Bool().Draw(t, "mirror")}
}

func (m motion) of(p Point) Point {
	s, c := math.Sincos(m.angle)
	x, y := p.X, p.Y
	if m.mirror {
		x = -x
	}
	return Point{m.factor*(c*x-s*y) + m.dx, m.factor*(s*x+c*y) + m.dy, p.U * m.factor}
}

func (m motion) all(p []Point) []Point {
	out := make([]Point, len(p))
	for i, q := range p {
		out[i] = m.of(q)
	}
	return out
}

// jitter moves marks by what a hand does, the same for the same seed.
func jitter(marks []Point, seed uint64) []Point {
	r := seeded(seed)
	out := slices.Clone(marks)
	for i := range out {
		out[i].X += DefaultClick * r.NormFloat64()
		out[i].Y += DefaultClick * r.NormFloat64()
	}
	return out
}

// same fails unless all findings agree to one part in 10⁸, or in 10⁵ of their
// uncertainty: a fit that is iterated ends where its steps are that small, from
// wherever it came.
func same(t *rapid.T, a, b []Finding) {
	t.Helper()
	if len(a) != len(b) {
		t.Fatalf("%d findings became %d", len(a), len(b))
	}
	near := func(x, y, u float64) bool {
		return math.Abs(x-y) <= 1e-8*math.Max(1, math.Abs(x))+1e-5*u || math.IsNaN(x) && math.IsNaN(y)
	}
	for i := range a {
		if a[i].What == WhatScale && a[i].Unit == MillimetrePerPx {
			continue // the scale itself is per pixel
		}
		if a[i].What != b[i].What || !near(a[i].Value, b[i].Value, a[i].StdUnc) || !near(a[i].StdUnc/1e3, b[i].StdUnc/1e3, 0) {
			t.Errorf("%s: %.12g ± %.12g became %s: %.12g ± %.12g", a[i].What, a[i].Value, a[i].StdUnc, b[i].What, b[i].Value, b[i].StdUnc)
		}
	}
}

func canalOn(canal, file []Point) Marks {
	return Marks{Version: 1, Images: []ImageMarks{{ID: "a",
		Calibration: []Calibration{{Kind: CalibrationFile, LengthMM: 21, Marks: file}},
		Canals:      []Canal{{Tooth: "46", Name: "ML", Marks: canal}}}}}
}

var file21 = []Point{Pt(50, 60), Pt(60, 270), Pt(50, 480)}

func TestFindingsDoNotDependOnHowTheImageLies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, marks, _ := randomCanal(t)
		marks = jitter(marks, rapid.Uint64().Draw(t, "seed"))
		m := randomMotion(t)
		same(t, Compute(canalOn(marks, file21), Given{}), Compute(canalOn(m.all(marks), m.all(file21)), Given{}))
	})
}

func TestFindingsInMillimetresDoNotDependOnTheSizeOfPixels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, marks, _ := randomCanal(t)
		m := motion{factor: rapid.Float64Range(0.5, 3).Draw(t, "factor")}
		own := func(p []Point) []Point { // a click that grows with the pixels
			out := slices.Clone(p)
			for i := range out {
				out[i].U = 0.5
			}
			return out
		}
		same(t, Compute(canalOn(own(marks), own(file21)), Given{}), Compute(canalOn(m.all(own(marks)), m.all(own(file21))), Given{}))
	})
}

func TestLengthIsThatOfTheCanalHoweverItIsMarked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, marks, _ := randomCanal(t)
		more, _ := c.marks(rapid.IntRange(15, 24).Draw(t, "more"), false)
		back := slices.Clone(marks)
		slices.Reverse(back)
		for name, m := range map[string][]Point{"marked": marks, "more marks": more, "backwards": back} {
			if got := NewLine(m).Length(); math.Abs(got-c.length()) > 2e-3*c.length() {
				t.Errorf("%s: length %.6f px, want %.6f", name, got, c.length())
			}
		}
		if a, b := NewLine(marks).Length(), NewLine(back).Length(); math.Abs(a-b) > 1e-9*a {
			t.Errorf("length %.12g, backwards %.12g", a, b)
		}
	})
}

// Five exact marks of a straight part and an arc, two of them on the arc, fix
// the canal, though clicked marks would leave open where it bends. (With the
// apex alone on the arc nothing fixes it: any start of the curve fits.)
func TestFiveExactMarksGiveTheLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := idealCanal{rapid.Float64Range(8, 14).Draw(t, "straight"), [][2]float64{{rapid.Float64Range(10, 60).Draw(t, "angle"), rapid.Float64Range(3, 15).Draw(t, "radius")}}}
		arc := c.length() - c.l*pxPerMM
		var marks []Point
		for _, s := range []float64{0, 0.45 * c.l * pxPerMM, 0.9 * c.l * pxPerMM, c.length() - rapid.Float64Range(0.3, 0.7).Draw(t, "place")*arc, c.length()} {
			p, _ := c.pieces().at(s)
			marks = append(marks, Pt(p.x, p.y))
		}
		got := Compute(canalOn(marks, file21), Given{})
		for _, f := range got {
			if f.What == WhatLength && math.Abs(f.Value/got[0].Value-c.length()) > 1e-3*c.length() {
				t.Errorf("length %.4f px, want %.4f", f.Value/got[0].Value, c.length())
			}
		}
	})
}

func TestOutlineDoesNotDependOnHowItIsMarked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		marks := jitter(ellipseCase(rapid.Float64Range(4, 9).Draw(t, "a"), 3, 14).marks.Images[0].Lesions[0].Outline, rapid.Uint64().Draw(t, "seed"))
		m := randomMotion(t)
		first := rapid.IntRange(0, len(marks)-1).Draw(t, "first")
		other := m.all(append(slices.Clone(marks[first:]), marks[:first]...))
		if rapid.Bool().Draw(t, "backwards") {
			slices.Reverse(other)
		}
		on := func(p []Point) []Finding {
			return Compute(Marks{Images: []ImageMarks{{ID: "a", Lesions: []Lesion{{Outline: p}}}}}, Given{})
		}
		a, b := on(marks), on(other)
		for i := range a {
			// What is across the longest diameter turns with it, and a maximum is flat:
			// a hundredth of its uncertainty.
			if math.Abs(a[i].Value-b[i].Value) > 1e-6*math.Abs(a[i].Value)+0.01*a[i].StdUnc {
				t.Errorf("%s: %.12g became %.12g", a[i].What, a[i].Value, b[i].Value)
			}
		}
	})
}

// On a straight part and an arc Weine's and Pruett's angles are the angle of
// the arc, Schneider's is half of it (tangent–chord theorem), and the arc is
// radius × angle.
func TestAnglesOfAnArcAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, marks, start := randomCanal(t)
		m := canalOn(marks, []Point{Pt(50, 60), Pt(50, 480)})
		m.Images[0].Canals[0].CurveStart = start
		got := map[string]float64{}
		for _, f := range Compute(m, Given{}) {
			got[f.What] = f.Value
		}
		angle := c.arcs[0][0]
		for what, want := range map[string]float64{
			WhatSchneiderAngle: angle / 2, WhatWeineAngle: angle, WhatPruettAngle: angle, WhatPruettRadius: c.arcs[0][1],
			WhatCurvedLength: c.arcs[0][1] * angle / degrees, WhatCurveStartFromApex: c.arcs[0][1] * angle / degrees, WhatMaxCurvature: 1 / c.arcs[0][1],
		} {
			if math.Abs(got[what]-want) > 1e-6*want {
				t.Errorf("%s: %.9f, want %.9f", what, got[what], want)
			}
		}
	})
}
