package align

import (
	"math"

	"rootrule/imaging"
	"rootrule/measure"
)

var nan32 = float32(math.NaN())

// picture is a grey picture at one resolution: pixel (i, j) has its centre at
// (i·step, j·step) of the original. NaN pixels are not to be looked at: they
// are saturated, or excluded.
type picture struct {
	w, h int
	step float64
	v    []float32
}

// pyramid holds a picture at steps of 2, 4, 8 … px. Bright is dense, whatever
// the file's polarity. A picture at full resolution is not kept: the point
// spread of a dental sensor leaves next to nothing above half the sampling
// rate, and noise is all that would be added.
type pyramid []*picture

// Sizes of the resolutions.
const (
	coarseSide = 56 // px, least shorter side of the coarsest picture; chosen by trials
	mostLevels = 5  // steps of up to 32 px
)

// newPyramid makes the resolutions of an image, mirrored left to right where
// flip says so, with the inside of the outlines left out.
func newPyramid(m *imaging.Image, flip bool, exclude [][]measure.Point) pyramid {
	first := halve(rowReader(m, flip), m.Width, m.Height, 2)
	first.cutOff(m)
	for _, outline := range exclude {
		first.leaveOut(outline)
	}
	p := pyramid{first}
	for len(p) < mostLevels {
		last := p[len(p)-1]
		if min(last.w, last.h) < 2*coarseSide {
			break
		}
		p = append(p, halve(func(y int, row []float32) { copy(row, last.v[y*last.w:(y+1)*last.w]) }, last.w, last.h, 2*last.step))
	}
	return p
}

// rowReader reads rows of an image as dense-is-high numbers.
func rowReader(m *imaging.Image, flip bool) func(y int, row []float32) {
	return func(y int, row []float32) {
		pix := m.Pix[y*m.Width : (y+1)*m.Width]
		if flip {
			for x, v := range pix {
				row[len(pix)-1-x] = float32(v)
			}
		} else {
			for x, v := range pix {
				row[x] = float32(v)
			}
		}
		if m.WhiteIsZero {
			for x, v := range row {
				row[x] = 65535 - v
			}
		}
	}
}

// halve makes a picture of half the resolution with the binomial filter
// 1 4 6 4 1 (Burt & Adelson 1983, IEEE Trans. Comm. 31:532–540) in both
// directions; the border is continued outwards.
func halve(read func(y int, row []float32), w, h int, step float64) *picture {
	out := &picture{w: (w + 1) / 2, h: (h + 1) / 2, step: step}
	out.v = make([]float32, out.w*out.h)
	var rows [5][]float32 // rows 2y−2 … 2y+2, filtered along x
	for i := range rows {
		rows[i] = make([]float32, out.w)
	}
	source := make([]float32, w+4)
	load := func(y int, to []float32) {
		read(min(max(y, 0), h-1), source[2:w+2])
		source[0], source[1], source[w+2], source[w+3] = source[2], source[2], source[w+1], source[w+1]
		binomial(to, source)
	}
	for i := range 3 {
		load(i-2, rows[i+2])
	}
	for y := range out.h {
		if y > 0 {
			rows = [5][]float32{rows[2], rows[3], rows[4], rows[0], rows[1]}
			load(2*y+1, rows[3])
			load(2*y+2, rows[4])
		} else {
			copy(rows[0], rows[2])
			copy(rows[1], rows[2])
			load(1, rows[3])
			load(2, rows[4])
		}
		across(out.v[y*out.w:(y+1)*out.w], &rows)
	}
	return out
}

// binomial filters along a row and keeps every other pixel.
func binomial(to, from []float32) {
	for x := range to {
		s := from[2*x : 2*x+5 : 2*x+5]
		to[x] = s[0] + s[4] + 4*(s[1]+s[3]) + 6*s[2]
	}
}

func across(to []float32, rows *[5][]float32) {
	n := len(to)
	a, b, c, d, e := rows[0][:n], rows[1][:n], rows[2][:n], rows[3][:n], rows[4][:n]
	for x := range to {
		to[x] = (a[x] + e[x] + 4*(b[x]+d[x]) + 6*c[x]) * (1.0 / 256)
	}
}

// saturatedPart is the part of the pixels that hold exactly the lowest or the
// highest value from which on that value counts as cut off. Chosen, no source.
const saturatedPart = 0.002

// limits are the grey values, dense is high, from which on a picture is
// saturated; infinite where it is not.
func limits(m *imaging.Image) (low, high float32) {
	count := make([]int32, 65536)
	for _, v := range m.Pix {
		count[v]++
	}
	a, b := 0, 65535
	for count[a] == 0 {
		a++
	}
	for count[b] == 0 {
		b--
	}
	least := int32(saturatedPart * float64(len(m.Pix)))
	low, high = float32(math.Inf(-1)), float32(math.Inf(1))
	if a == b {
		return low, high
	}
	margin := float32(b-a) / 1000 // of the range: what filtering leaves of a saturated pixel
	if count[a] > least {
		low = float32(a) + margin
	}
	if count[b] > least {
		high = float32(b) - margin
	}
	if m.WhiteIsZero {
		low, high = 65535-high, 65535-low
	}
	return low, high
}

// cutOff marks what is saturated.
func (p *picture) cutOff(m *imaging.Image) {
	low, high := limits(m)
	for i, v := range p.v {
		if v <= low || v >= high {
			p.v[i] = nan32
		}
	}
}

// leaveOut marks the inside of an outline, given in px of the original.
func (p *picture) leaveOut(outline []measure.Point) {
	for j := range p.h {
		y := float64(j) * p.step
		for _, s := range crossings(outline, y) {
			for i := max(0, int(math.Ceil(s[0]/p.step))); i <= min(p.w-1, int(math.Floor(s[1]/p.step))); i++ {
				p.v[j*p.w+i] = nan32
			}
		}
	}
}

// crossings are the spans of the row y inside a closed polygon.
func crossings(outline []measure.Point, y float64) (spans [][2]float64) {
	var xs []float64
	for i, p := range outline {
		q := outline[(i+1)%len(outline)]
		if (p.Y > y) != (q.Y > y) {
			xs = append(xs, p.X+(y-p.Y)/(q.Y-p.Y)*(q.X-p.X))
		}
	}
	sortFloats(xs)
	for i := 0; i+1 < len(xs); i += 2 {
		spans = append(spans, [2]float64{xs[i], xs[i+1]})
	}
	return spans
}
