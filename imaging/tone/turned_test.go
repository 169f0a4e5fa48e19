package tone

import (
	"image"
	"math"
	"testing"

	"pgregory.net/rapid"

	"rootrule/imaging"
)

// TestTurnedViewShowsTheTurnedPicture: a stored picture in a turned view looks
// as the turned picture does in a plain one, to the last grey value, at any
// scale and in any place.
func TestTurnedViewShowsTheTurnedPicture(t *testing.T) {
	identity := new(Table)
	for i := range identity {
		identity[i] = uint8(i >> 8)
	}
	rapid.Check(t, func(t *rapid.T) {
		m := noise(rapid.IntRange(1, 90).Draw(t, "w"), rapid.IntRange(1, 90).Draw(t, "h"), 1)
		turn := imaging.Turn(rapid.IntRange(2, 8).Draw(t, "turn"))
		w, h := m.Width, m.Height
		turned := *m
		turned.Pix = turn.Apply(make([]uint16, len(m.Pix)), m.Pix, w, h)
		if turn.Lying() {
			turned.Width, turned.Height = h, w
		}
		// scales at which no edge of the picture goes through the centre of a device pixel
		v := View{Scale: rapid.SampledFrom([]float64{1, 3, 1.0 / 3}).Draw(t, "scale"),
			X: float64(rapid.IntRange(-40, 40).Draw(t, "x")), Y: float64(rapid.IntRange(-40, 40).Draw(t, "y"))}
		size := image.Rect(0, 0, 70, 50)
		want, got := image.NewRGBA(size), image.NewRGBA(size)
		new(Renderer).Draw(want, NewPicture(&turned), v, identity, back)
		var r Renderer
		r.Draw(got, NewPicture(m), v.Lying(turn, w, h), identity, back)
		for i := range want.Pix {
			if d := int(want.Pix[i]) - int(got.Pix[i]); d > 1 || d < -1 {
				t.Fatalf("%v of %d×%d in %+v: device pixel %d differs by %d", turn, w, h, v, i/4, d)
			}
		}
	})
}

// TestTurnedViewKeepsPoints: what is under the cursor is what is marked, in
// every lie; zoom, steps and [View.At] agree with it.
func TestTurnedViewKeepsPoints(t *testing.T) {
	near := func(a, b float64) bool { return math.Abs(a-b) < 1e-6 }
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 3000).Draw(t, "w"), rapid.IntRange(1, 3000).Draw(t, "h")
		v := View{Scale: rapid.Float64Range(0.1, 10).Draw(t, "scale"), X: rapid.Float64Range(-500, 500).Draw(t, "vx"),
			Y: rapid.Float64Range(-500, 500).Draw(t, "vy")}.Lying(imaging.Turn(rapid.IntRange(1, 8).Draw(t, "turn")), w, h)
		x, y := rapid.Float64Range(0, float64(w)).Draw(t, "x"), rapid.Float64Range(0, float64(h)).Draw(t, "y")
		sx, sy := v.ToScreen(x, y)
		if bx, by := v.ToImage(sx, sy); !near(bx, x) || !near(by, y) {
			t.Fatalf("(%g, %g) comes back as (%g, %g)", x, y, bx, by)
		}
		if zx, zy := v.ZoomAbout(sx, sy, 1.7).ToImage(sx, sy); !near(zx, x) || !near(zy, y) {
			t.Fatalf("zooming about (%g, %g) moves it to (%g, %g)", x, y, zx, zy)
		}
		if ax, ay := v.At(x, y, 120, 80, 3).ToScreen(x, y); !near(ax, 120) || !near(ay, 80) {
			t.Fatalf("the point asked for at (120, 80) is at (%g, %g)", ax, ay)
		}
		dx, dy := v.Along(1, 0)
		if rx, ry := v.ToScreen(x+dx, y+dy); !near(rx, sx+v.Scale) || !near(ry, sy) {
			t.Fatalf("a step to the right goes to (%g, %g) from (%g, %g)", rx, ry, sx, sy)
		}
	})
}

// TestThroughATurnedView: drawing through the identity agrees with drawing
// the picture itself.
func TestThroughATurnedView(t *testing.T) {
	m := noise(60, 40, 3)
	p := NewPicture(m)
	table := new(Table)
	for i := range table {
		table[i] = uint8(i >> 8)
	}
	for turn := imaging.TurnMirror; turn <= imaging.TurnThreeQuarters; turn++ {
		v := View{Scale: 3, X: 5, Y: 3}.Lying(turn, 60, 40)
		want, got := image.NewRGBA(image.Rect(0, 0, 200, 200)), image.NewRGBA(image.Rect(0, 0, 200, 200))
		new(Renderer).Draw(want, p, v, table, back)
		new(Through).Draw(got, got.Rect, p, v, Same, table, back)
		for i := range want.Pix {
			if d := int(want.Pix[i]) - int(got.Pix[i]); d > 2 || d < -2 {
				t.Fatalf("%v: device pixel %d is %d, through the map %d", turn, i/4, want.Pix[i], got.Pix[i])
			}
		}
	}
}
