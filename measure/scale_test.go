package measure

import (
	"math"
	"strings"
	"testing"
)

func length(mm, u float64, marks ...Point) Calibration {
	return Calibration{Kind: CalibrationDistance, LengthMM: mm, UMM: ptr(u), Marks: marks}
}

func scaleOf(t *testing.T, g Given, c ...Calibration) Finding {
	t.Helper()
	return Compute(Marks{Images: []ImageMarks{{ID: "a", Calibration: c}}}, g)[0]
}

func TestSeveralCalibrationsAreWeighted(t *testing.T) {
	exact, rough := length(20, 0.02, Pt(0, 0), Pt(0, 400)), length(20.4, 0.4, Pt(90, 0), Pt(90, 400))
	f := scaleOf(t, Given{}, exact, rough)
	a, b := scaleOf(t, Given{}, exact), scaleOf(t, Given{}, rough)
	wa, wb := 1/(a.StdUnc*a.StdUnc), 1/(b.StdUnc*b.StdUnc)
	if want := (wa*a.Value + wb*b.Value) / (wa + wb); math.Abs(f.Value-want) > 1e-12 {
		t.Errorf("scale %.8f, want %.8f", f.Value, want)
	}
	if want := 1 / math.Sqrt(wa+wb); math.Abs(f.StdUnc-want) > 1e-10 {
		t.Errorf("u(scale) %.8f, want %.8f", f.StdUnc, want)
	}
	if len(f.Cautions) != 0 {
		t.Errorf("cautions %q", f.Cautions)
	}
}

func TestTheOddCalibrationIsNamed(t *testing.T) {
	good := func(x float64) Calibration { return length(20, 0.05, Pt(x, 0), Pt(x, 400)) }
	f := scaleOf(t, Given{}, good(0), length(20, 0.05, Pt(50, 0), Pt(50, 440)), good(100))
	if c := strings.Join(f.Cautions, "; "); !strings.Contains(c, "calibration 2 (distance) is off by -9.1 %") {
		t.Errorf("cautions %q", c)
	}
	if alone := scaleOf(t, Given{}, good(0)); f.StdUnc < alone.StdUnc {
		t.Errorf("u(scale) of calibrations that disagree %.6f, of one alone %.6f", f.StdUnc, alone.StdUnc)
	}
	two := scaleOf(t, Given{}, good(0), length(20, 0.05, Pt(50, 0), Pt(50, 440)))
	if c := strings.Join(two.Cautions, "; "); !strings.Contains(c, "disagree by 9.1 %: check both") {
		t.Errorf("cautions of two %q", c)
	}
}

func TestStatedSpacingByKind(t *testing.T) {
	for _, c := range []struct {
		kind    SpacingKind
		trust   float64
		caution string
	}{
		{SpacingCalibrated, 0.02, ""}, {SpacingVolume, 0.005, ""},
		{SpacingDetector, 0.05, "magnified"}, {SpacingScan, 0.05, "magnified"}, {SpacingUndetermined, 0.05, "does not say"},
	} {
		g := Given{Spacing: map[string]Spacing{"a": {RowMM: 0.04, ColMM: 0.04, Kind: c.kind}}}
		f := scaleOf(t, g, Calibration{Kind: CalibrationStated})
		if math.Abs(f.Value-0.04) > 1e-15 || math.Abs(f.StdUnc-0.04*c.trust) > 1e-12 {
			t.Errorf("%s: %g ± %g", c.kind, f.Value, f.StdUnc)
		}
		if got := strings.Join(f.Cautions, "; "); !strings.Contains(got, c.caution) || (c.caution == "") != (got == "") {
			t.Errorf("%s: cautions %q", c.kind, got)
		}
		// A spacing at the detector is another scale than that of a file beside
		// the tooth: it is not averaged in.
		both := scaleOf(t, g, Calibration{Kind: CalibrationStated}, length(20, 0.01, Pt(0, 0), Pt(0, 525)))
		if aside := math.Abs(both.Value-20.0/525) < 1e-9; aside != (c.caution != "") {
			t.Errorf("%s: with a file the scale is %g", c.kind, both.Value)
		}
		if said := strings.Contains(strings.Join(both.Cautions, "; "), "calibration 1 (stated) left out: "); said != (c.caution != "") {
			t.Errorf("%s: cautions beside a file %q", c.kind, both.Cautions)
		}
	}
}

func TestPixelsThatAreNotSquare(t *testing.T) {
	g := Given{Spacing: map[string]Spacing{"a": {RowMM: 0.05, ColMM: 0.1, Kind: SpacingCalibrated}}}
	m := Marks{Images: []ImageMarks{{ID: "a", Calibration: []Calibration{{Kind: CalibrationStated}}, Canals: []Canal{{Tooth: "46", Marks: []Point{Pt(0, 0), Pt(30, 80)}}}}}}
	if got := findingOf(t, m, g, "canal", WhatLength); math.Abs(got-5) > 1e-9 { // 3 mm across, 4 mm down
		t.Errorf("length %.6f mm, want 5", got)
	}
}

func TestLengthsAwayFromTheCalibrationGetACaution(t *testing.T) {
	m := func(kind, tooth string, to Point) Marks {
		return Marks{Images: []ImageMarks{{ID: "a",
			Calibration: []Calibration{{Kind: kind, LengthMM: 21, Tooth: "46", Marks: []Point{Pt(0, 0), Pt(0, 420)}}},
			Canals:      []Canal{{Tooth: tooth, Marks: []Point{Pt(0, 0), to}}}}}}
	}
	for _, c := range []struct {
		name string
		m    Marks
		want string
	}{
		{"along the file", m(CalibrationFile, "46", Pt(100, 380)), ""},
		{"across the file", m(CalibrationFile, "46", Pt(300, 300)), "runs at 45° to the object"},
		{"along a distance", m(CalibrationDistance, "46", Pt(100, 380)), ""},
		{"across a distance", m(CalibrationDistance, "46", Pt(300, -300)), "runs at 45° to the object"},
		{"another tooth", m(CalibrationFile, "47", Pt(0, 400)), "calibrated on tooth 46"},
	} {
		for _, f := range Compute(c.m, Given{}) {
			if got := strings.Join(f.Cautions, "; "); f.What == WhatLength && (!strings.Contains(got, c.want) || (c.want == "") != (got == "")) {
				t.Errorf("%s: cautions %q, want %q", c.name, got, c.want)
			}
		}
	}
}

func TestALengthFromAVolumeCalibrates(t *testing.T) {
	f := scaleOf(t, Given{}, Calibration{Kind: CalibrationVolume, LengthMM: 20, Marks: []Point{Pt(0, 0), Pt(0, 200), Pt(0, 400)}})
	if want := DefaultVolumeLength / 20; math.Abs(f.Value-0.05) > 1e-9 || math.Abs(f.StdUnc/f.Value-want) > 0.001 {
		t.Errorf("scale %g ± %g", f.Value, f.StdUnc)
	}
}
