package jpeg2000

import "math"

// A target is where the samples of one component go: sample (x, y) of the
// component, counted from its own corner, to pix[(y*width+x)*step+offset].
type target struct {
	pix          []uint16
	origin       rect // of the component
	width        int
	step, offset int
	bits         int
	signed       bool
}

// line returns where row y of area begins in pix.
func (t *target) line(area rect, y int) int {
	return ((area.y0-t.origin.y0+y)*t.width+area.x0-t.origin.x0)*t.step + t.offset
}

// level returns what is added to samples (T.800 G.1.2) and their range.
func (t *target) level() (shift, low, high int32) {
	half := int32(1) << (t.bits - 1)
	if t.signed {
		return 0, -half, half - 1
	}
	return half, 0, 2*half - 1
}

// writeInts shifts and limits a row of integers.
func (t *target) writeInts(area rect, y int, row []int32) {
	shift, low, high := t.level()
	at := t.line(area, y)
	for _, v := range row {
		t.pix[at] = uint16(min(max(v+shift, low), high))
		at += t.step
	}
}

// writeFloats rounds to the nearest integer, shifts and limits a row.
func (t *target) writeFloats(area rect, y int, row []float32) {
	shift, low, high := t.level()
	lowest, highest := float32(low-shift), float32(high-shift)
	at := t.line(area, y)
	for _, v := range row {
		v = min(max(v, lowest), highest)
		t.pix[at] = uint16(int32(math.RoundToEven(float64(v))) + shift)
		at += t.step
	}
}

// write sends the rows of a component to its target.
func (c *canvas) write(area rect, t *target, w *crew) error {
	return w.run(ceilDiv(area.height(), rowsPerJob), func(_, i int) error {
		for y := i * rowsPerJob; y < min((i+1)*rowsPerJob, area.height()); y++ {
			n := area.width()
			if c.reversible {
				t.writeInts(area, y, c.ints.data[y*n:][:n])
			} else {
				t.writeFloats(area, y, c.floats.data[y*n:][:n])
			}
		}
		return nil
	})
}

// transform undoes the multiple component transform in place (T.800 G.2, G.3).
// All three have the same size and kind.
func transform(c *[3]canvas, area rect, w *crew) error {
	n := area.width()
	return w.run(ceilDiv(area.height(), rowsPerJob), func(_, i int) error {
		from, to := i*rowsPerJob*n, min((i+1)*rowsPerJob, area.height())*n
		if c[0].reversible {
			inverseRCT(c[0].ints.data[from:to], c[1].ints.data[from:to], c[2].ints.data[from:to])
		} else {
			inverseICT(c[0].floats.data[from:to], c[1].floats.data[from:to], c[2].floats.data[from:to])
		}
		return nil
	})
}

// inverseRCT is T.800 G.2.2, equations G-6 to G-8.
func inverseRCT(a, b, c []int32) {
	b, c = b[:len(a)], c[:len(a)]
	for i, y := range a {
		u, v := b[i], c[i]
		green := y - (u+v)>>2
		a[i], b[i], c[i] = v+green, green, u+green
	}
}

// inverseICT is T.800 G.3.2, equations G-12 to G-14.
func inverseICT(a, b, c []float32) {
	b, c = b[:len(a)], c[:len(a)]
	for i, y := range a {
		cb, cr := b[i], c[i]
		a[i] = y + 1.402*cr
		b[i] = y - 0.344136*cb - 0.714136*cr
		c[i] = y + 1.772*cb
	}
}
