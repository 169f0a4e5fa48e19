package jpeg

import "rootrule/imaging/fault"

// reconstructRow turns the coefficients of one row of minimum coded units into
// samples (T.81 A.3.3, A.3.4).
func (d *decoder) reconstructRow(y int) {
	t := newTransform(d.info.Bits)
	var samples [64]uint16
	for _, c := range d.comps {
		for by := y * c.v; by < min((y+1)*c.v, c.blocksY); by++ {
			for bx := range c.blocksX {
				t.inverse(c.block(bx, by), c.quant, &samples)
				if c.plane != nil {
					c.store(&samples, bx, by)
				} else {
					d.store(c, &samples, bx, by)
				}
			}
		}
	}
}

// store puts a block into the plane of a subsampled component.
func (c *component) store(samples *[64]uint16, bx, by int) {
	at := 8 * (by*c.planeWidth + bx)
	for y := range 8 {
		copy(c.plane[at:at+8], samples[8*y:8*y+8])
		at += c.planeWidth
	}
}

// store puts the part of a block that lies inside the picture into it.
func (d *decoder) store(c *component, samples *[64]uint16, bx, by int) {
	w, n := d.info.Width, d.info.Components
	columns := min(8, w-8*bx)
	for y := range min(8, d.info.Height-8*by) {
		line := d.pix[((8*by+y)*w+8*bx)*n:]
		from := samples[8*y : 8*y+8]
		if n == 1 {
			copy(line[:columns], from)
			continue
		}
		for x, v := range from[:columns] {
			line[x*n+c.index] = v
		}
	}
}

// finish completes the picture when all scans are read.
func (d *decoder) finish() error {
	for _, c := range d.comps {
		if d.info.Process == Progressive {
			if k, ok := c.complete(); !ok {
				return fault.Malformed("jpeg stream: it ends before coefficient %d of component %d is complete", k, c.id)
			}
		} else if !c.decoded {
			return fault.Malformed("jpeg stream: it ends without a scan of component %d", c.id)
		}
	}
	if d.info.Process == Lossless {
		return nil
	}
	if d.whole {
		for y := range d.mcusY {
			d.reconstructRow(y)
		}
	}
	for _, c := range d.comps {
		if c.plane != nil {
			d.upsample(c)
		}
	}
	return nil
}
