package jpeg

// Subsampled components are brought to full resolution in the way of the
// Independent JPEG Group's library in its default setting ("fancy" upsampling,
// from its documentation and output): components of half the width, and of half
// the width and height, are interpolated by a triangle filter, which takes ¾ of
// the nearer sample and ¼ of the farther one in each direction; all other
// factors repeat the nearest sample to the upper left. T.81 leaves this open
// (A.1.1).

// fancyWidth is the width from which on the triangle filter is used.
const fancyWidth = 3

// upsample puts the plane of component c into the picture.
func (d *decoder) upsample(c *component) {
	line := make([]uint16, 2*c.width+2)
	full := d.info.Width
	for y := range d.info.Height {
		switch {
		case 2*c.h == d.hMax && c.v == d.vMax && c.width >= fancyWidth:
			widen(line, c.line(y))
		case 2*c.h == d.hMax && 2*c.v == d.vMax && c.width >= fancyWidth:
			near := y / 2
			far := near - 1 + 2*(y&1)
			widenBetween(line, c.line(near), c.line(min(max(far, 0), c.height-1)))
		default:
			line = repeat(line, c.line(y*c.v/d.vMax), full, c.h, d.hMax)
		}
		d.storeLine(c, line[:full], y)
	}
}

func (c *component) line(y int) []uint16 {
	return c.plane[y*c.planeWidth:][:c.width]
}

func (d *decoder) storeLine(c *component, line []uint16, y int) {
	n := d.info.Components
	to := d.pix[y*d.info.Width*n+c.index:]
	for x, v := range line {
		to[x*n] = v
	}
}

func repeat(line, from []uint16, full, h, hMax int) []uint16 {
	if cap(line) < full {
		line = make([]uint16, full)
	}
	line = line[:full]
	for x := range line {
		line[x] = from[x*h/hMax]
	}
	return line
}

// widen doubles the width: out samples lie a quarter of a sample to the left and
// right of those of in. Halves are rounded up and down in turn.
func widen(out, in []uint16) {
	last := len(in) - 1
	out[0] = in[0]
	out[1] = uint16((3*uint32(in[0]) + uint32(in[1]) + 2) >> 2)
	for i := 1; i < last; i++ {
		v := 3 * uint32(in[i])
		out[2*i] = uint16((v + uint32(in[i-1]) + 1) >> 2)
		out[2*i+1] = uint16((v + uint32(in[i+1]) + 2) >> 2)
	}
	out[2*last] = uint16((3*uint32(in[last]) + uint32(in[last-1]) + 1) >> 2)
	out[2*last+1] = in[last]
}

// widenBetween doubles the width of a line that lies between two, a quarter of
// a sample from the near one. Halves are rounded up and down in turn.
func widenBetween(out, near, far []uint16) {
	last := len(near) - 1
	sum := func(i int) uint32 { return 3*uint32(near[i]) + uint32(far[i]) }
	before, here := sum(0), sum(0)
	for i := range last {
		after := sum(i + 1)
		out[2*i] = uint16((3*here + before + 8) >> 4)
		out[2*i+1] = uint16((3*here + after + 7) >> 4)
		before, here = here, after
	}
	out[2*last] = uint16((3*here + before + 8) >> 4)
	out[2*last+1] = uint16((4*here + 7) >> 4)
}
