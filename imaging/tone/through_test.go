package tone

import (
	"image"
	"math"
	"testing"

	"pgregory.net/rapid"

	"rootrule/imaging"
)

// slope is a picture whose grey is linear in the position: interpolation and
// halving both leave it exact, so that the grey tells where it was read.
func slope(w, h int, a, b float64) *imaging.Image {
	m := &imaging.Image{Width: w, Height: h, Bits: 16, Pix: make([]uint16, w*h)}
	for y := range h {
		for x := range w {
			m.Pix[y*w+x] = uint16(math.Round(1000 + a*float64(x) + b*float64(y)))
		}
	}
	return m
}

// oblique draws a map like that between two exposures: a turn, a change of
// size, a shift and a slight perspective.
func oblique(t *rapid.T) Map {
	sin, cos := math.Sincos(rapid.Float64Range(-0.2, 0.2).Draw(t, "turn"))
	s := rapid.Float64Range(0.8, 1.25).Draw(t, "size")
	return Map{
		{s * cos, -s * sin, rapid.Float64Range(-40, 40).Draw(t, "dx")},
		{s * sin, s * cos, rapid.Float64Range(-40, 40).Draw(t, "dy")},
		{rapid.Float64Range(-4e-5, 4e-5).Draw(t, "px"), rapid.Float64Range(-4e-5, 4e-5).Draw(t, "py"), 1},
	}
}

// TestThroughReadsWhereTheMapSays: at every device pixel the position read off
// a sloping picture is the one that the matrix gives, to 0.05 px of the level
// that is read, and the picture is drawn exactly where its pixels are.
func TestThroughReadsWhereTheMapSays(t *testing.T) {
	const w, h = 640, 480
	pictures := [2]*Picture{NewPicture(slope(w, h, 90, 0)), NewPicture(slope(w, h, 0, 90))}
	rapid.Check(t, func(t *rapid.T) {
		by := oblique(t)
		v := View{Scale: rapid.Float64Range(0.2, 5).Draw(t, "scale"), X: rapid.Float64Range(-200, 100).Draw(t, "x"), Y: rapid.Float64Range(-200, 100).Draw(t, "y")}
		dst := image.NewRGBA(image.Rect(0, 0, 200, 150))
		area := image.Rect(20, 10, 190, 140)
		var r [2]Through
		for k := range r {
			r[k].Draw(dst, area, pictures[k], v, by, new(Table), back)
		}
		tolerance := 0.05 * math.Max(1, 2/v.Scale)
		for j := area.Min.Y; j < area.Max.Y; j++ {
			for i := area.Min.X; i < area.Max.X; i++ {
				x, y := by.At(v.ToImage(float64(i), float64(j)))
				margin := 2 / v.Scale // halving flattens the slope at the border
				inner := x > margin && y > margin && x < w-1-margin && y < h-1-margin
				gx, in := r[0].Grey(i, j)
				gy, _ := r[1].Grey(i, j)
				if inner && !in || in && (x < -0.51 || y < -0.51 || x > w-0.49 || y > h-0.49) {
					t.Fatalf("(%d, %d) at (%g, %g) of the picture: drawn %v", i, j, x, y, in)
				}
				if px, py := (float64(gx)-1000)/90, (float64(gy)-1000)/90; inner && math.Hypot(px-x, py-y) > tolerance {
					t.Fatalf("(%d, %d) is read at (%g, %g), the map says (%g, %g)", i, j, px, py, x, y)
				}
			}
		}
	})
}

// TestThroughAgreesWithRendererAtOneToOne: without a map both draw the same.
func TestThroughAgreesWithRendererAtOneToOne(t *testing.T) {
	p, table := NewPicture(noise(60, 40, 5)), Window{Low: 0, High: 65535}.Table()
	for _, v := range []View{{Scale: 1, X: 5, Y: -3}, {Scale: 1, X: -20, Y: 30}} {
		a, b := image.NewRGBA(image.Rect(0, 0, 90, 70)), image.NewRGBA(image.Rect(0, 0, 90, 70))
		new(Renderer).Draw(a, p, v, table, back)
		new(Through).Draw(b, b.Rect, p, v, Same, table, back)
		for i := range a.Pix {
			if a.Pix[i] != b.Pix[i] {
				t.Fatalf("byte %d of view %v is %d, the renderer draws %d", i, v, b.Pix[i], a.Pix[i])
			}
		}
	}
}

// TestThroughStaysInItsArea: nothing outside the area is touched, and what the
// map can't reach is background.
func TestThroughStaysInItsArea(t *testing.T) {
	p := NewPicture(noise(4, 4, 1))
	for name, by := range map[string]Map{
		"same": Same, "far": {{1, 0, 1e6}, {0, 1, 0}, {0, 0, 1}}, "folded": {{1, 0, 0}, {0, 1, 0}, {-0.1, 0, 0.01}},
		"singular": {}, "not a number": {{math.NaN()}},
	} {
		dst := image.NewRGBA(image.Rect(0, 0, 30, 30))
		area := image.Rect(10, 12, 25, 40)
		new(Through).Draw(dst, area, p, View{Scale: 1}, by, new(Table), back)
		for j := range 30 {
			for i := range 30 {
				if got := dst.RGBAAt(i, j); image.Pt(i, j).In(area) != (got.A == 255) {
					t.Fatalf("%s: (%d, %d) is %v", name, i, j, got)
				}
			}
		}
		if got := dst.RGBAAt(24, 29); got != back {
			t.Errorf("%s: beside the picture lies %v", name, got)
		}
	}
}

// BenchmarkThrough is a pan at 1200×800; compare with BenchmarkDraw.
func BenchmarkThrough(b *testing.B) {
	p := NewPicture(noise(2000, 1500, 1))
	table := Window{Low: 0, High: 65535}.Table()
	dst := image.NewRGBA(image.Rect(0, 0, 1200, 800))
	by := Map{{0.99, -0.05, 30}, {0.05, 0.99, -10}, {6e-6, -9e-6, 1}}
	for name, scale := range map[string]float64{"fit": 0.53, "one": 1, "double": 2} {
		v := Centre(2000, 1500, 1200, 800, scale).Snapped()
		b.Run(name, func(b *testing.B) {
			var r Through
			for i := range b.N {
				r.Draw(dst, dst.Rect, p, v.Pan(float64(i%2), 0), by, table, back)
			}
		})
	}
}
