package jpeg

import "rootrule/imaging/fault"

// progressiveDecoder checks a scan of a progressive picture and returns what
// decodes its blocks (T.81 G.1.1.1, G.2).
func (d *decoder) progressiveDecoder(s *scan) (func(*scanComponent, *[64]int16) bool, error) {
	dc := s.ss == 0
	switch {
	case dc && s.se != 0, !dc && (s.se < s.ss || s.se > 63 || len(s.comps) != 1):
		return nil, fault.Malformed("jpeg stream: a progressive scan of %d components has coefficients %d to %d", len(s.comps), s.ss, s.se)
	case s.al > 13, s.ah != 0 && s.ah != s.al+1:
		return nil, fault.Malformed("jpeg stream: a progressive scan goes from bit %d to bit %d", s.ah, s.al)
	}
	for _, c := range s.comps {
		if needed := c.dc; dc && s.ah == 0 && needed == nil {
			return nil, errNoTable(c)
		}
		if !dc && c.ac == nil {
			return nil, errNoTable(c)
		}
		if err := c.advance(s); err != nil {
			return nil, err
		}
	}
	switch {
	case dc && s.ah == 0:
		return s.firstDC, nil
	case dc:
		return s.refineDC, nil
	case s.ah == 0:
		return s.firstAC, nil
	}
	return s.refineAC, nil
}

// advance keeps account of how far each coefficient is decoded, so that scans
// can neither repeat nor jump (T.81 G.1.1.1.2).
func (c *component) advance(s *scan) error {
	for k := s.ss; k <= s.se; k++ {
		if want := int8(s.ah); s.ah > 0 && c.coded[k] != want+1 || s.ah == 0 && c.coded[k] != 0 {
			return fault.Malformed("jpeg stream: a progressive scan of coefficient %d of component %d goes from bit %d to bit %d out of turn", k, c.id, s.ah, s.al)
		}
		c.coded[k] = int8(s.al) + 1
	}
	return nil
}

// complete reports the first coefficient that is not decoded to its last bit.
func (c *component) complete() (missing int, ok bool) {
	for k, bit := range c.coded {
		if bit != 1 {
			return k, false
		}
	}
	return 0, true
}

func (s *scan) firstDC(c *scanComponent, block *[64]int16) bool {
	dc := c.dc.next(&s.bits)
	if dc == 0 {
		return false
	}
	c.pred += s.signed(dc)
	block[0] = int16(c.pred << s.al)
	return true
}

func (s *scan) refineDC(_ *scanComponent, block *[64]int16) bool {
	s.fill()
	block[0] |= int16(s.take(1) << s.al)
	return true
}

// firstAC decodes the first bits of a band of coefficients (T.81 G.1.2.2).
func (s *scan) firstAC(c *scanComponent, block *[64]int16) bool {
	if s.eobRun > 0 {
		s.eobRun--
		return true
	}
	for k := s.ss; k <= s.se; k++ {
		ac := c.ac.next(&s.bits)
		if ac == 0 {
			return false
		}
		run, size := int(ac.symbol()>>4), ac.symbol()&15
		if size == 0 {
			s.skip(ac.length())
			if run < 15 {
				s.eobRun = s.endOfBands(run) - 1
				return true
			}
			k += 15
			continue
		}
		k += run
		if k > s.se {
			return false
		}
		block[zigzag[k]] = int16(s.signed(ac) << s.al)
	}
	return true
}

// endOfBands reads the length of a run of blocks that end here, this one
// included (T.81 G.1.2.2, Table G.1).
func (s *scan) endOfBands(category int) int {
	s.fill()
	return 1<<category + s.take(uint(category))
}

// refineAC adds one bit to a band of coefficients (T.81 G.1.2.3): those that
// are nonzero already take a correction bit each as they are passed.
func (s *scan) refineAC(c *scanComponent, block *[64]int16) bool {
	k := s.ss
	if s.eobRun == 0 {
		for ; k <= s.se; k++ {
			ac := c.ac.next(&s.bits)
			if ac == 0 {
				return false
			}
			s.skip(ac.length())
			run, size := int(ac.symbol()>>4), ac.symbol()&15
			if size == 0 && run < 15 {
				s.eobRun = s.endOfBands(run)
				break
			}
			if size > 1 {
				return false
			}
			var value int16
			if size == 1 {
				value = s.newCoefficient()
			}
			k = s.passOver(block, k, run)
			if value != 0 {
				if k > s.se {
					return false
				}
				block[zigzag[k]] = value
			}
		}
	}
	if s.eobRun > 0 {
		s.passOver(block, k, 64)
		s.eobRun--
	}
	return true
}

func (s *scan) newCoefficient() int16 {
	s.fill()
	if s.take(1) == 1 {
		return 1 << s.al
	}
	return -1 << s.al
}

// passOver refines the nonzero coefficients from k on and stops at the zero
// one behind run others, whose place it returns.
func (s *scan) passOver(block *[64]int16, k, run int) int {
	for ; k <= s.se; k++ {
		v := &block[zigzag[k]]
		if *v == 0 {
			if run == 0 {
				return k
			}
			run--
			continue
		}
		s.fill()
		if s.take(1) == 1 && *v>>s.al&1 == 0 {
			*v += correction(*v, s.al)
		}
	}
	return k
}

// correction is one unit of bit al, away from zero.
func correction(v int16, al uint) int16 {
	if v > 0 {
		return 1 << al
	}
	return -1 << al
}
