package ink

import (
	"image"
	"image/color"
	"math"
	"testing"

	"golang.org/x/image/font/gofont/goregular"
	"pgregory.net/rapid"
)

var white = color.NRGBA{255, 255, 255, 255}

// blank returns an opaque black frame and a sheet on it.
func blank(w, h int) (*Sheet, *image.RGBA) {
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := 3; i < len(dst.Pix); i += 4 {
		dst.Pix[i] = 255
	}
	s := new(Sheet)
	s.On(dst)
	return s, dst
}

// mass returns the sum and the centroid of the brightness.
func mass(dst *image.RGBA) (sum, x, y float64) {
	for j := range dst.Rect.Dy() {
		for i := range dst.Rect.Dx() {
			v := float64(dst.RGBAAt(i, j).R) / 255
			sum, x, y = sum+v, x+v*float64(i), y+v*float64(j)
		}
	}
	return sum, x / sum, y / sum
}

// TestDotLiesAtItsSubPixelPosition: the centroid of a disc is its centre, to
// what square pixels can show of a narrow one, and its mass its area.
func TestDotLiesAtItsSubPixelPosition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, dst := blank(40, 40)
		c := Point{rapid.Float64Range(12, 28).Draw(t, "x"), rapid.Float64Range(12, 28).Draw(t, "y")}
		width := rapid.Float64Range(3, 14).Draw(t, "width")
		s.Line(Pen{Width: width, Colour: white}, c)
		sum, x, y := mass(dst)
		if math.Hypot(x-c.X, y-c.Y) > 0.1 {
			t.Fatalf("a dot at (%g, %g) has its centroid at (%g, %g)", c.X, c.Y, x, y)
		}
		if area := math.Pi * width * width / 4; math.Abs(sum-area) > 0.05*area+0.3 {
			t.Fatalf("a dot of width %g covers %g px², want %g", width, sum, area)
		}
	})
}

// TestLineHasItsWidth: a horizontal line covers width px in each column, about
// its own height, whole or between pixels.
func TestLineHasItsWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, dst := blank(200, 30)
		y := rapid.Float64Range(10, 20).Draw(t, "y")
		width := rapid.Float64Range(1, 8).Draw(t, "width")
		s.Line(Pen{Width: width, Colour: white}, Point{-50, y}, Point{250, y})
		for _, x := range []int{0, 15, 16, 17, 100, 199} {
			sum, at := 0.0, 0.0
			for j := range 30 {
				v := float64(dst.RGBAAt(x, j).R) / 255
				sum, at = sum+v, at+v*float64(j)
			}
			if math.Abs(sum-width) > 0.02*width+0.02 || math.Abs(at/sum-y) > 0.1 {
				t.Fatalf("column %d: %g px about %g, want %g about %g", x, sum, at/sum, width, y)
			}
		}
	})
}

// TestOverlapsAreNotDarker: a line that runs over itself is painted once.
func TestOverlapsAreNotDarker(t *testing.T) {
	half := color.NRGBA{255, 255, 255, 128}
	s, dst := blank(60, 20)
	s.Line(Pen{Width: 6, Colour: half}, Point{10, 10}, Point{50, 10}, Point{10, 10}, Point{50, 10})
	if got := dst.RGBAAt(30, 10).R; got != 128 {
		t.Errorf("a half transparent line that runs over itself is %d, want 128", got)
	}
}

func TestCasingSurroundsTheLine(t *testing.T) {
	s, dst := blank(60, 40)
	for i := range dst.Pix {
		dst.Pix[i] = 255
	}
	s.Line(Pen{Width: 4, Casing: 3, Colour: white, Dark: color.NRGBA{0, 0, 0, 255}}, Point{5, 20}, Point{55, 20})
	for y, want := range map[int]uint8{20: 255, 23: 0, 24: 0, 26: 255, 16: 0} {
		if got := dst.RGBAAt(30, y).R; got != want {
			t.Errorf("%d px beside a white line of 4 px with casing of 3: %d, want %d", y-20, got, want)
		}
	}
}

func TestDashesAndDots(t *testing.T) {
	s, dst := blank(120, 20)
	s.Dashes(Pen{Width: 2, Colour: white}, 10, 8, Point{0, 10}, Point{37, 10}, Point{120, 10})
	for x, on := range map[int]bool{5: true, 14: false, 23: true, 32: false, 41: true, 50: false} {
		if got := dst.RGBAAt(x, 10).R > 128; got != on {
			t.Errorf("at %d px along dashes of 10 and gaps of 8: %v", x, got)
		}
	}
	s, dst = blank(120, 20)
	s.Dots(Pen{Width: 3, Colour: white}, 10, Point{10, 10}, Point{34, 10}, Point{110, 10})
	for x, on := range map[int]bool{10: true, 15: false, 20: true, 40: true, 45: false, 100: true} {
		if got := dst.RGBAAt(x, 10).R > 128; got != on {
			t.Errorf("at %d px along dots 10 apart: %v", x, got)
		}
	}
}

// TestNothingOutsideTheFrame: lines may lie anywhere, far away too.
func TestNothingOutsideTheFrame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, dst := blank(30, 30)
		far := rapid.Float64Range(-1e7, 1e7)
		a, b := Point{far.Draw(t, "ax"), far.Draw(t, "ay")}, Point{far.Draw(t, "bx"), far.Draw(t, "by")}
		pen := Pen{Width: 3, Casing: 1, Colour: white}
		s.Line(pen, a, b, Point{15, 15})
		s.Ring(pen, Point{15, 15}, 5)
		s.Plate(image.Rect(-5, -5, 3, 3), white)
		if dst.RGBAAt(20, 15).R < 200 {
			t.Fatal("the ring is missing")
		}
		for i := range s.cover {
			if s.cover[i] != 0 {
				t.Fatal("a stroke left its coverage behind")
			}
		}
	})
}

func TestWordsAreDrawnWhereAsked(t *testing.T) {
	w, err := NewWords(goregular.TTF, 16)
	if err != nil {
		t.Fatal(err)
	}
	width, height := w.Size("46 MB  20.3 ± 0.6 mm²")
	s, dst := blank(300, 60)
	s.Write(w, Point{40, 20}, "46 MB  20.3 ± 0.6 mm²", white)
	sum, x, y := mass(dst)
	if sum < 100 || x < 40 || x > 40+float64(width) || y < 20 || y > 20+float64(height) {
		t.Errorf("the text has %g px about (%g, %g), its box is %d×%d at (40, 20)", sum, x, y, width, height)
	}
	s.Write(w, Point{-40, -5}, "cut off", white)
	s.Write(w, Point{290, 55}, "cut off", white)
	if _, err := NewWords([]byte("no font"), 16); err == nil {
		t.Error("what is no font is taken for one")
	}
}

func BenchmarkLine(b *testing.B) {
	s, _ := blank(900, 680)
	var curve []Point
	for i := range 120 {
		curve = append(curve, Point{300 + 80*math.Sin(float64(i)/40), 50 + 5*float64(i)})
	}
	pen := Pen{Width: 2, Casing: 1.3, Colour: white}
	for b.Loop() {
		s.Line(pen, curve...)
	}
}
