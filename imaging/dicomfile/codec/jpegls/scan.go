package jpegls

import "rootrule/imaging/fault"

// spareBits is how much may be left over between the last code of a scan and
// the next marker: encoders fill a byte up (T.87 A.1), some a whole 64-bit
// word. More means that the codes were read wrongly. From practice, no source.
const spareBits = 64 + 7

// scanHeader is what SOS says (T.87 C.2.3).
type scanHeader struct {
	components []int // places in the frame header
	near       int
	interleave Interleave
	params     params
}

// readScanHeader reads SOS (T.87 C.2.3; T.81 B.2.3).
func (d *decoder) readScanHeader(segment []byte) (*scanHeader, error) {
	if len(d.ids) == 0 {
		return nil, fault.Malformed("jpeg-ls stream: a scan comes before the frame header")
	}
	if len(segment) < 1 || len(segment) != 4+2*int(segment[0]) {
		return nil, fault.Malformed("jpeg-ls stream: the scan header has %d bytes, which fits no number of components", len(segment))
	}
	n := int(segment[0])
	last := segment[1+2*n:]
	h := &scanHeader{near: int(last[0]), interleave: Interleave(last[1])}
	switch {
	case n != 1 && n != len(d.ids):
		return nil, fault.Unsupported("jpeg-ls stream: a scan of %d components in a picture of %d is not handled", n, len(d.ids))
	case h.interleave > BySample || (n > 1) != (h.interleave != None):
		return nil, fault.Malformed("jpeg-ls stream: a scan of %d components has interleave mode %d", n, h.interleave)
	case last[2] != 0:
		return nil, fault.Unsupported("jpeg-ls stream: a point transform of %d bits is not handled", last[2]&15)
	}
	for i := range n {
		if segment[2+2*i] != 0 {
			return nil, fault.Unsupported("jpeg-ls stream: mapping tables are not handled")
		}
		c, err := d.claim(segment[1+2*i])
		if err != nil {
			return nil, err
		}
		h.components = append(h.components, c)
	}
	var err error
	h.params, err = newParams(d.info.Bits, h.near, d.preset)
	return h, err
}

// claim returns the place of a component, which may be in one scan only.
func (d *decoder) claim(id byte) (int, error) {
	for i, known := range d.ids {
		if known != id {
			continue
		}
		if d.decoded[i] {
			return 0, fault.Malformed("jpeg-ls stream: component %d is in two scans", id)
		}
		d.decoded[i] = true
		return i, nil
	}
	return 0, fault.Malformed("jpeg-ls stream: a scan names component %d, which the frame does not have", id)
}

// scan is one pass over the picture.
type scan struct {
	bits
	params
	gradients *gradients
	regular   [512]context // 0–364 are used (T.87 A.3.4); the size spares bound checks
	run       [2]runContext
	runIndex  []int // RUNindex of each component, or the only one by sample
	damaged   bool  // an impossible code was met

	width  int
	stride int      // samples between neighbours of a line: 1, or 3 by sample
	above  []uint16 // lines with one pixel before and one behind, component after component
	line   []uint16
	number byte // of the next restart marker, 0–7
}

// scan decodes the coded data that begin at the current position.
func (d *decoder) scan(h *scanHeader) error {
	n := len(h.components)
	s := &scan{
		bits: bits{data: d.data, pos: d.pos}, params: h.params, gradients: h.params.gradients(),
		width: d.info.Width, stride: 1, runIndex: make([]int, n),
		above: make([]uint16, n*(d.info.Width+2)), line: make([]uint16, n*(d.info.Width+2)),
	}
	if h.interleave == BySample {
		s.stride = n
	}
	s.begin()
	for y := range d.info.Height {
		if d.restart > 0 && y > 0 && y%d.restart == 0 {
			if err := s.passRestart(); err != nil {
				return err
			}
		}
		s.decodeLine(n)
		if err := s.check(y, d.info.Height); err != nil {
			return err
		}
		d.store(s, h, y)
		s.above, s.line = s.line, s.above
	}
	if err := s.checkSpare(); err != nil {
		return err
	}
	d.pos = s.nextMarker()
	return nil
}

// begin sets everything up as at the start of a scan or restart interval
// (T.87 A.2.1, A.8).
func (s *scan) begin() {
	a := max(2, (s.span+32)/64)
	for i := range s.regular {
		s.regular[i] = context{a: a, n: 1}
	}
	for i := range s.run {
		s.run[i] = runContext{a: a, n: 1, kind: int32(i)}
	}
	clear(s.runIndex)
	clear(s.above)
	clear(s.line)
}

// passRestart passes the restart marker between two intervals (T.87 C.1).
func (s *scan) passRestart() error {
	if err := s.checkSpare(); err != nil {
		return err
	}
	d := decoder{data: s.data, pos: s.nextMarker()}
	marker, err := d.nextMarker()
	if err != nil {
		return err
	}
	if marker != markerRST0+s.number {
		return fault.Malformed("jpeg-ls stream: marker ff%02x stands where restart marker %d should", marker, s.number)
	}
	s.number = (s.number + 1) & 7
	s.bits = bits{data: s.data, pos: d.pos}
	s.begin()
	return nil
}

func (s *scan) checkSpare() error {
	if spare := s.spare(); spare > spareBits {
		return fault.Malformed("jpeg-ls stream: %d bytes are left over behind the last pixel: its data are damaged", spare/8)
	}
	return nil
}

func (s *scan) check(y, height int) error {
	if s.short() {
		return fault.Malformed("jpeg-ls stream: the data of a scan end in line %d of %d; copy or export the file again", y+1, height)
	}
	if s.damaged {
		return fault.Malformed("jpeg-ls stream: damaged code in line %d of %d", y+1, height)
	}
	return nil
}

// decodeLine decodes one line of all n components.
func (s *scan) decodeLine(n int) {
	if s.stride > 1 {
		s.mixedLine(s.above, s.line)
		return
	}
	size := s.width + 2
	for c := range n {
		s.plainLine(s.above[c*size:][:size], s.line[c*size:][:size], &s.runIndex[c])
	}
}

// store puts the decoded line into the picture.
func (d *decoder) store(s *scan, h *scanHeader, y int) {
	w, all := d.info.Width, d.info.Components
	to := d.pix[y*w*all:][:w*all]
	if all == 1 {
		copy(to, s.line[1:])
		return
	}
	for i, c := range h.components {
		from := s.line[i*(w+2)+1:]
		if s.stride > 1 {
			from = s.line[s.stride+i:]
		}
		for x := range w {
			to[x*all+c] = from[x*s.stride]
		}
	}
}
