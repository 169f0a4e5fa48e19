package tone

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"rootrule/imaging"
)

func TestTableEnds(t *testing.T) {
	for _, c := range []struct {
		name   string
		w      Window
		at     int
		expect uint8
	}{
		{"low is black", Window{Low: 1000, High: 3000}, 1000, 0},
		{"below low is black", Window{Low: 1000, High: 3000}, 0, 0},
		{"high is white", Window{Low: 1000, High: 3000}, 3000, 255},
		{"above high is white", Window{Low: 1000, High: 3000}, 65535, 255},
		{"middle is half", Window{Low: 1000, High: 3000}, 2000, 128},
		{"inverted low is white", Window{Low: 1000, High: 3000, Invert: true}, 1000, 255},
		{"inverted high is black", Window{Low: 1000, High: 3000, Invert: true}, 3000, 0},
		{"full range quarter", Window{Low: 0, High: 65535}, 16384, 64},
		{"empty window is a step: below", Window{Low: 500, High: 500}, 500, 0},
		{"empty window is a step: above", Window{Low: 500, High: 500}, 501, 255},
	} {
		if got := c.w.Table()[c.at]; got != c.expect {
			t.Errorf("%s: value %d is shown as %d, want %d", c.name, c.at, got, c.expect)
		}
	}
}

func TestTableIsMonotoneAndInvertTurnsItRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Window{Low: rapid.Float64Range(-70000, 70000).Draw(t, "low")}
		w.High = w.Low + rapid.Float64Range(0, 130000).Draw(t, "width")
		plain := w.Table()
		w.Invert = true
		turned := w.Table()
		for v := range plain {
			if v > 0 && plain[v] < plain[v-1] {
				t.Fatalf("value %d is darker (%d) than %d (%d)", v, plain[v], v-1, plain[v-1])
			}
			if plain[v]+turned[v] != 255 {
				t.Fatalf("value %d: %d plain and %d inverted don't make 255", v, plain[v], turned[v])
			}
		}
	})
}

func TestStart(t *testing.T) {
	ramp := make([]uint16, 10000)
	for i := range ramp {
		ramp[i] = uint16(i)
	}
	for _, c := range []struct {
		name string
		m    imaging.Image
		want Window
	}{
		{"what the file asks for", imaging.Image{Pix: ramp, Bits: 12, Low: 100, High: 900}, Window{Low: 100, High: 900}},
		{"8 bit: whole range", imaging.Image{Pix: []uint16{7, 9}, Bits: 8}, Window{Low: 0, High: 255}},
		{"16 bit: all but 0.1 % at each end", imaging.Image{Pix: ramp, Bits: 16}, Window{Low: 10, High: 9989}},
		{"white is zero starts inverted", imaging.Image{Pix: ramp, Bits: 12, Low: 1, High: 2, WhiteIsZero: true},
			Window{Low: 1, High: 2, Invert: true}},
		{"one grey", imaging.Image{Pix: []uint16{5, 5, 5}, Bits: 16}, Window{Low: 5, High: 6}},
		{"no pixels", imaging.Image{Bits: 16}, Window{Low: 0, High: 65535}},
	} {
		if got := Start(&c.m); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

func TestAdjust(t *testing.T) {
	w := Window{Low: 1000, High: 3000}
	if got := w.Adjust(1, 0); got != (Window{Low: 1500, High: 2500}) {
		t.Errorf("one unit of contrast halves the width about the middle: %+v", got)
	}
	for _, invert := range []bool{false, true} {
		w.Invert = invert
		before, after := w.Table()[2000], w.Adjust(0, 0.25).Table()[2000]
		if after <= before {
			t.Errorf("invert %v: brighter shows %d, before %d", invert, after, before)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		w := Window{Low: 0, High: 4095, Invert: rapid.Bool().Draw(t, "invert")}
		for range 20 {
			w = w.Adjust(rapid.Float64Range(-9, 9).Draw(t, "c"), rapid.Float64Range(-9, 9).Draw(t, "b"))
		}
		if mid := (w.Low + w.High) / 2; mid < -1e-6 || mid > Levels || w.High-w.Low < minWidth-1e-9 || math.IsNaN(mid) {
			t.Fatalf("window has run away: %+v", w)
		}
	})
}
