package tone

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"rootrule/imaging"
)

var back = color.RGBA{1, 2, 3, 255}

// noise is the hardest picture to resample: no pixel tells of its neighbour.
func noise(w, h int, seed uint64) *imaging.Image {
	r := rand.New(rand.NewPCG(seed, 0))
	m := &imaging.Image{Width: w, Height: h, Bits: 16, Pix: make([]uint16, w*h)}
	for i := range m.Pix {
		m.Pix[i] = uint16(r.Uint32())
	}
	return m
}

// share returns how much of the device pixel at i lies on source pixel k, or,
// above 1:1, the weight of k in the linear interpolation there.
func share(v, origin float64, i, k, size int) float64 {
	x := (float64(i) - origin) / v
	if v > 1 {
		return math.Max(0, 1-math.Abs(clamp(x, 0, float64(size-1))-float64(k)))
	}
	lo := math.Max(clamp(x-0.5/v, -0.5, float64(size)-0.5), float64(k)-0.5)
	hi := math.Min(clamp(x+0.5/v, -0.5, float64(size)-0.5), float64(k)+0.5)
	return math.Max(0, hi-lo)
}

// slow is the definition, pixel by pixel: the mean of the image over the
// device pixel, or the value between four pixel centres.
func slow(m *imaging.Image, v View, i, j int) float64 {
	var sum, weight float64
	for y := range m.Height {
		wy := share(v.Scale, v.Y, j, y, m.Height)
		if wy == 0 {
			continue
		}
		for x := range m.Width {
			w := wy * share(v.Scale, v.X, i, x, m.Width)
			sum += w * float64(m.Pix[y*m.Width+x])
			weight += w
		}
	}
	return sum / weight
}

func TestDrawAgainstTheSlowDefinition(t *testing.T) {
	for _, c := range []struct {
		name     string
		w, h     int
		v        View
		tolerate float64 // grey values of 65535; a halving rounds to 0.5
	}{
		{"1:1", 60, 40, View{Scale: 1, X: 5, Y: -3}, 0},
		{"1:1, one pixel", 1, 1, View{Scale: 1, X: 10, Y: 10}, 0},
		{"larger", 40, 30, View{Scale: 3.7, X: -20, Y: 4}, 4},
		{"much larger", 9, 9, View{Scale: 40, X: -100, Y: -100}, 4},
		{"smaller", 128, 96, View{Scale: 0.77, X: 3, Y: 2}, 4},
		{"half", 128, 96, View{Scale: 0.5, X: 3, Y: 2}, 4},
		{"third of an odd picture", 127, 93, View{Scale: 0.34, X: 7, Y: 1}, 4},
		{"just above a quarter", 256, 192, View{Scale: 0.26, X: -4, Y: 2}, 4},
		{"halved twice, whole pixels", 256, 192, View{Scale: 0.125, X: 8.0625, Y: 4.0625}, 4},
		{"two pixels", 2, 2, View{Scale: 5, X: 20, Y: 20}, 4},
		{"two pixels, smaller", 2, 2, View{Scale: 0.4, X: 20, Y: 20}, 4},
		{"partly outside", 80, 60, View{Scale: 2, X: -90, Y: 30}, 4},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := noise(c.w, c.h, 1)
			var r Renderer
			r.Draw(image.NewRGBA(image.Rect(0, 0, 90, 70)), NewPicture(m), c.v, new(Table), back)
			if r.area.Empty() {
				t.Fatal("nothing was drawn")
			}
			for j := r.area.Min.Y; j < r.area.Max.Y; j++ {
				for i := r.area.Min.X; i < r.area.Max.X; i++ {
					got := float64(r.grey[(j-r.area.Min.Y)*r.area.Dx()+i-r.area.Min.X])
					if want := slow(m, c.v, i, j); math.Abs(got-want) > c.tolerate {
						t.Fatalf("device pixel (%d, %d): grey %g, by definition %g", i, j, got, want)
					}
				}
			}
		})
	}
}

