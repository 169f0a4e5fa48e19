package jpeg

import "rootrule/imaging/fault"

// zigzag is the place of each coefficient of a block in natural (row-major)
// order (T.81 figure A.6).
var zigzag = [64]uint8{
	0, 1, 8, 16, 9, 2, 3, 10,
	17, 24, 32, 25, 18, 11, 4, 5,
	12, 19, 26, 33, 40, 48, 41, 34,
	27, 20, 13, 6, 7, 14, 21, 28,
	35, 42, 49, 56, 57, 50, 43, 36,
	29, 22, 15, 23, 30, 37, 44, 51,
	58, 59, 52, 45, 38, 31, 39, 46,
	53, 60, 61, 54, 47, 55, 62, 63,
}

// dctScan decodes one scan of a sequential or progressive picture. When one
// sequential scan has all components, each row of units turns into samples at
// once; otherwise coefficients are kept until finish.
func (d *decoder) dctScan(s *scan) error {
	decode, err := d.blockDecoder(s)
	if err != nil {
		return err
	}
	if err := d.prepareDCT(s); err != nil {
		return err
	}
	for y := range s.mcusY {
		if !d.whole {
			for _, c := range s.comps {
				clear(c.coefs)
				c.firstRow = y * c.v
			}
		}
		if err := s.unitRow(y, decode); err != nil {
			return err
		}
		if !d.whole {
			d.reconstructRow(y)
		}
	}
	return nil
}

// unitRow decodes one row of minimum coded units (T.81 A.2).
func (s *scan) unitRow(y int, decode func(*scanComponent, *[64]int16) bool) error {
	for x := range s.mcusX {
		if _, err := s.restartIfDue(); err != nil {
			return err
		}
		s.due--
		for _, c := range s.comps {
			for v := range c.v {
				for h := range c.h {
					if !decode(c, c.block(x*c.h+h, y*c.v+v)) {
						return s.badCode()
					}
				}
			}
		}
	}
	if s.short() {
		return s.cutShort()
	}
	return nil
}

func (c *component) block(x, y int) *[64]int16 {
	at := 64 * ((y-c.firstRow)*c.stride + x)
	return (*[64]int16)(c.coefs[at : at+64])
}

// blockDecoder returns what decodes a block in this scan. Spectral selection and
// approximation mean nothing in a sequential scan, where T.81 Table B.3 fixes
// them; what an encoder wrote there is passed by, as other decoders do.
func (d *decoder) blockDecoder(s *scan) (func(*scanComponent, *[64]int16) bool, error) {
	if d.info.Process == Progressive {
		return d.progressiveDecoder(s)
	}
	for _, c := range s.comps {
		if c.decoded {
			return nil, fault.Malformed("jpeg stream: component %d is in two scans", c.id)
		}
		c.decoded = true
		if c.dc == nil || c.ac == nil {
			return nil, errNoTable(c)
		}
	}
	return s.sequentialBlock, nil
}

func errNoTable(c *scanComponent) error {
	return fault.Malformed("jpeg stream: the huffman table of component %d is missing", c.id)
}

// prepareDCT latches quantisation tables and allocates coefficients and planes
// at the first scan that needs them.
func (d *decoder) prepareDCT(s *scan) error {
	first := d.comps[0].coefs == nil
	if first {
		d.whole = d.info.Process == Progressive || len(s.comps) < len(d.comps)
	}
	for _, c := range s.comps {
		if c.quant != nil {
			continue
		}
		if c.quant = d.quant[c.tq]; c.quant == nil {
			return fault.Malformed("jpeg stream: quantisation table %d of component %d is missing", c.tq, c.id)
		}
	}
	if !first {
		return nil
	}
	for _, c := range d.comps {
		if err := d.allocate(c); err != nil {
			return err
		}
	}
	return nil
}

func (d *decoder) allocate(c *component) error {
	rows := c.v
	if d.whole {
		rows *= d.mcusY
	}
	coefs, plane := 64*c.stride*rows, 0
	if c.h < d.hMax || c.v < d.vMax {
		c.planeWidth = 8 * c.stride
		plane = c.planeWidth * 8 * d.mcusY * c.v
	}
	if err := d.reserve(2 * (coefs + plane)); err != nil {
		return err
	}
	c.coefs = make([]int16, coefs)
	if plane > 0 {
		c.plane = make([]uint16, plane)
	}
	return nil
}

// sequentialBlock decodes one block (T.81 F.2.2.1, F.2.2.2).
func (s *scan) sequentialBlock(c *scanComponent, block *[64]int16) bool {
	dc := c.dc.next(&s.bits)
	if dc == 0 {
		return false
	}
	c.pred += s.signed(dc)
	block[0] = int16(c.pred)
	for k := uint(1); k < 64; k++ {
		ac := c.ac.next(&s.bits)
		if ac == 0 {
			return false
		}
		run, size := ac.symbol()>>4, ac.symbol()&15
		if size == 0 {
			s.skip(ac.length())
			if run < 15 { // end of block
				break
			}
			k += 15
			continue
		}
		k += run
		if k > 63 {
			return false
		}
		block[zigzag[k]] = int16(s.signed(ac))
	}
	return true
}
