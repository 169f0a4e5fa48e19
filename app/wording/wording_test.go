package wording

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"strings"
	"testing"

	"rootrule/imaging/fault"
	"rootrule/measure"
)

func q(v, u float64, unit measure.Unit) measure.Quantity {
	return measure.Quantity{Value: v, StdUnc: u, Unit: unit}
}

func TestQuantity(t *testing.T) {
	cases := []struct {
		name string
		q    measure.Quantity
		want string
	}{
		{"length to 0.1 mm, ± rounded up", q(20.31, 0.29, measure.Millimetre), "20.3 ± 0.6 mm"},
		{"an exact ± stays", q(20.31, 0.25, measure.Millimetre), "20.3 ± 0.5 mm"},
		{"a small ± never shows as nothing", q(20.31, 0.001, measure.Millimetre), "20.3 ± 0.1 mm"},
		{"angle to 1°", q(17.6, 1.1, measure.Degree), "18 ± 3°"},
		{"area to 0.1 mm²", q(18.849, 0.21, measure.SquareMillimetre), "18.8 ± 0.5 mm²"},
		{"pixels", q(1017.4, 2.2, measure.Pixel), "1017 ± 5 px"},
		{"scale", q(0.020134, 0.00024, measure.MillimetrePerPx), "0.0201 ± 0.0005 mm/px"},
		{"beyond the apex", q(-0.52, 0.1, measure.Millimetre), "−0.5 ± 0.2 mm"},
		{"no minus in front of nothing", q(-0.02, 0.1, measure.Millimetre), "0.0 ± 0.2 mm"},
		{"undefined", measure.Undefined(measure.Millimetre), "–"},
		{"exact by definition", q(25, 0, measure.Millimetre), "25.0 mm"},
		{"curvature", q(0.1254, 0.011, measure.PerMillimetre), "0.13 ± 0.03 1/mm"},
		{"no uncertainty known", q(3, math.NaN(), measure.Millimetre), "3.0 mm"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := Quantity(c.q); got != c.want {
				t.Errorf("%q, want %q", got, c.want)
			}
		})
	}
}

// TestShownIntervalCoversComputed: rounding must never make the interval
// narrower than the one computed, by more than rounding the value costs.
func TestShownIntervalCoversComputed(t *testing.T) {
	for u := 0.001; u < 2; u += 0.0137 {
		var v, e float64
		if _, err := fmt.Sscanf(Quantity(q(20, u, measure.Millimetre)), "%f ± %f mm", &v, &e); err != nil {
			t.Fatal(err)
		}
		if e < 2*u-1e-6 {
			t.Errorf("u = %v shown as ± %v", u, e)
		}
	}
}

func TestClinical(t *testing.T) {
	for v, want := range map[float64]string{20.31: "20.5 mm", 20.24: "20.0 mm", 20.75: "21.0 mm"} {
		if got := Clinical(q(v, 0.2, measure.Millimetre)); got != want {
			t.Errorf("%v shown as %q, want %q", v, got, want)
		}
	}
	if got := Clinical(q(1017, 2, measure.Pixel)); got != "1017 px" {
		t.Errorf("a length without calibration shown as %q", got)
	}
}

func TestError(t *testing.T) {
	cases := []struct {
		name       string
		err        error
		line, hint string
	}{
		{"damaged", fault.Malformed("read image a.png: it ends too early: copy it again"), "Damaged file: read image a.png: it ends too early.", "Copy it again."},
		{"unsupported", fmt.Errorf("open: %w", fault.Unsupported("read b.xyz: unknown: export it as PNG")), "Kind of file not handled: open: read b.xyz: unknown.", "Export it as PNG."},
		{"plain", errors.New("something odd"), "Something odd.", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			line, hint := Error(c.err)
			if line != c.line || hint != c.hint {
				t.Errorf("%q, %q; want %q, %q", line, hint, c.line, c.hint)
			}
		})
	}
	if line, hint := Error(fmt.Errorf("open image: %w", fs.ErrNotExist)); !strings.Contains(line, "Open image") || hint == "" {
		t.Errorf("a missing file: %q, %q", line, hint)
	}
}

func TestSpacing(t *testing.T) {
	for _, c := range []struct {
		row, col float64
		want     string
	}{
		{0.02, 0.02, "0.020 mm a pixel"},
		{0.0375, 0.0375, "0.0375 mm a pixel"},
		{0.0264583, 0.0264583, "0.0265 mm a pixel"},
		{0.3, 0.3, "0.300 mm a pixel"},
		{0.02, 0.025, "0.020 × 0.025 mm a pixel"},
	} {
		if got := Spacing(measure.Spacing{RowMM: c.row, ColMM: c.col}); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// TestSpacingTrustNamesEveryKind: each kind is named by its own word first.
func TestSpacingTrustNamesEveryKind(t *testing.T) {
	for _, k := range []measure.SpacingKind{measure.SpacingCalibrated, measure.SpacingDetector, measure.SpacingScan,
		measure.SpacingVolume, measure.SpacingUndetermined} {
		if got := SpacingTrust(k); !strings.HasPrefix(got, string(k)+": ") {
			t.Errorf("%s is told as %q", k, got)
		}
	}
}

// TestEveryFindingHasALabel: each kind that measure names, and what is numbered.
func TestEveryFindingHasALabel(t *testing.T) {
	for _, what := range []string{measure.WhatEquivalentChange, measure.WhatLengthChangePercent, measure.WhatFillingChangeDetectable,
		measure.WhatVolumeChangePerYear, measure.WhatElongation, measure.WhatApicalSeal} {
		if _, ok := labels[what]; !ok {
			t.Errorf("%s has no label", what)
		}
	}
	for what, want := range map[string]string{"dentine_2": "dentine beside the obstruction 2", "post_length": "post length", measure.WhatAreaChange: "change of area"} {
		if got := Label(what); got != want {
			t.Errorf("%s is labelled %q, want %q", what, got, want)
		}
	}
}

func TestVerdictInWordsThatFit(t *testing.T) {
	for _, c := range []struct{ what, verdict, want string }{
		{measure.WhatAreaChange, measure.VerdictSmaller, "smaller"},
		{measure.WhatAreaChange, measure.VerdictNoChange, "no change beyond measurement error"},
		{measure.WhatLengthChange, measure.VerdictSmaller, "shorter"},
		{measure.WhatEALDifference, measure.VerdictLarger, "longer"},
		{measure.WhatEALDifference, measure.VerdictNoChange, "no difference beyond measurement error"},
		{measure.WhatArea, "", ""},
	} {
		if got := Verdict(measure.Finding{What: c.what, Verdict: c.verdict}); got != c.want {
			t.Errorf("%s, %s: %q, want %q", c.what, c.verdict, got, c.want)
		}
	}
}
