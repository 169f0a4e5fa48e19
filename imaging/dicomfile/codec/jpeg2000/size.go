package jpeg2000

import (
	"encoding/binary"

	"rootrule/imaging/dicomfile/codec"
)

const (
	maxComponents = 4
	maxBits       = 16
	maxTiles      = 65535 // Isot has 16 bits and 65535 is reserved (T.800 A.4.2)
)

// An imageSize is the image and tile size segment, SIZ (T.800 A.5.1).
type imageSize struct {
	// The image is [x0, x1) × [y0, y1) on the reference grid.
	x0, y0, x1, y1 int
	// Tile 0 begins at (tileX0, tileY0) and has tileW × tileH grid points.
	tileX0, tileY0, tileW, tileH int
	tilesX, tilesY               int
	components                   []componentSize
}

type componentSize struct {
	bits   int
	signed bool
	dx, dy int // grid points from one sample to the next: XRsiz, YRsiz
}

// A rect is a half-open rectangle, on the reference grid or on a component's
// own grid of samples.
type rect struct{ x0, y0, x1, y1 int }

func (r rect) width() int  { return r.x1 - r.x0 }
func (r rect) height() int { return r.y1 - r.y0 }
func (r rect) empty() bool { return r.x1 <= r.x0 || r.y1 <= r.y0 }

// shrink divides a rectangle's corners by dx and dy, rounding up, as every
// change to a coarser grid in Annex B does.
func (r rect) shrink(dx, dy int) rect {
	return rect{ceilDiv(r.x0, dx), ceilDiv(r.y0, dy), ceilDiv(r.x1, dx), ceilDiv(r.y1, dy)}
}

func (r rect) intersect(o rect) rect {
	return rect{max(r.x0, o.x0), max(r.y0, o.y0), min(r.x1, o.x1), min(r.y1, o.y1)}
}

// ceilDiv rounds a/b up, for a of either sign and b > 0.
func ceilDiv(a, b int) int { return -floorDiv(-a, b) }

func floorDiv(a, b int) int {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// parseSize reads the content of SIZ, checks it and computes the tile counts
// (T.800 B.3, equation B-5).
func parseSize(seg []byte) (*imageSize, error) {
	const fixed = 36 // Rsiz to Csiz
	if len(seg) < fixed {
		return nil, errCut("the size segment", fixed, len(seg))
	}
	be := binary.BigEndian
	// Rsiz, the capabilities that a decoder needs, is left aside: files with a
	// wrong one exist, and what can't be decoded shows in the segments.
	at := func(i int) int { return int(be.Uint32(seg[2+4*i:])) }
	s := &imageSize{
		x1: at(0), y1: at(1), x0: at(2), y0: at(3),
		tileW: at(4), tileH: at(5), tileX0: at(6), tileY0: at(7),
	}
	if err := s.checkGrid(); err != nil {
		return nil, err
	}
	s.tilesX = ceilDiv(s.x1-s.tileX0, s.tileW)
	s.tilesY = ceilDiv(s.y1-s.tileY0, s.tileH)
	if s.tilesX > maxTiles || s.tilesY > maxTiles || s.tilesX*s.tilesY > maxTiles {
		return nil, malformed("%d × %d tiles are more than the %d that can be numbered", s.tilesX, s.tilesY, maxTiles)
	}
	n := int(be.Uint16(seg[34:]))
	if len(seg) != fixed+3*n {
		return nil, malformed("the size segment of %d components has %d bytes instead of %d", n, len(seg), fixed+3*n)
	}
	if n == 0 {
		return nil, malformed("it has no components")
	}
	if n > maxComponents {
		return nil, unsupported("%d components, at most %d are handled; export it as grey or colour", n, maxComponents)
	}
	return s, s.parseComponents(seg[fixed:])
}

func (s *imageSize) checkGrid() error {
	switch {
	case s.x1 <= s.x0 || s.y1 <= s.y0:
		return malformed("image area from (%d, %d) to (%d, %d) is empty", s.x0, s.y0, s.x1, s.y1)
	case s.tileW == 0 || s.tileH == 0:
		return malformed("tile size %d × %d", s.tileW, s.tileH)
	case s.tileX0 > s.x0 || s.tileY0 > s.y0 || s.tileX0+s.tileW <= s.x0 || s.tileY0+s.tileH <= s.y0:
		return malformed("first tile from (%d, %d), %d × %d, does not hold the image's corner (%d, %d)",
			s.tileX0, s.tileY0, s.tileW, s.tileH, s.x0, s.y0)
	}
	return nil
}

func (s *imageSize) parseComponents(seg []byte) error {
	for ; len(seg) > 0; seg = seg[3:] {
		c := componentSize{
			bits:   int(seg[0]&0x7f) + 1,
			signed: seg[0]&0x80 != 0,
			dx:     int(seg[1]),
			dy:     int(seg[2]),
		}
		if c.dx == 0 || c.dy == 0 || c.bits > 38 {
			return malformed("component %d has %d bits and sample distances %d, %d", len(s.components), c.bits, c.dx, c.dy)
		}
		if c.bits > maxBits {
			return unsupported("%d bits a sample, at most %d are handled; export it with fewer", c.bits, maxBits)
		}
		s.components = append(s.components, c)
	}
	first := s.components[0]
	for i, c := range s.components {
		if c.bits != first.bits || c.signed != first.signed {
			return unsupported("component %d has %d bits (signed: %t), the first %d (signed: %t); export it with equal ones",
				i, c.bits, c.signed, first.bits, first.signed)
		}
	}
	return s.checkSamples()
}

// checkSamples refuses images without samples and images above the limit that
// all decoders share.
func (s *imageSize) checkSamples() error {
	r := s.outputRect()
	if r.empty() {
		return malformed("image area from (%d, %d) to (%d, %d) has no samples at its sample distances", s.x0, s.y0, s.x1, s.y1)
	}
	if r.width() > codec.MaxSamples/r.height()/len(s.components) {
		return unsupported("%d × %d pixels of %d components are more than the %d samples that a frame may have",
			r.width(), r.height(), len(s.components), codec.MaxSamples)
	}
	return nil
}

// area returns the image on the reference grid.
func (s *imageSize) area() rect { return rect{s.x0, s.y0, s.x1, s.y1} }

// componentRect returns component c's samples (T.800 B.2, equation B-2).
func (s *imageSize) componentRect(c int) rect {
	return s.area().shrink(s.components[c].dx, s.components[c].dy)
}

// outputStep returns the smallest sample distances of all components: the
// raster's pixel size on the reference grid.
func (s *imageSize) outputStep() (dx, dy int) {
	dx, dy = s.components[0].dx, s.components[0].dy
	for _, c := range s.components {
		dx, dy = min(dx, c.dx), min(dy, c.dy)
	}
	return dx, dy
}

func (s *imageSize) outputRect() rect { return s.area().shrink(s.outputStep()) }

// tileRect returns tile number i on the reference grid (T.800 B.3, equations
// B-6 to B-10).
func (s *imageSize) tileRect(i int) rect {
	x := s.tileX0 + i%s.tilesX*s.tileW
	y := s.tileY0 + i/s.tilesX*s.tileH
	return s.area().intersect(rect{x, y, x + s.tileW, y + s.tileH})
}
