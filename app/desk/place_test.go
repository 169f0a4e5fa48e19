package desk

import (
	"image"
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
	"pgregory.net/rapid"

	"rootrule/app/desk/ink"
)

// TestLabelsKeepClearOfTheApex: with a whole bench of room no label covers an
// apex or another label, and all of each is in sight.
func TestLabelsKeepClearOfTheApex(t *testing.T) {
	area := image.Rect(0, 0, 900, 680)
	rapid.Check(t, func(t *rapid.T) {
		var c clutter
		var labels []label
		var sizes []image.Point
		for range rapid.IntRange(1, 4).Draw(t, "canals") {
			x, top := rapid.Float64Range(100, 800).Draw(t, "x"), rapid.Float64Range(20, 200).Draw(t, "top")
			var line []ink.Point
			for y := top; y < 600; y += 10 {
				line = append(line, ink.Point{X: x + (y-top)/8, Y: y})
			}
			n := len(line)
			c.points = append(c.points, line...)
			c.guard = append(c.guard, around(line[n-1], 26))
			labels = append(labels, label{anchors: []ink.Point{line[0], line[n/4], line[n/2]}})
			sizes = append(sizes, image.Pt(rapid.IntRange(80, 200).Draw(t, "width"), 24))
		}
		placed := c.place(labels, sizes, area, 16)
		for i, r := range placed {
			if !r.In(area) {
				t.Errorf("label %d at %v is not in sight", i, r)
			}
			for _, g := range c.guard {
				if r.Overlaps(g) {
					t.Errorf("label %d at %v covers the apex at %v", i, r, g)
				}
			}
			for j, other := range placed[:i] {
				if r.Overlaps(other) {
					t.Errorf("labels %d and %d overlap: %v, %v", j, i, other, r)
				}
			}
		}
	})
}

func TestLoupeNeverCoversTheSpot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		area := image.Rect(0, 0, rapid.IntRange(420, 2560).Draw(t, "w"), rapid.IntRange(420, 1440).Draw(t, "h"))
		p := image.Pt(rapid.IntRange(0, area.Max.X-1).Draw(t, "x"), rapid.IntRange(0, area.Max.Y-1).Draw(t, "y"))
		r := besides(p, lensSide, lensAway, area)
		if p.In(r.Inset(-lensAway / 2)) {
			t.Fatalf("the loupe at %v covers the spot %v", r, p)
		}
		if shown := r.Intersect(area); shown.Dx() < lensSide*3/4 || shown.Dy() < lensSide*3/4 {
			t.Fatalf("of the loupe at %v beside %v only %v is in sight", r, p, shown)
		}
	})
}

// luminance is the relative luminance of WCAG 2.2.
func luminance(c color.NRGBA) float64 {
	lin := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B)
}

// contrast is the contrast ratio of WCAG 2.2.
func contrast(a, b color.NRGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

func TestContrast(t *testing.T) {
	if got := contrast(color.NRGBA{255, 255, 255, 255}, color.NRGBA{0, 0, 0, 255}); math.Abs(got-21) > 1e-9 {
		t.Fatalf("white on black is %g, the standard says 21", got)
	}
	over := func(top, under color.NRGBA) color.NRGBA {
		a := float64(top.A) / 255
		mix := func(x, y uint8) uint8 { return uint8(float64(x)*a + float64(y)*(1-a)) }
		return color.NRGBA{mix(top.R, under.R), mix(top.G, under.G), mix(top.B, under.B), 255}
	}
	white := color.NRGBA{255, 255, 255, 255}
	for _, c := range []struct {
		name        string
		text, under color.NRGBA
		least       float64
	}{
		{"text on ground", colourText, colourGround, 7},
		{"text on panel", colourText, colourPanel, 7},
		{"text on a row", colourText, colourRaised, 7},
		{"text on the chosen row", colourText, colourChosen, 7},
		{"muted on panel", colourMuted, colourPanel, 4.5},
		{"muted on a row", colourMuted, colourRaised, 4.5},
		{"muted on the chosen row", colourMuted, colourChosen, 4.5},
		{"heading on panel", colourHoney, colourPanel, 4.5},
		{"button under way", colourOnWarm, colourHoney, 4.5},
		{"error on its banner", colourAlarm, colourRaised, 4.5},
		{"canal label on its plate, over white", inkCanal, over(inkPlate, white), 4.5},
		{"calibration label on its plate, over white", inkCalibration, over(inkPlate, white), 4.5},
		{"lesion label on its plate, over white", inkLesion, over(inkPlate, white), 4.5},
		{"canal line against its casing, over white", inkCanal, over(inkCasing, white), 3},
		{"lesion line against its casing, over white", inkLesion, over(inkCasing, white), 3},
	} {
		if got := contrast(c.text, c.under); got < c.least {
			t.Errorf("%s: contrast %.1f, want at least %.1f", c.name, got, c.least)
		}
	}
	if (Theme{}).Color(theme.ColorNameForeground, theme.VariantLight) != color.Color(colourText) {
		t.Error("the theme doesn't use the colours")
	}
}

func TestNoKeyTwice(t *testing.T) {
	seen := map[fyne.KeyName]string{}
	for _, d := range deeds() {
		for _, k := range d.keys {
			if _, _, isArrow := arrow(k); isArrow || seen[k] != "" || d.do == nil {
				t.Errorf("key %s is taken: %q and %q", k, seen[k], d.does)
			}
			seen[k] = d.does + " "
		}
	}
}
