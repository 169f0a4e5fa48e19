package measure

import "testing"

func TestAllTeethHaveOneNameInEachNotation(t *testing.T) {
	all := Teeth()
	if len(all) != 52 {
		t.Fatalf("%d teeth, want 32 permanent and 20 primary", len(all))
	}
	for _, n := range []Notation{FDI, Universal, Palmer} {
		seen := map[string]Tooth{}
		for _, tooth := range all {
			name := tooth.In(n)
			if other, ok := seen[name]; ok {
				t.Errorf("%s %q is both %d and %d", n, name, other, tooth)
			}
			seen[name] = tooth
			if back, err := ParseTooth(name, n); err != nil || back != tooth {
				t.Errorf("%s %q of %d reads as %d, %v", n, name, tooth, back, err)
			}
		}
	}
}

// Permanent pairs of the ADA system and ISO 3950 beside those of the reference
// values; primary ones: A–T from the upper right second molar clockwise.
func TestToothNames(t *testing.T) {
	for _, c := range []struct {
		tooth             Tooth
		universal, palmer string
	}{
		{46, "30", "LR6"}, {18, "1", "UR8"}, {28, "16", "UL8"}, {38, "17", "LL8"}, {48, "32", "LR8"},
		{55, "A", "URE"}, {51, "E", "URA"}, {61, "F", "ULA"}, {65, "J", "ULE"}, {75, "K", "LLE"}, {71, "O", "LLA"}, {81, "P", "LRA"}, {85, "T", "LRE"},
	} {
		if u, p := c.tooth.In(Universal), c.tooth.In(Palmer); u != c.universal || p != c.palmer {
			t.Errorf("%d is %s and %s, want %s and %s", c.tooth, u, p, c.universal, c.palmer)
		}
	}
	for _, name := range []string{"", "19", "09", "56", "90", "4 6", "-46"} {
		if tooth, err := ParseTooth(name, FDI); err == nil {
			t.Errorf("%q reads as %d", name, tooth)
		}
	}
}

func TestUsualLengthsWarnOfASwappedCalibration(t *testing.T) {
	on := func(pxPerMM float64) Marks {
		return Marks{Images: []ImageMarks{{ID: "a", Calibration: []Calibration{{Kind: CalibrationFile, LengthMM: 21, Marks: []Point{Pt(0, 0), Pt(0, 21*pxPerMM)}}},
			Canals: []Canal{{Tooth: "46", Marks: []Point{Pt(50, 0), Pt(50, 21*20)}}}}}}
	}
	for pxPerMM, want := range map[float64]bool{20: false, 18: false, 14: true, 30: true} {
		for _, f := range Compute(on(pxPerMM), Given{}) {
			if f.What == WhatLength && (len(f.Cautions) > 0) != want {
				t.Errorf("%.1f mm for tooth 46: cautions %q, want any: %v", f.Value, f.Cautions, want)
			}
		}
	}
	if _, ok := Tooth(55).Usual(); ok {
		t.Error("usual lengths of a primary tooth, which the tables lack")
	}
}
