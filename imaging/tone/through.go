package tone

import (
	"image"
	"image/color"
	"math"
	"runtime"
	"sync"
)

// Map takes a point of a frame, in its pixels, to a point of a picture: the
// homogeneous 3×3 matrix of a projective map.
type Map [3][3]float64

// Same is the map of a picture that is its own frame.
var Same = Map{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}

// Through draws pictures through a projective map, so that two radiographs of
// one tooth lie on each other: the view shows the frame, the map says which
// point of the picture lies at each of its points. It keeps the greys of the
// last view, as [Renderer] does. Its zero value is ready; it is for one
// goroutine.
//
// Greys are interpolated linearly between pixel centres, where the picture is
// shown smaller than 1:1 those of the half whose pixels are nearest in size to
// the device's (Williams 1983, Computer Graphics 17(3):1–11). A Renderer
// averages exactly there; two pictures that are to look alike both belong
// through here.
type Through struct {
	picture  *Picture
	view     View
	by       Map
	area     image.Rectangle
	from, to []int // by row of area: the columns, from its left, that the picture covers
	grey     []uint16
}

// Draw fills the part area of dst with what the view shows of the picture's
// frame, greys through the table, and with back where the picture is not.
func (r *Through) Draw(dst *image.RGBA, area image.Rectangle, p *Picture, v View, by Map, t *Table, back color.RGBA) {
	area = area.Intersect(dst.Rect)
	if area.Empty() {
		return
	}
	if p == nil || !v.Valid() {
		r.picture = nil
		fillArea(dst, area, pack(back))
		return
	}
	r.show(area, p, v, by)
	r.paint(dst, t, pack(back))
}

// show computes the greys of what is shown, unless they are at hand.
func (r *Through) show(area image.Rectangle, p *Picture, v View, by Map) {
	if r.picture != p || r.view != v || r.by != by || r.area != area {
		r.picture, r.view, r.by, r.area = p, v, by, area
		r.resample()
	}
}

func fillArea(dst *image.RGBA, area image.Rectangle, c uint32) {
	for y := area.Min.Y; y < area.Max.Y; y++ {
		i := dst.PixOffset(area.Min.X, y)
		fill(dst.Pix[i:i+4*area.Dx()], c)
	}
}

// resample computes the greys of the area.
func (r *Through) resample() {
	h := r.area.Dy()
	r.from, r.to = grow(r.from, h), grow(r.to, h)
	r.grey = grow(r.grey, r.area.Dx()*h)
	m := r.fromDevice()
	l := r.nearest(m)
	bands := max(1, min(runtime.GOMAXPROCS(0), h/minBand))
	var wait sync.WaitGroup
	for b := range bands {
		wait.Go(func() {
			for y := b * h / bands; y < (b+1)*h/bands; y++ {
				r.row(y, m, l)
			}
		})
	}
	wait.Wait()
}

// fromDevice is the map from the area's device pixels to picture pixels.
func (r *Through) fromDevice() Map {
	left, top := float64(r.area.Min.X), float64(r.area.Min.Y)
	x, y := r.view.ToImage(left, top)
	rightX, rightY := r.view.ToImage(left+1, top)
	downX, downY := r.view.ToImage(left, top+1)
	return r.by.after(Map{{rightX - x, downX - x, x}, {rightY - y, downY - y, y}, {0, 0, 1}})
}

// after is the map that does b first.
func (m Map) after(b Map) (c Map) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				c[i][j] += m[i][k] * b[k][j]
			}
		}
	}
	return c
}

// At returns where the map takes (x, y); NaN on its horizon.
func (m Map) At(x, y float64) (px, py float64) {
	w := m[2][0]*x + m[2][1]*y + m[2][2]
	if w == 0 {
		return math.NaN(), math.NaN()
	}
	return (m[0][0]*x + m[0][1]*y + m[0][2]) / w, (m[1][0]*x + m[1][1]*y + m[1][2]) / w
}

// stretch returns how many picture pixels a step of one takes at (x, y): the
// root of the Jacobian's determinant.
func (m Map) stretch(x, y float64) float64 {
	x0, y0 := m.At(x-0.5, y)
	x1, y1 := m.At(x+0.5, y)
	x2, y2 := m.At(x, y-0.5)
	x3, y3 := m.At(x, y+0.5)
	return math.Sqrt(math.Abs((x1-x0)*(y3-y2) - (x3-x2)*(y1-y0)))
}

// level is one halved picture to read from: a full-size position x is
// (x + 0.5)·shrink − 0.5 on it.
type level struct {
	plane
	shrink float64
}

func (r *Through) level(n int) level {
	n = min(n, len(r.picture.levels)-1)
	return level{r.picture.levels[n], 1 / float64(int(1)<<n)}
}

// nearest picks the level whose pixels are nearest in size to the device's in
// the middle of the area.
func (r *Through) nearest(m Map) level {
	step := m.stretch(float64(r.area.Dx())/2, float64(r.area.Dy())/2)
	if !(step > 1) || math.IsInf(step, 0) {
		return r.level(0)
	}
	return r.level(int(math.Round(math.Log2(step))))
}

// chunk is the number of device pixels between two exact positions on a row;
// between them positions are interpolated. For the slight perspective of two
// exposures the error is below a hundredth of a pixel.
const chunk = 16

