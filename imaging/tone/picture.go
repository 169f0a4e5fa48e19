package tone

import "rootrule/imaging"

// Picture is an image made ready for drawing: the image itself and, for views
// smaller than 1:1, halves of it. It is never changed and safe to share.
type Picture struct {
	Width, Height int
	levels        []plane
}

// plane is one grey picture; pixel (x, y) is pix[y*w+x].
type plane struct {
	w, h int
	pix  []uint16
}

// smallest is the side, in pixels, below which a picture is not halved again.
const smallest = 64

// NewPicture prepares an image. It keeps a reference to its pixels and takes a
// third of their memory more.
func NewPicture(m *imaging.Image) *Picture {
	return newPicture(plane{m.Width, m.Height, m.Pix})
}

func newPicture(full plane) *Picture {
	p := &Picture{Width: full.w, Height: full.h, levels: []plane{full}}
	for l := p.levels[0]; l.w > smallest || l.h > smallest; {
		l = l.half()
		p.levels = append(p.levels, l)
	}
	return p
}

// half returns the picture at half the size: each pixel is the mean of two by
// two, at an odd border of those that exist.
func (p plane) half() plane {
	h := plane{(p.w + 1) / 2, (p.h + 1) / 2, nil}
	h.pix = make([]uint16, h.w*h.h)
	for y := range h.h {
		top := p.row(2 * y)
		low := p.row(min(2*y+1, p.h-1))
		halveRow(h.row(y), top, low)
	}
	return h
}

func halveRow(dst, top, low []uint16) {
	n := len(top) / 2
	for x := range n {
		a := uint32(top[2*x]) + uint32(top[2*x+1])
		b := uint32(low[2*x]) + uint32(low[2*x+1])
		dst[x] = uint16((a + b + 2) / 4)
	}
	if n < len(dst) {
		last := len(top) - 1
		dst[n] = uint16((uint32(top[last]) + uint32(low[last]) + 1) / 2)
	}
}

func (p plane) row(y int) []uint16 { return p.pix[y*p.w : (y+1)*p.w] }

// coarse is how many pixels of a halved picture a device pixel covers at
// least, along each axis. Averaging fewer would blur, more would cost time.
const coarse = 2

// level returns the halved picture to draw at a scale from, and the number of
// halvings. Down to 1:4 that is the image itself.
func (p *Picture) level(scale float64) (plane, int) {
	n := 0
	for n+1 < len(p.levels) && scale*float64(int(2)<<n)*coarse <= 1 {
		n++
	}
	return p.levels[n], n
}
