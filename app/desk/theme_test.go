package desk

import (
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2/theme"
)

// luminance is the relative luminance of WCAG 2.2 (section "relative
// luminance").
func luminance(c color.NRGBA) float64 {
	linear := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}

// contrast is the contrast ratio of WCAG 2.2 (section "contrast ratio").
func contrast(a, b color.NRGBA) float64 {
	x, y := luminance(a), luminance(b)
	if x < y {
		x, y = y, x
	}
	return (x + 0.05) / (y + 0.05)
}

// over is what is seen of top over under.
func over(top, under color.NRGBA) color.NRGBA {
	a := float64(top.A) / 255
	mix := func(x, y uint8) uint8 { return uint8(float64(x)*a + float64(y)*(1-a)) }
	return color.NRGBA{mix(top.R, under.R), mix(top.G, under.G), mix(top.B, under.B), 255}
}

// TestContrastFormula checks the formula against its fixed points: black on
// white is 21:1, and #767676 on white the known limit of 4.54:1 (WCAG 2.2).
func TestContrastFormula(t *testing.T) {
	white := opaque(0xffffff)
	for _, c := range []struct {
		of   color.NRGBA
		want float64
	}{{opaque(0), 21}, {white, 1}, {opaque(0x767676), 4.54}} {
		if got := contrast(c.of, white); math.Abs(got-c.want) > 0.01 {
			t.Errorf("contrast of %v on white is %.3f, want %.2f", c.of, got, c.want)
		}
	}
}

// grounds are what letters stand on in a look, with what a widget lays over
// them while it is pointed at, pressed, has the focus or is selected.
func grounds(p palette) map[string]color.NRGBA {
	return map[string]color.NRGBA{
		"ground": p.ground, "panel": p.panel, "raised": p.raised, "chosen": p.chosen, "input": p.input,
		"raised and pointed at": over(through(p.text, hoverVeil), p.raised),
		"raised and pressed":    over(through(p.text, pressedVeil), p.raised),
	}
}

// TestContrast computes the contrast of all letters on all grounds in both
// looks: 4.5:1 at least, 3:1 for what is switched off, of which WCAG asks
// nothing (2.2, 1.4.3).
func TestContrast(t *testing.T) {
	for look, p := range map[string]palette{"dark": dark, "light": light} {
		for on, ground := range grounds(p) {
			for what, c := range map[string]struct {
				of    color.NRGBA
				least float64
			}{
				"text": {p.text, 4.5}, "muted": {p.muted, 4.5}, "honey": {p.honey, 4.5},
				"alarm": {p.alarm, 4.5}, "fine": {p.fine, 4.5}, "off": {p.off, 3},
			} {
				if (what == "fine" || what == "off" || what == "alarm") && on == "raised and pressed" {
					continue // no such letters on a button
				}
				if got := contrast(c.of, ground); got < c.least {
					t.Errorf("%s: %s on %s has a contrast of %.2f, want %.1f", look, what, on, got, c.least)
				}
			}
		}
		for what, c := range map[string][2]color.NRGBA{
			"letters on a lit button":                {p.onWarm, p.honey},
			"letters on a lit button pointed at":     {p.onWarm, over(through(p.text, hoverVeil), p.honey)},
			"letters on a red button":                {p.onWarm, p.alarm},
			"letters on a selection":                 {p.text, over(through(p.honey, selectionVeil), p.input)},
			"letters on a widget that has the focus": {p.text, over(through(p.honey, focusVeil), p.raised)},
		} {
			if got := contrast(c[0], c[1]); got < 4.5 {
				t.Errorf("%s: %s have a contrast of %.2f, want 4.5", look, what, got)
			}
		}
		// Frames that tell of focus and choice (WCAG 2.2, 1.4.11).
		for on, ground := range map[string]color.NRGBA{"panel": p.panel, "raised": p.raised, "chosen": p.chosen} {
			if got := contrast(p.honey, ground); got < 3 {
				t.Errorf("%s: a frame on %s has a contrast of %.2f, want 3", look, on, got)
			}
		}
	}
}

// TestContrastOnBench does the same for what is drawn over a picture, at the
// brightest spot that it can have.
func TestContrastOnBench(t *testing.T) {
	white := opaque(0xffffff)
	plate := over(inkPlate, white)
	for _, c := range []struct {
		name        string
		text, under color.NRGBA
		least       float64
	}{
		{"canal label", inkCanal, plate, 4.5}, {"calibration label", inkCalibration, plate, 4.5},
		{"lesion label", inkLesion, plate, 4.5}, {"text", inkText, plate, 4.5}, {"muted", inkMuted, plate, 4.5},
		{"honey", inkHoney, plate, 4.5}, {"muted on the bare bench", inkMuted, colourBench, 4.5},
		{"canal line against its casing", inkCanal, over(inkCasing, white), 3},
		{"lesion line against its casing", inkLesion, over(inkCasing, white), 3},
	} {
		if got := contrast(c.text, c.under); got < c.least {
			t.Errorf("%s: contrast %.1f, want at least %.1f", c.name, got, c.least)
		}
	}
}

// TestLook sees to it that a look reaches the toolkit's widgets and the
// desk's own parts.
func TestLook(t *testing.T) {
	defer SetLook(Look{})
	for _, c := range []struct {
		look Look
		of   palette
		size float32
	}{{Look{Light: true}, light, 15}, {Look{Letters: 1.5}, dark, 22.5}, {Look{Letters: 7}, dark, 30}, {Look{}, dark, 15}} {
		SetLook(c.look)
		th := Theme{}
		got := [3]color.Color{th.Color(theme.ColorNameForeground, theme.VariantDark), th.Color(theme.ColorNameBackground, theme.VariantLight), colourPanel}
		if want := [3]color.Color{c.of.text, c.of.ground, c.of.panel}; got != want || th.Size(theme.SizeNameText) != c.size {
			t.Errorf("look %+v gives %v at %g, want %v at %g", c.look, got, th.Size(theme.SizeNameText), want, c.size)
		}
	}
}
