package tone

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func anyView(t *rapid.T) View {
	return View{
		Scale: math.Exp2(rapid.Float64Range(-5, 5).Draw(t, "log scale")),
		X:     rapid.Float64Range(-5000, 5000).Draw(t, "x"),
		Y:     rapid.Float64Range(-5000, 5000).Draw(t, "y"),
	}
}

func TestZoomAboutKeepsThePointUnderTheCursor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyView(t)
		sx, sy := rapid.Float64Range(0, 3000).Draw(t, "sx"), rapid.Float64Range(0, 2000).Draw(t, "sy")
		x, y := v.ToImage(sx, sy)
		for range 12 {
			v = v.ZoomAbout(sx, sy, rapid.Float64Range(0.2, 5).Draw(t, "factor"))
			if gx, gy := v.ToScreen(x, y); math.Hypot(gx-sx, gy-sy) > 1e-6 {
				t.Fatalf("the point under the cursor moved by (%g, %g) px", gx-sx, gy-sy)
			}
		}
		if !v.Valid() {
			t.Fatalf("zooming led outside the limits: %+v", v)
		}
	})
}

func TestToImageInvertsToScreen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyView(t)
		x, y := rapid.Float64Range(-100, 4000).Draw(t, "ix"), rapid.Float64Range(-100, 4000).Draw(t, "iy")
		gx, gy := v.ToImage(v.ToScreen(x, y))
		if math.Abs(gx-x) > 1e-6 || math.Abs(gy-y) > 1e-6 {
			t.Fatalf("(%g, %g) comes back as (%g, %g)", x, y, gx, gy)
		}
	})
}

func TestFitShowsAllOfTheImage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 4000).Draw(t, "w"), rapid.IntRange(1, 4000).Draw(t, "h")
		width, height := rapid.Float64Range(200, 3000).Draw(t, "width"), rapid.Float64Range(200, 2000).Draw(t, "height")
		v := Fit(w, h, width, height, 8)
		x0, y0 := v.ToScreen(-0.5, -0.5)
		x1, y1 := v.ToScreen(float64(w)-0.5, float64(h)-0.5)
		if x0 < 7 || y0 < 7 || x1 > width-8 || y1 > height-8 {
			t.Fatalf("the image lies at (%g, %g)–(%g, %g) in %g×%g", x0, y0, x1, y1, width, height)
		}
		if math.Abs((x0+x1)-(width-1)) > 1e-6 || math.Abs((y0+y1)-(height-1)) > 1e-6 {
			t.Fatalf("the image isn't centred: (%g, %g)–(%g, %g)", x0, y0, x1, y1)
		}
	})
}

func TestWithinKeepsPartOfTheImageInSight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyView(t).Within(1000, 800, 900, 680, 60)
		x0, y0 := v.ToScreen(0, 0)
		side := math.Min(60, v.Scale*800) - 1e-6
		if x0+v.Scale*1000 < side || y0+v.Scale*800 < side || x0 > 900-side || y0 > 680-side {
			t.Fatalf("the image has left the area: %+v", v)
		}
		if again := v.Within(1000, 800, 900, 680, 60); again != v {
			t.Fatalf("a view inside is moved again: %+v to %+v", v, again)
		}
	})
}
