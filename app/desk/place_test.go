package desk

import (
	"image"
	"testing"

	"fyne.io/fyne/v2"
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
