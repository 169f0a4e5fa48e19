package tone

import (
	"math"
	"slices"
	"testing"

	"rootrule/imaging"
	"rootrule/imaging/internal/inputs"
)

// made is a 16-bit image whose value at (x, y) is f(x, y).
func made(w, h int, f func(x, y int) uint16) *imaging.Image {
	m := &imaging.Image{Width: w, Height: h, Bits: 16, Pix: make([]uint16, w*h)}
	for y := range h {
		for x := range w {
			m.Pix[y*w+x] = f(x, y)
		}
	}
	return m
}

func spreadOf(p plane, x0, y0, x1, y1 int) float64 {
	low, high := uint16(math.MaxUint16), uint16(0)
	for y := y0; y < y1; y++ {
		row := p.row(y)[x0:x1]
		low, high = min(low, slices.Min(row)), max(high, slices.Max(row))
	}
	return float64(high) - float64(low)
}

func TestEnhancementLeavesThePictureAlone(t *testing.T) {
	m := noise(321, 257, 3)
	before := slices.Clone(m.Pix)
	p := NewPicture(m)
	if p.Enhanced(Window{0, 65535, false}, Enhancement{}) != p {
		t.Error("no enhancement is another picture")
	}
	for _, e := range []Enhancement{{Local: true}, {Sharp: true}, {Local: true, Sharp: true}} {
		got := p.Enhanced(Window{1000, 60000, false}, e)
		if got == p || got.Width != 321 || got.Height != 257 || len(got.levels) != len(p.levels) {
			t.Errorf("%+v gives %d×%d with %d levels", e, got.Width, got.Height, len(got.levels))
		}
	}
	if !slices.Equal(before, m.Pix) {
		t.Error("the stored values have changed")
	}
}

// TestLocalContrast: a faint ripple in the dark and one in the bright half get
// at least 1.5 times steeper, and all stays inside the window.
func TestLocalContrast(t *testing.T) {
	const w, h = 800, 600
	m := made(w, h, func(x, y int) uint16 {
		base := 20000.0
		if x >= w/2 {
			base = 40000
		}
		return uint16(base + 600*math.Sin(float64(y)/5) + float64((x*7919+y*104729)%64))
	})
	window := Window{10000, 50000, false}
	p := NewPicture(m).Enhanced(window, Enhancement{Local: true}).levels[0]
	for _, x := range []int{60, 700} {
		before, after := spreadOf(plane{w, h, m.Pix}, x, 250, x+1, 350), spreadOf(p, x, 250, x+1, 350)
		if after < 1.5*before {
			t.Errorf("at column %d the ripple of %.0f has become %.0f", x, before, after)
		}
	}
	if low, high := slices.Min(p.pix), slices.Max(p.pix); float64(low) < window.Low || float64(high) > window.High {
		t.Errorf("values from %d to %d leave the window", low, high)
	}
}

// TestLocalContrastKeepsOrder: in one part, brighter stays brighter: the
// tables rise. A picture of one grey stays of one grey.
func TestLocalContrastKeepsOrder(t *testing.T) {
	m := noise(160, 160, 9)
	p := plane{160, 160, m.Pix}
	var table partMap
	p.partMap(&table, 3, 4, binning(Window{0, 65535, false}), Window{0, 65535, false})
	if !slices.IsSorted(table[:]) {
		t.Error("a table falls")
	}
	flat := NewPicture(made(100, 70, func(int, int) uint16 { return 777 })).Enhanced(Window{777, 777, false}, Enhancement{true, true})
	if spreadOf(flat.levels[0], 0, 0, 100, 70) != 0 {
		t.Error("one grey has become several")
	}
	for _, size := range [][2]int{{1, 1}, {3, 2}, {7, 200}} { // fewer pixels than parts
		NewPicture(noise(size[0], size[1], 1)).Enhanced(Window{0, 65535, false}, Enhancement{true, true})
	}
}

// TestSharpening: a step gets an overshoot on both sides, of known size: the
// binomial weights 1 4 6 4 1 leave 5/16 of a step of 1600 on the far side of
// the pixel beside it, so 1.5 times 500 are added.
func TestSharpening(t *testing.T) {
	m := made(40, 20, func(x, y int) uint16 {
		if x < 20 {
			return 10000
		}
		return 11600
	})
	row := NewPicture(m).Enhanced(Window{0, 65535, false}, Enhancement{Sharp: true}).levels[0].row(10)
	for _, c := range []struct{ x, want int }{{10, 10000}, {19, 9250}, {20, 12350}, {30, 11600}} {
		if got := int(row[c.x]); got < c.want-1 || got > c.want+1 {
			t.Errorf("column %d is %d, want %d", c.x, got, c.want)
		}
	}
	edge := NewPicture(made(30, 30, func(x, y int) uint16 { return uint16(65535 * ((x / 5) % 2)) })).Enhanced(Window{}, Enhancement{Sharp: true})
	for _, v := range edge.levels[0].pix {
		if v != 0 && v != 65535 {
			t.Fatalf("black and white have become %d", v)
		}
	}
}

