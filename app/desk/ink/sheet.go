package ink

import (
	"image"
	"image/color"
	"math"
)

// Point is a position in device pixels.
type Point struct{ X, Y float64 }

// Plus returns p moved by (dx, dy).
func (p Point) Plus(dx, dy float64) Point { return Point{p.X + dx, p.Y + dy} }

// Pen is how a line looks: its width, the width of the casing on each side,
// and both colours, opaque or not (not premultiplied).
type Pen struct {
	Width, Casing float64
	Colour, Dark  color.NRGBA
}

// Sheet draws on frames of one size after another and keeps its working memory
// between them. Its zero value is ready once [Sheet.On] was called; it is for
// one goroutine.
type Sheet struct {
	dst         *image.RGBA
	cover       []uint8 // how much of each pixel the present stroke covers
	left, right []int   // by row: the covered columns, right excluded
	top, bottom int     // the covered rows, bottom excluded
}

// On makes dst the frame to draw on. dst starts at (0, 0).
func (s *Sheet) On(dst *image.RGBA) {
	w, h := dst.Rect.Dx(), dst.Rect.Dy()
	if s.dst == nil || s.dst.Rect != dst.Rect {
		s.cover = make([]uint8, w*h)
		s.left, s.right = make([]int, h), make([]int, h)
		for y := range s.left {
			s.left[y] = w
		}
		s.top, s.bottom = h, 0
	}
	s.dst = dst
}

// Line strokes a polyline with round ends and joints.
func (s *Sheet) Line(pen Pen, pts ...Point) {
	s.twice(pen, func(half float64) { s.trail(pts, half) })
}

// Dashes strokes a polyline in dashes of length on with gaps of length off.
func (s *Sheet) Dashes(pen Pen, on, off float64, pts ...Point) {
	parts := cut(pts, on, off)
	s.twice(pen, func(half float64) {
		for _, p := range parts {
			s.trail(p, half)
		}
	})
}

// Dots sets dots of the pen's width along a polyline, step apart.
func (s *Sheet) Dots(pen Pen, step float64, pts ...Point) {
	along := every(pts, step)
	s.twice(pen, func(half float64) {
		for _, p := range along {
			s.capsule(p, p, half)
		}
	})
}

// Ring strokes a circle.
func (s *Sheet) Ring(pen Pen, c Point, radius float64) {
	n := max(12, int(radius*2))
	pts := make([]Point, n+1)
	for i := range pts {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		pts[i] = c.Plus(radius*cos, radius*sin)
	}
	s.Line(pen, pts...)
}

// twice covers and paints a shape with the casing's and then with the line's
// half width.
func (s *Sheet) twice(pen Pen, cover func(half float64)) {
	if pen.Casing > 0 {
		cover(pen.Width/2 + pen.Casing)
		s.paint(pen.Dark)
	}
	cover(pen.Width / 2)
	s.paint(pen.Colour)
}

// piece is the longest part of a segment that is covered at once: the cost of
// a piece grows with its square.
const piece = 16

func (s *Sheet) trail(pts []Point, half float64) {
	if len(pts) == 1 {
		s.capsule(pts[0], pts[0], half)
	}
	for i := 1; i < len(pts); i++ {
		a, b, ok := clip(pts[i-1], pts[i], s.dst.Rect, half+1)
		if !ok {
			continue
		}
		n := math.Ceil(math.Max(1, math.Hypot(b.X-a.X, b.Y-a.Y)/piece))
		dx, dy := (b.X-a.X)/n, (b.Y-a.Y)/n
		for k := range int(n) {
			f := float64(k)
			s.capsule(a.Plus(f*dx, f*dy), a.Plus((f+1)*dx, (f+1)*dy), half)
		}
	}
}

// capsule covers all that is within half of the segment a–b. A pixel whose
// centre is nearer than half−½ is covered fully, farther than half+½ not at
// all, between them in part.
func (s *Sheet) capsule(a, b Point, half float64) {
	r := s.box(a, b, half+0.5)
	w := s.dst.Rect.Dx()
	dx, dy := b.X-a.X, b.Y-a.Y
	square := math.Max(dx*dx+dy*dy, 1e-12)
	outer, inner := (half+0.5)*(half+0.5), math.Max(half-0.5, 0)
	inner *= inner
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := s.cover[y*w : (y+1)*w]
		py := float64(y) - a.Y
		for x := r.Min.X; x < r.Max.X; x++ {
			px := float64(x) - a.X
			t := math.Min(math.Max((px*dx+py*dy)/square, 0), 1)
			ex, ey := px-t*dx, py-t*dy
			switch d := ex*ex + ey*ey; {
			case d >= outer:
			case d < inner:
				row[x] = 255
			default:
				row[x] = max(row[x], uint8(math.Min(half+0.5-math.Sqrt(d), 1)*255))
			}
		}
	}
	s.touch(r)
}

// box returns the pixels within m of the segment, limited to the frame.
func (s *Sheet) box(a, b Point, m float64) image.Rectangle {
	w, h := float64(s.dst.Rect.Dx()), float64(s.dst.Rect.Dy())
	in := func(v, top float64) int { return int(math.Min(math.Max(v, 0), top)) }
	return image.Rect(
		in(math.Ceil(math.Min(a.X, b.X)-m), w), in(math.Ceil(math.Min(a.Y, b.Y)-m), h),
		in(math.Floor(math.Max(a.X, b.X)+m)+1, w), in(math.Floor(math.Max(a.Y, b.Y)+m)+1, h))
}

// touch notes that the pixels of r may be covered.
func (s *Sheet) touch(r image.Rectangle) {
	if r.Empty() {
		return
	}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		s.left[y], s.right[y] = min(s.left[y], r.Min.X), max(s.right[y], r.Max.X)
	}
	s.top, s.bottom = min(s.top, r.Min.Y), max(s.bottom, r.Max.Y)
}

// paint lays the colour over the covered pixels and forgets them.
func (s *Sheet) paint(c color.NRGBA) {
	w := s.dst.Rect.Dx()
	for y := s.top; y < s.bottom; y++ {
		cover := s.cover[y*w : (y+1)*w]
		for x := s.left[y]; x < s.right[y]; x++ {
			if cover[x] > 0 {
				blend(s.dst.Pix[y*s.dst.Stride+4*x:], c, uint32(cover[x]))
				cover[x] = 0
			}
		}
		s.left[y], s.right[y] = w, 0
	}
	s.top, s.bottom = s.dst.Rect.Dy(), 0
}

// blend lays c, covering the pixel by cover/255, over an opaque pixel.
func blend(pix []uint8, c color.NRGBA, cover uint32) {
	a := (uint32(c.A)*cover + 127) / 255
	mix := func(under uint8, over uint8) uint8 {
		return uint8((uint32(under)*(255-a) + uint32(over)*a + 127) / 255)
	}
	pix[0], pix[1], pix[2] = mix(pix[0], c.R), mix(pix[1], c.G), mix(pix[2], c.B)
}
