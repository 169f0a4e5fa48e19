package jpeg

import "rootrule/imaging/fault"

// losslessScan decodes one scan of the lossless process (T.81 H.2): line by
// line it reads the differences of all its components and adds the predictions.
func (d *decoder) losslessScan(s *scan) error {
	if err := d.checkLossless(s); err != nil {
		return err
	}
	n, width := len(s.comps), d.info.Width
	diffs := make([]uint16, n*width)
	above, line := make([]uint16, n*width), make([]uint16, n*width)
	start := uint16(1) << (d.info.Bits - int(s.al) - 1) // T.81 H.1.2.1
	first := true
	for y := range d.info.Height {
		again, err := s.restartIfDue()
		if err != nil {
			return err
		}
		s.due -= width
		if !s.differences(diffs) {
			return s.badCode()
		}
		if first || again {
			firstLine(line, diffs, n, start)
			first = false
		} else {
			predictLine(line, above, diffs, n, s.ss)
		}
		d.storeLossless(s, line, y)
		above, line = line, above
	}
	return nil
}

func (d *decoder) checkLossless(s *scan) error {
	if s.ss < 1 || s.ss > 7 {
		return fault.Malformed("jpeg stream: a lossless scan has predictor %d; there are 1 to 7", s.ss)
	}
	if int(s.al) >= d.info.Bits {
		return fault.Malformed("jpeg stream: a point transform of %d bits leaves nothing of %d", s.al, d.info.Bits)
	}
	if s.interval%d.info.Width != 0 { // T.81 H.1.1
		return fault.Malformed("jpeg stream: a lossless restart interval of %d samples is no whole number of lines of %d", s.interval, d.info.Width)
	}
	for _, c := range s.comps {
		if c.decoded {
			return fault.Malformed("jpeg stream: component %d is in two scans", c.id)
		}
		c.decoded = true
		if c.dc == nil {
			return errNoTable(c)
		}
	}
	return nil
}

// differences decodes one line, interleaved by sample (T.81 H.2.2).
func (s *scan) differences(out []uint16) bool {
	n := len(s.comps)
	if n == 1 {
		return s.comps[0].dc.differences(&s.bits, out) && !s.short()
	}
	for i := 0; i < len(out); i += n {
		for j, c := range s.comps {
			code := c.dc.next(&s.bits)
			if code == 0 {
				return false
			}
			out[i+j] = s.difference(code)
		}
	}
	return !s.short()
}

// differences is the loop for a scan of one component. It keeps the bits that
// are loaded at hand.
func (h *huffman) differences(b *bits, out []uint16) bool {
	front := *b
	for i := range out {
		c := h.next(&front)
		if c == 0 {
			return false
		}
		out[i] = front.difference(c)
	}
	*b = front
	return true
}

// difference takes a code and the magnitude behind it, modulo 2^16; category 16
// has no magnitude and means 2^15 (T.81 H.1.2.2, Table H.2).
func (b *bits) difference(c code) uint16 {
	return uint16(b.signed(c)) + uint16(c.symbol()>>4<<15)
}

// firstLine reconstructs the first line of a scan or restart interval of n
// interleaved components: each sample is predicted from the one to its left, the
// first one from the middle of the range (T.81 H.1.2.1).
func firstLine(line, diffs []uint16, n int, start uint16) {
	for i := range n {
		line[i] = start + diffs[i]
	}
	for i := n; i < len(line); i++ {
		line[i] = line[i-n] + diffs[i]
	}
}

// predictLine reconstructs any other line: the first sample is predicted from
// the one above, the others by the predictor of the scan (T.81 H.1.2.1, Table
// H.1), all modulo 2^16.
func predictLine(line, above, diffs []uint16, n, predictor int) {
	for i := range n {
		line[i] = above[i] + diffs[i]
	}
	if n == 1 {
		predictOne(line, above[:len(line)], diffs[:len(line)], predictor)
		return
	}
	for i := n; i < len(line); i++ {
		line[i] = diffs[i] + predict(predictor, int32(line[i-n]), int32(above[i]), int32(above[i-n]))
	}
}

// predict is T.81 Table H.1 with a the sample to the left, b the one above, c
// the one above to the left.
func predict(predictor int, a, b, c int32) uint16 {
	switch predictor {
	case 1:
		return uint16(a)
	case 2:
		return uint16(b)
	case 3:
		return uint16(c)
	case 4:
		return uint16(a + b - c)
	case 5:
		return uint16(a + (b-c)>>1)
	case 6:
		return uint16(b + (a-c)>>1)
	}
	return uint16((a + b) >> 1)
}

// predictOne is the loop for one component, which keeps the left neighbour at
// hand.
func predictOne(line, above, diffs []uint16, predictor int) {
	a, c := int32(line[0]), int32(above[0])
	for i := 1; i < len(line); i++ {
		b := int32(above[i])
		v := diffs[i] + predict(predictor, a, b, c)
		line[i] = v
		a, c = int32(v), b
	}
}

// storeLossless puts a line of the components of a scan into the picture and
// undoes the point transform (T.81 H.1.2.1).
func (d *decoder) storeLossless(s *scan, line []uint16, y int) {
	n, all := len(s.comps), d.info.Components
	to := d.pix[y*d.info.Width*all:][:d.info.Width*all]
	if n == all && s.al == 0 && s.inOrder() {
		copy(to, line)
		return
	}
	for j, c := range s.comps {
		for x := range d.info.Width {
			to[x*all+c.index] = line[x*n+j] << s.al
		}
	}
}

// inOrder tells whether the scan names the components in the order of the frame,
// which T.81 B.2.3 asks for.
func (s *scan) inOrder() bool {
	for j, c := range s.comps {
		if c.index != j {
			return false
		}
	}
	return true
}