// TestPurposes: four tissues of known greys. The window of each purpose holds
// its tissue well inside, and leaves out what is not looked at.
func TestPurposes(t *testing.T) {
	greys := [4]float64{4000, 18000, 34000, 58000} // air, bone, dentine, enamel
	r := noise(400, 400, 5)
	m := made(400, 400, func(x, y int) uint16 { return uint16(greys[x/100]) + r.Pix[y*400+x]%1500 })
	bright := func(w Window, v float64) float64 {
		g := clamp((v+750-w.Low)/(w.High-w.Low), 0, 1)
		if w.Invert {
			return 1 - g
		}
		return g
	}
	negative := made(400, 400, func(x, y int) uint16 { return 65535 - m.Pix[y*400+x] })
	negative.WhiteIsZero = true
	for name, c := range map[string]struct {
		m  *imaging.Image
		of func(float64) float64
	}{"as usual": {m, func(v float64) float64 { return v }}, "white is zero": {negative, func(v float64) float64 { return 65535 - v - 1500 }}} {
		windows := For(c.m)
		if len(windows) != len(Purposes) || windows[AsOpened] != Start(c.m) {
			t.Fatalf("%s: %d windows", name, len(windows))
		}
		for _, p := range []struct {
			purpose Purpose
			tissue  int
		}{{Bone, 1}, {Canal, 2}} {
			w := windows[p.purpose]
			if g := bright(w, c.of(greys[p.tissue])); g < 0.3 || g > 0.7 {
				t.Errorf("%s: for purpose %d its tissue is at %.2f of the greys", name, p.purpose, g)
			}
			if bright(w, c.of(greys[p.tissue-1])) > 0.05 || bright(w, c.of(greys[p.tissue+1])) < 0.95 {
				t.Errorf("%s: window %+v of purpose %d doesn't span its neighbours", name, w, p.purpose)
			}
		}
		if w := windows[EnamelAndMetal]; bright(w, c.of(greys[3])) < 0.9 || bright(w, c.of(greys[1])) > 0 {
			t.Errorf("%s: for enamel the window is %+v", name, w)
		}
	}
}

func TestPurposesOfAFlatPicture(t *testing.T) {
	for _, w := range For(made(20, 20, func(int, int) uint16 { return 500 })) {
		if w.High-w.Low < minWidth {
			t.Errorf("window %+v can't be shown", w)
		}
	}
}

// TestProfile: of a plane of greys the profile is exact, whatever is shown.
func TestProfile(t *testing.T) {
	m := made(200, 100, func(x, y int) uint16 { return uint16(1000 + 30*x + 7*y) })
	values, step := Profile(m, 10.25, 20.5, 150.25, 80.5)
	if want := math.Hypot(140, 60); math.Abs(step*float64(len(values)-1)-want) > 1e-9 || step > 1 {
		t.Errorf("%d values %g px apart make %g px, want %g", len(values), step, step*float64(len(values)-1), want)
	}
	for i, v := range values {
		share := float64(i) / float64(len(values)-1)
		if want := 1000 + 30*(10.25+140*share) + 7*(20.5+60*share); math.Abs(v-want) > 1e-6 {
			t.Fatalf("value %d is %g, want %g", i, v, want)
		}
	}
	if v, _ := Profile(m, -5, 10, 5, 10); !math.IsNaN(v[0]) || math.IsNaN(v[len(v)-1]) {
		t.Errorf("from outside the values are %v", v)
	}
	if v, step := Profile(m, 3, 4, 3, 4); len(v) != 1 || step != 0 || v[0] != 1118 {
		t.Errorf("one point gives %v, %g", v, step)
	}
	if v, _ := Profile(m, 0, 0, math.Inf(1), 0); v != nil {
		t.Error("an endless line has a profile")
	}
	m.Signed = true
	if v, _ := Profile(m, 0, 0, 1, 0); v[0] != 1000-32768 {
		t.Errorf("a signed value is %g", v[0])
	}
}

// benchmarkEnhanced is one change of enhancement for a 2000×1500 image.
func benchmarkEnhanced(b *testing.B, e Enhancement) {
	m := noise(2000, 1500, 1)
	inputs.Leave(b, "grey2d", m.Pix, m.Height, m.Width)
	p := NewPicture(m)
	for b.Loop() {
		p.Enhanced(Window{0, 65535, false}, e)
	}
}

func BenchmarkLocalContrast2000x1500(b *testing.B) { benchmarkEnhanced(b, Enhancement{Local: true}) }
func BenchmarkSharpen2000x1500(b *testing.B)       { benchmarkEnhanced(b, Enhancement{Sharp: true}) }

// BenchmarkPurposes finds the windows of an opened image.
func BenchmarkPurposes(b *testing.B) {
	m := noise(2000, 1500, 1)
	for b.Loop() {
		For(m)
	}
}
