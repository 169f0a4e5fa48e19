package tone

import (
	"encoding/binary"
	"image"
	"image/color"
	"runtime"
	"sync"
)

// Renderer draws pictures into device pixels. It keeps the greys of the last
// view, so that a change of window costs one table look-up a pixel. Its zero
// value is ready; it is for one goroutine.
type Renderer struct {
	picture    *Picture
	view       View
	size       image.Point
	area       image.Rectangle // the device pixels that grey covers
	grey       []uint16
	turned     []uint16 // the greys before they were turned, to be used again
	cols, rows taps
}

// Draw fills dst with the part of the picture that the view shows, greys
// through the table, and with back around it. A nil picture gives back alone.
// The view's origin should be whole (see [View.Snapped]). dst must be packed:
// its stride four times its width.
func (r *Renderer) Draw(dst *image.RGBA, p *Picture, v View, t *Table, back color.RGBA) {
	size := dst.Rect.Size()
	if p == nil || !v.Valid() {
		fill(dst.Pix, pack(back))
		return
	}
	if r.picture != p || r.view != v || r.size != size {
		r.picture, r.view, r.size = p, v, size
		r.resample()
	}
	r.paint(dst, t, pack(back))
}

// resample computes the greys of the visible part.
func (r *Renderer) resample() {
	src, halved := r.picture.level(r.view.Scale)
	size, v := r.unturned()
	x := axis{v.X, v.Scale, halved, src.w, r.picture.Width}
	y := axis{v.Y, v.Scale, halved, src.h, r.picture.Height}
	r.area.Min.X, r.area.Max.X = x.span(size.X)
	r.area.Min.Y, r.area.Max.Y = y.span(size.Y)
	if r.area.Empty() {
		r.area = image.Rectangle{}
		return
	}
	r.cols.fill(x, r.area.Min.X, r.area.Dx())
	r.rows.fill(y, r.area.Min.Y, r.area.Dy())
	r.grey = grow(r.grey, r.area.Dx()*r.area.Dy())
	r.inBands(func(first, last int) { r.mix(src, first, last) })
	r.turn(size)
}

// unturned returns size and view of the screen on which the picture would lie
// as it is stored, were the whole screen turned.
func (r *Renderer) unturned() (image.Point, View) {
	t, size := r.view.Turn, r.size
	if t == 0 {
		return size, r.view
	}
	if t.Lying() {
		size.X, size.Y = size.Y, size.X
	}
	x, y := r.view.ToScreen(0, 0)
	x, y = t.Stored(x, y, size.X, size.Y)
	return size, View{Scale: r.view.Scale, X: x, Y: y}
}

// turn turns the greys, and the area that they cover, of an unturned screen of
// the given size.
func (r *Renderer) turn(size image.Point) {
	t := r.view.Turn
	if t == 0 {
		return
	}
	r.turned = t.Apply(grow(r.turned, len(r.grey)), r.grey, r.area.Dx(), r.area.Dy())
	r.grey, r.turned = r.turned, r.grey
	x0, y0 := t.Shown(float64(r.area.Min.X), float64(r.area.Min.Y), size.X, size.Y)
	x1, y1 := t.Shown(float64(r.area.Max.X-1), float64(r.area.Max.Y-1), size.X, size.Y)
	r.area = image.Rect(int(min(x0, x1)), int(min(y0, y1)), int(max(x0, x1))+1, int(max(y0, y1))+1)
}

// inBands calls mix for all rows of the area, in as many pieces at once as
// there are processors for.
func (r *Renderer) inBands(mix func(first, last int)) {
	n := r.area.Dy()
	bands := max(1, min(runtime.GOMAXPROCS(0), n/minBand))
	var wait sync.WaitGroup
	for b := 1; b < bands; b++ {
		wait.Go(func() { mix(b*n/bands, (b+1)*n/bands) })
	}
	mix(0, n/bands)
	wait.Wait()
}

// minBand is the number of rows that are worth a goroutine. Common practice,
// no source.
const minBand = 128