// row computes one row of greys.
func (r *Through) row(y int, m Map, l level) {
	w := r.area.Dx()
	from, to := m.covered(float64(y), w, r.picture.Width, r.picture.Height)
	r.from[y], r.to[y] = from, to
	out := r.grey[y*w : (y+1)*w]
	for x := from; x < to; x += chunk {
		n := min(chunk, to-x)
		x0, y0 := m.At(float64(x), float64(y))
		x1, y1 := m.At(float64(x+n-1), float64(y))
		l.mix(out[x:x+n], x0, y0, x1, y1)
	}
}

// covered returns the columns of row y, of n in all, whose centres the map
// takes onto a w×h picture: each edge of the picture bounds them by a linear
// inequality, because the denominator is positive where the map is in front of
// the detector.
func (m Map) covered(y float64, n, w, h int) (from, to int) {
	lo, hi := 0.0, float64(n-1)
	cut := func(a, b float64) { // a·x + b ≥ 0
		switch {
		case a > 0:
			lo = math.Max(lo, -b/a)
		case a < 0:
			hi = math.Min(hi, -b/a)
		case b < 0:
			hi = -1
		}
	}
	d, e := m[2][0], m[2][1]*y+m[2][2]
	cut(d, e-1e-9)
	for axis, size := range [2]float64{float64(w), float64(h)} {
		a, b := m[axis][0], m[axis][1]*y+m[axis][2]
		cut(a+0.5*d, b+0.5*e)
		cut((size-0.5)*d-a, (size-0.5)*e-b)
	}
	if !(lo <= hi) {
		return 0, 0
	}
	return int(math.Ceil(lo - 1e-9)), int(math.Floor(hi+1e-9)) + 1
}

// Positions on a level are fixed-point numbers with this many bits behind the
// point; weights keep the upper eight.
const bits = 16

// mix sets out to the greys along a straight line between two positions in
// full-size pixels.
func (l level) mix(out []uint16, x0, y0, x1, y1 float64) {
	fixed := func(v float64) int { return int(((v+0.5)*l.shrink - 0.5) * (1 << bits)) }
	x, y := fixed(x0), fixed(y0)
	dx, dy := 0, 0
	if n := len(out) - 1; n > 0 {
		dx, dy = (fixed(x1)-x)/n, (fixed(y1)-y)/n
	}
	if n := len(out) - 1; !l.inside(x, y) || !l.inside(x+n*dx, y+n*dy) {
		l.mixAtBorder(out, x, y, dx, dy)
		return
	}
	stride, pix := l.w, l.pix
	for i := range out {
		at := (y>>bits)*stride + x>>bits
		upper, lower := pix[at:at+2:at+2], pix[at+stride:at+stride+2]
		fx, fy := uint32(x>>(bits-8))&255, uint32(y>>(bits-8))&255
		out[i] = between(uint32(upper[0]), uint32(upper[1]), uint32(lower[0]), uint32(lower[1]), fx, fy)
		x, y = x+dx, y+dy
	}
}

// inside reports whether the four pixels around a position all exist.
func (l level) inside(x, y int) bool {
	return x >= 0 && y >= 0 && x < (l.w-1)<<bits && y < (l.h-1)<<bits
}

// mixAtBorder is mix where pixels are missing: beyond the outer centres the
// border goes on.
func (l level) mixAtBorder(out []uint16, x, y, dx, dy int) {
	for i := range out {
		px, py := min(max(x, 0), (l.w-1)<<bits), min(max(y, 0), (l.h-1)<<bits)
		at := (py>>bits)*l.w + px>>bits
		right, below := min(1, l.w-1-px>>bits), l.w*min(1, l.h-1-py>>bits)
		fx, fy := uint32(px>>(bits-8))&255, uint32(py>>(bits-8))&255
		out[i] = between(uint32(l.pix[at]), uint32(l.pix[at+right]), uint32(l.pix[at+below]), uint32(l.pix[at+below+right]), fx, fy)
		x, y = x+dx, y+dy
	}
}

// between interpolates bilinearly with weights of 256ths; the sum of 16-bit
// values with both weights stays below 2³².
func between(a, b, c, d, fx, fy uint32) uint16 {
	top, low := a*(256-fx)+b*fx, c*(256-fx)+d*fx
	return uint16((top*(256-fy) + low*fy + 1<<15) >> 16)
}

// paint writes the greys through the table into the area of dst.
func (r *Through) paint(dst *image.RGBA, t *Table, back uint32) {
	w := r.area.Dx()
	for y := range r.area.Dy() {
		i := dst.PixOffset(r.area.Min.X, r.area.Min.Y+y)
		row := dst.Pix[i : i+4*w]
		from, to := r.from[y], r.to[y]
		fill(row[:4*from], back)
		fill(row[4*to:], back)
		look(row[4*from:4*to], r.grey[y*w+from:y*w+to], t)
	}
}

// Grey returns the grey shown at a device pixel before the table, and whether
// the picture is there.
func (r *Through) Grey(x, y int) (uint16, bool) {
	if r.picture == nil || !image.Pt(x, y).In(r.area) {
		return 0, false
	}
	x, y = x-r.area.Min.X, y-r.area.Min.Y
	return r.grey[y*r.area.Dx()+x], x >= r.from[y] && x < r.to[y]
}
