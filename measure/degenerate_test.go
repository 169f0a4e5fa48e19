package measure

import (
	"math"
	"strings"
	"testing"
)

// undefinedBecause fails unless the finding is undefined and says why.
func undefinedBecause(t *testing.T, findings []Finding, what, why string) {
	t.Helper()
	for _, f := range findings {
		if f.What == what {
			if f.Defined() || !strings.Contains(strings.Join(f.Cautions, "; "), why) {
				t.Errorf("%s is %v %s, cautions %q; want undefined because %q", what, f.Value, f.Unit, f.Cautions, why)
			}
			return
		}
	}
	t.Errorf("there is no %s", what)
}

func TestDegenerateMarksGiveNoNumber(t *testing.T) {
	canal := func(marks ...Point) []Finding {
		return Compute(Marks{Images: []ImageMarks{{ID: "a", Canals: []Canal{{Tooth: "46", Marks: marks}}}}}, Given{})
	}
	lesion := func(marks ...Point) []Finding {
		return Compute(Marks{Images: []ImageMarks{{ID: "a", Lesions: []Lesion{{Outline: marks}}}}}, Given{})
	}
	file := func(c Calibration) []Finding {
		return Compute(Marks{Images: []ImageMarks{{ID: "a", Calibration: []Calibration{c}}}}, Given{})
	}
	nan := math.NaN()
	straight := []Point{Pt(0, 0), Pt(0, 100), Pt(0, 200), Pt(0, 300), Pt(0, 400), Pt(0, 500)}
	view := func(angle float64) []Finding {
		c := Canal{Tooth: "46", Name: "A", Marks: straight}
		return Compute(Marks{Images: []ImageMarks{{ID: "a", Canals: []Canal{c}}, {ID: "b", Canals: []Canal{c}}}, Views: []View{{Images: [2]string{"a", "b"}, AngleDeg: angle}}}, Given{})
	}
	cases := []struct {
		name      string
		findings  []Finding
		what, why string
	}{
		{"no mark", canal(), WhatLength, "needs two marks"},
		{"one mark", canal(Pt(1, 1)), WhatLength, "needs two marks"},
		{"two equal marks", canal(Pt(1, 1), Pt(1, 1)), WhatLength, "needs two marks"},
		{"NaN in a trace", canal(Pt(1, 1), Pt(nan, 1), Pt(9, 9)), WhatLength, "needs two marks"},
		{"two marks for an angle", canal(Pt(0, 0), Pt(0, 100)), WhatSchneiderAngle, "at least four marks"},
		{"straight line for a radius", canal(straight...), WhatPruettRadius, "no curve"},
		{"working length in px", canal(straight...), WhatWorkingLength, "needs a calibration"},
		{"outline of two", lesion(Pt(0, 0), Pt(9, 9)), WhatArea, "needs three marks"},
		{"outline of a line", lesion(Pt(0, 0), Pt(50, 0), Pt(100, 0)), WhatArea, "no area"},
		{"outline that crosses itself", lesion(Pt(0, 0), Pt(100, 100), Pt(100, 0), Pt(0, 100)), WhatLongestDiameter, "crosses itself"},
		{"NaN in an outline", lesion(Pt(0, 0), Pt(nan, 100), Pt(100, 0)), WhatArea, "not a number"},
		{"no calibration", canal(straight...), WhatScale, "no calibration"},
		{"file of equal marks", file(Calibration{Kind: CalibrationFile, LengthMM: 21, Marks: []Point{Pt(1, 1), Pt(1, 1)}}), WhatScale, "two marks in different places"},
		{"file of no length", file(Calibration{Kind: CalibrationFile, Marks: []Point{Pt(1, 1), Pt(1, 9)}}), WhatScale, "not a positive number"},
		{"file of NaN", file(Calibration{Kind: CalibrationFile, LengthMM: nan, Marks: []Point{Pt(1, 1), Pt(1, 9)}}), WhatScale, "not a positive number"},
		{"spacing not stated", file(Calibration{Kind: CalibrationStated}), WhatScale, "states no pixel spacing"},
		{"no tube shift", view(0), WhatTrueAngle, "0° gives no depth"},
		{"a quarter turn", view(90), WhatTrueAngle, "90° gives no depth"},
		{"NaN for a tube shift", view(nan), WhatTrueAngle, "gives no depth"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) { undefinedBecause(t, c.findings, c.what, c.why) })
	}
}

// Whatever the marks, every finding is a number with a finite uncertainty or
// undefined with a reason.
func TestEveryFindingIsANumberOrSaysWhyNot(t *testing.T) {
	r := seeded(3)
	for range 60 {
		place := func() Point {
			p := Pt(float64(r.IntN(6)*20), float64(r.IntN(6)*20)) // often the same place
			if r.IntN(30) == 0 {
				p.X = [3]float64{math.NaN(), math.Inf(1), 1e300}[r.IntN(3)]
			}
			return p
		}
		some := func() []Point {
			out := make([]Point, r.IntN(7))
			for i := range out {
				out[i] = place()
			}
			return out
		}
		image := func(id string) ImageMarks {
			return ImageMarks{ID: id, Date: []string{"", "2026-01-31", "2027-01-31"}[r.IntN(3)],
				Calibration:  []Calibration{{Kind: CalibrationFile, LengthMM: 20, Marks: some()}, {Kind: CalibrationDistance, LengthMM: 5, Marks: some()}},
				Canals:       []Canal{{Tooth: "46", Name: "A", Marks: some(), Orifice: r.IntN(4) - 1, CurveStart: ptr(r.IntN(6) - 1)}, {Tooth: "46", Name: "B", Marks: some()}},
				Lesions:      []Lesion{{Tooth: "46", Outline: some()}},
				Fillings:     []Filling{{Tooth: "46", Canal: "A", Tip: place(), Apex: place(), Widths: [][2]Point{{place(), place()}, {place(), place()}}}},
				Obstructions: []Obstruction{{Tooth: "46", Canal: "A", Kind: ObstructionPost, Marks: some(), Sides: some()}},
				Posts:        []Post{{Tooth: "46", Canal: "A", Marks: some(), Margin: ptr(place()), Apex: ptr(place())}},
			}
		}
		m := Marks{Images: []ImageMarks{image("a"), image("b")}, Views: []View{{Images: [2]string{"a", "b"}, AngleDeg: 20}},
			Recalls: []Recall{{Before: "a", After: "b", Pairs: [][2]Point{{place(), place()}, {place(), place()}, {place(), place()}, {place(), place()}}}}}
		for _, f := range Compute(m, Given{}) {
			switch {
			case f.Defined() && (math.IsNaN(f.StdUnc) || math.IsInf(f.StdUnc, 0) || f.StdUnc < 0):
				t.Errorf("%s of %s: %v ± %v", f.What, f.Of, f.Value, f.StdUnc)
			case !f.Defined() && len(f.Cautions) == 0:
				t.Errorf("%s of %s is undefined without a reason", f.What, f.Of)
			}
		}
	}
}