// mix computes rows first up to last of the area's greys.
func (r *Renderer) mix(src plane, first, last int) {
	from, to := r.cols.reach()
	line := make([]uint32, src.w)
	n := r.area.Dx()
	for i := first; i < last; i++ {
		mixRows(line[from:to], src, from, r.rows.at[i], r.rows.weight[r.rows.from[i]:r.rows.from[i+1]])
		r.cols.mix(r.grey[i*n:(i+1)*n], line)
	}
}

// mixRows sets line to the weighted mean of the source's rows from y on,
// columns from x on. One row is copied and two are mixed in one go: that is
// all there is at 1:1 and above.
func mixRows(line []uint32, src plane, x, y int, weights []uint32) {
	switch len(weights) {
	case 1:
		copyRow(line, src.row(y)[x:])
	case 2:
		mixTwo(line, src.row(y)[x:], src.row(y + 1)[x:], weights[0], weights[1])
	default:
		mixMany(line, src, x, y, weights)
	}
}

func copyRow(line []uint32, a []uint16) {
	a = a[:len(line)]
	for i := range line {
		line[i] = uint32(a[i])
	}
}

func mixTwo(line []uint32, a, b []uint16, wa, wb uint32) {
	a, b = a[:len(line)], b[:len(line)]
	for i := range line {
		line[i] = (uint32(a[i])*wa + uint32(b[i])*wb + unity/2) / unity
	}
}

func mixMany(line []uint32, src plane, x, y int, weights []uint32) {
	mixPair(line, src.row(y)[x:], src.row(y + 1)[x:], weights[0], weights[1])
	for k, w := range weights[2:] {
		a := src.row(y + 2 + k)[x:]
		a = a[:len(line)]
		for i := range line {
			line[i] += uint32(a[i]) * w
		}
	}
	for i := range line {
		line[i] /= unity
	}
}

// mixPair begins a sum of rows, rounding included.
func mixPair(line []uint32, a, b []uint16, wa, wb uint32) {
	a, b = a[:len(line)], b[:len(line)]
	for i := range line {
		line[i] = uint32(a[i])*wa + uint32(b[i])*wb + unity/2
	}
}

// mix sets out to the weighted means of line at the taps.
func (t *taps) mix(out []uint16, line []uint32) {
	if len(t.weight) == len(t.at) { // one source pixel each: 1:1
		at := t.at[:len(out)]
		for i := range out {
			out[i] = uint16(line[at[i]])
		}
		return
	}
	for i := range out {
		weights := t.weight[t.from[i]:t.from[i+1]]
		part := line[t.at[i]:]
		part = part[:len(weights)]
		sum := uint32(unity / 2)
		for k, w := range weights {
			sum += part[k] * w
		}
		out[i] = uint16(sum / unity)
	}
}

// paint writes the greys through the table into dst.
func (r *Renderer) paint(dst *image.RGBA, t *Table, back uint32) {
	n := r.area.Dx()
	for y := range r.size.Y {
		row := dst.Pix[y*dst.Stride : y*dst.Stride+4*r.size.X]
		if y < r.area.Min.Y || y >= r.area.Max.Y {
			fill(row, back)
			continue
		}
		fill(row[:4*r.area.Min.X], back)
		fill(row[4*r.area.Max.X:], back)
		i := (y - r.area.Min.Y) * n
		look(row[4*r.area.Min.X:4*r.area.Max.X], r.grey[i:i+n], t)
	}
}

// look writes one row of greys through the table, opaque.
func look(row []uint8, grey []uint16, t *Table) {
	for i, v := range grey {
		binary.LittleEndian.PutUint32(row[4*i:4*i+4], uint32(t[v])*0x010101|0xff000000)
	}
}

func fill(row []uint8, c uint32) {
	for i := 0; i+4 <= len(row); i += 4 {
		binary.LittleEndian.PutUint32(row[i:i+4], c)
	}
}

// pack returns the colour as the four bytes of an image.RGBA pixel, read
// little-endian.
func pack(c color.RGBA) uint32 {
	return uint32(c.R) | uint32(c.G)<<8 | uint32(c.B)<<16 | uint32(c.A)<<24
}

// grow returns s with length n, reusing its memory.
func grow[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}
