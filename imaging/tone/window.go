package tone

import (
	"math"

	"rootrule/imaging"
)

// Levels is the number of grey values a stored pixel can have.
const Levels = 65536

// Table gives the shown grey (0–255) of each stored value.
type Table [Levels]uint8

// Window says which stored values are shown as black (Low and below) and as
// white (High and above); between them the shown grey is linear in the stored
// value. Invert turns the shown greys round.
type Window struct {
	Low, High float64
	Invert    bool
}

// minWidth is the narrowest window, in grey values: one step from black to
// white.
const minWidth = 1

// Start returns the window that a picture opens with: the one its file asks
// for; else the whole range of an 8-bit file; else the range that holds all
// but the darkest and brightest 0.1 % of the pixels (common practice, no
// source). A white-is-zero picture starts inverted, so that enamel is bright.
func Start(m *imaging.Image) Window {
	w := Window{Low: m.Low, High: m.High, Invert: m.WhiteIsZero}
	switch {
	case m.High > m.Low:
	case m.Bits <= 8 && !m.Signed:
		w.Low, w.High = 0, math.Exp2(float64(m.Bits))-1
	default:
		w.Low, w.High = inner(m.Pix, 0.001)
	}
	if w.High-w.Low < minWidth {
		w.High = w.Low + minWidth
	}
	return w
}

// inner returns the values between which all but the given share of pixels at
// each end lie.
func inner(pix []uint16, share float64) (low, high float64) {
	if len(pix) == 0 {
		return 0, Levels - 1
	}
	var count [Levels]int
	for _, v := range pix {
		count[v]++
	}
	left := int(share * float64(len(pix)))
	lo, hi := 0, Levels-1
	for n := count[lo]; n <= left; n += count[lo] {
		lo++
	}
	for n := count[hi]; n <= left; n += count[hi] {
		hi--
	}
	return float64(lo), float64(hi)
}

// Table computes the shown grey of every stored value.
func (w Window) Table() *Table {
	t := new(Table)
	width := math.Max(w.High-w.Low, minWidth)
	for v := range t {
		g := uint8(255*clamp((float64(v)-w.Low)/width, 0, 1) + 0.5)
		if w.Invert {
			g = 255 - g
		}
		t[v] = g
	}
	return t
}

// Adjust returns the window after a turn of contrast and brightness. Each unit
// of contrast halves the width, each unit of brightness makes the picture
// brighter by one width; the middle of the window stays inside the range of
// grey values.
func (w Window) Adjust(contrast, brightness float64) Window {
	mid, width := (w.Low+w.High)/2, w.High-w.Low
	if w.Invert {
		brightness = -brightness
	}
	mid = clamp(mid-brightness*width, 0, Levels-1)
	width = clamp(width*math.Exp2(-contrast), minWidth, 2*Levels)
	w.Low, w.High = mid-width/2, mid+width/2
	return w
}

func clamp(v, low, high float64) float64 { return math.Min(math.Max(v, low), high) }