func TestDrawPutsBackgroundWhereTheImageIsNot(t *testing.T) {
	m := noise(20, 10, 2)
	dst := image.NewRGBA(image.Rect(0, 0, 100, 50))
	table := Window{Low: 0, High: 65535}.Table()
	v := View{Scale: 2, X: 30, Y: 15}
	new(Renderer).Draw(dst, NewPicture(m), v, table, back)
	for j := range 50 {
		for i := range 100 {
			x, y := v.ToImage(float64(i), float64(j))
			inside := x >= -0.5 && x < 19.5 && y >= -0.5 && y < 9.5
			got := dst.RGBAAt(i, j)
			if grey := got.R == got.G && got.G == got.B && got.A == 255; inside != grey {
				t.Fatalf("device pixel (%d, %d) at image (%g, %g) is %v", i, j, x, y, got)
			}
		}
	}
}

func TestDrawUsesTheTableAtOneToOne(t *testing.T) {
	m := noise(50, 50, 3)
	dst := image.NewRGBA(image.Rect(0, 0, 50, 50))
	table := Window{Low: 20000, High: 40000, Invert: true}.Table()
	var r Renderer
	p := NewPicture(m)
	for range 2 { // the second frame comes from the kept greys
		r.Draw(dst, p, View{Scale: 1}, table, back)
		for i, v := range m.Pix {
			if got := dst.Pix[4*i]; got != table[v] {
				t.Fatalf("value %d is drawn as %d, the table says %d", v, got, table[v])
			}
		}
	}
	table = Window{Low: 0, High: 65535}.Table()
	r.Draw(dst, p, View{Scale: 1}, table, back)
	if dst.Pix[0] != table[m.Pix[0]] {
		t.Error("a new table doesn't reach the kept greys")
	}
}

func TestDrawOfNothing(t *testing.T) {
	dst := image.NewRGBA(image.Rect(0, 0, 10, 10))
	p := NewPicture(noise(4, 4, 1))
	for name, draw := range map[string]func(r *Renderer){
		"no picture":     func(r *Renderer) { r.Draw(dst, nil, View{Scale: 1}, new(Table), back) },
		"far away":       func(r *Renderer) { r.Draw(dst, p, View{Scale: 1, X: 500, Y: 500}, new(Table), back) },
		"not a number":   func(r *Renderer) { r.Draw(dst, p, View{Scale: math.NaN(), X: 0, Y: 0}, new(Table), back) },
		"scale of zero":  func(r *Renderer) { r.Draw(dst, p, View{}, new(Table), back) },
		"far to the top": func(r *Renderer) { r.Draw(dst, p, View{Scale: 1, X: 0, Y: -500}, new(Table), back) },
	} {
		clear(dst.Pix)
		draw(new(Renderer))
		if dst.RGBAAt(5, 5) != back {
			t.Errorf("%s: drawn as %v, want the background", name, dst.RGBAAt(5, 5))
		}
	}
}

// The benchmarks' ratio to golang.org/x/image/draw is in compare_test.go.
func BenchmarkDraw(b *testing.B) {
	m := noise(2000, 1500, 1)
	p := NewPicture(m)
	table := Window{Low: 0, High: 65535}.Table()
	for _, size := range []image.Point{{900, 680}, {2560, 1440}} {
		for _, c := range []struct {
			name  string
			scale float64
		}{{"fit", 0.45}, {"near", 0.9}, {"one", 1}, {"double", 2.3}} {
			dst := image.NewRGBA(image.Rectangle{Max: size})
			v := Centre(2000, 1500, float64(size.X), float64(size.Y), c.scale).Snapped()
			b.Run(fmt.Sprintf("%dx%d/%s/pan", size.X, size.Y, c.name), func(b *testing.B) {
				var r Renderer
				for i := range b.N {
					r.Draw(dst, p, v.Pan(float64(i%2), 0), table, back)
				}
			})
			b.Run(fmt.Sprintf("%dx%d/%s/window", size.X, size.Y, c.name), func(b *testing.B) {
				var r Renderer
				for b.Loop() {
					r.Draw(dst, p, v, table, back)
				}
			})
		}
	}
}

func BenchmarkNewPicture(b *testing.B) {
	m := noise(2000, 1500, 1)
	for b.Loop() {
		NewPicture(m)
	}
}
