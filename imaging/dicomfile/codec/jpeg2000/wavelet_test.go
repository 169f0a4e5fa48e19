package jpeg2000

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// reflect is the symmetric extension of T.800 F.4.7 for coordinates i0 to i1-1.
func reflect(i, i0, i1 int) int {
	for i < i0 || i >= i1 {
		if i < i0 {
			i = 2*i0 - i
		} else {
			i = 2*(i1-1) - i
		}
	}
	return i
}

// forward is the forward transform of one line (T.800 F.4.8) in the standard's
// own coordinates: a[i] is the sample at i0+i.
func forward(a []float64, i0 int, reversible bool) {
	i1 := i0 + len(a)
	if len(a) == 1 {
		if i0%2 != 0 {
			a[0] *= 2
		}
		return
	}
	at := func(i int) float64 { return a[reflect(i, i0, i1)-i0] }
	lift := func(parity int, f func(v, sum float64) float64) {
		for i := i0; i < i1; i++ {
			if i%2 == parity {
				a[i-i0] = f(a[i-i0], at(i-1)+at(i+1))
			}
		}
	}
	if reversible { // equations F-9 and F-10
		lift(1, func(v, sum float64) float64 { return v - math.Floor(sum/2) })
		lift(0, func(v, sum float64) float64 { return v + math.Floor((sum+2)/4) })
		return
	}
	for i, k := range []float64{alpha97, beta97, gamma97, delta97} { // equation F-11
		lift(1-i%2, func(v, sum float64) float64 { return v + k*sum })
	}
	lift(1, func(v, _ float64) float64 { return v * scale97 })
	lift(0, func(v, _ float64) float64 { return v / scale97 })
}

// analyse transforms a component's samples into the layout of a plane.
func analyse(c *component, samples []float64) {
	stride := c.width()
	for r := len(c.resolutions) - 1; r > 0; r-- {
		low, full := c.resolutions[r-1].rect, c.resolutions[r].rect
		line := func(at, step, n, split, i0 int) {
			a := make([]float64, n)
			for i := range a {
				a[i] = samples[at+i*step]
			}
			forward(a, i0, c.coding.reversible)
			l, h := 0, split
			for i, v := range a {
				if (i0+i)%2 == 0 {
					samples[at+l*step] = v
					l++
				} else {
					samples[at+h*step] = v
					h++
				}
			}
		}
		for x := range full.width() {
			line(x, stride, full.height(), low.height(), full.y0)
		}
		for y := range full.height() {
			line(y*stride, 1, full.width(), low.width(), full.x0)
		}
	}
}

func TestWaveletInverts(t *testing.T) {
	for name, reversible := range map[string]bool{"5/3": true, "9/7": false} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) { checkWavelet(t, reversible) })
		})
	}
}

func checkWavelet(t *rapid.T, reversible bool) {
	side := rapid.IntRange(1, 90)
	x0, y0 := rapid.IntRange(0, 9).Draw(t, "x0"), rapid.IntRange(0, 9).Draw(t, "y0")
	area := rect{x0, y0, x0 + side.Draw(t, "width"), y0 + side.Draw(t, "height")}
	levels := rapid.IntRange(0, 6).Draw(t, "levels")
	c := &component{rect: area, coding: &blockCoding{levels: levels, reversible: reversible}}
	for r := range levels + 1 {
		c.resolutions = append(c.resolutions, resolution{rect: area.shrink(1<<(levels-r), 1<<(levels-r))})
	}
	n := area.width() * area.height()
	want := make([]float64, n)
	seed := rapid.Uint32().Draw(t, "seed")
	for i := range want {
		seed = seed*1664525 + 1013904223
		want[i] = float64(int32(seed)>>20) + float64(i%area.width())
	}
	bands := append([]float64(nil), want...)
	analyse(c, bands)
	b := newBudget(0)
	var dst canvas
	if err := dst.reset(c, b); err != nil {
		t.Fatal(err)
	}
	for i, v := range bands {
		if reversible {
			dst.ints.data[i] = int32(v)
		} else {
			dst.floats.data[i] = float32(v)
		}
	}
	if err := c.invert(&dst, newCrew(), b); err != nil {
		t.Fatal(err)
	}
	for i, v := range want {
		if reversible && float64(dst.ints.data[i]) != v {
			t.Fatalf("sample %d is %d, want %v", i, dst.ints.data[i], v)
		}
		// Samples are below 2200; single precision has 24 bits.
		if !reversible && math.Abs(float64(dst.floats.data[i])-v) > 0.01 {
			t.Fatalf("sample %d is %v, want %v", i, dst.floats.data[i], v)
		}
	}
}
