package jpeg

import "rootrule/imaging/fault"

// spareBits is how much may be left over between the last code of a scan and
// the next marker: encoders fill a byte up (T.81 F.1.2.3), some a whole 64-bit
// word. More means that the codes were read wrongly. From practice, no source.
const spareBits = 64 + 7

// maxScans bounds how often a progressive stream may pass over the picture:
// encoders use about ten scans, a hostile stream could ask for thousands. From
// practice, no source.
const maxScans = 100

// scan is one pass over the picture (T.81 B.2.3).
type scan struct {
	bits
	comps  []*scanComponent
	ss, se int  // spectral selection; in a lossless scan ss is the predictor
	ah, al uint // successive approximation; in a lossless scan al is the point transform
	mcusX  int  // units a row, and rows
	mcusY  int

	interval int  // units between restart markers, 0 none
	due      int  // units up to the next of them
	number   byte // which one, 0–7
	eobRun   int  // progressive: blocks that end here (T.81 G.1.2.2)
}

// scanComponent is a component with what the scan uses for it.
type scanComponent struct {
	*component
	dc, ac *huffman
	pred   int32 // DC prediction (T.81 F.1.1.5.1)
	h, v   int   // blocks of one unit: the sampling factors, or 1 when alone
}

// scan decodes the scan whose header segment is given; the entropy-coded data
// begin at the current position.
func (d *decoder) scan(segment []byte) error {
	if d.scans++; d.scans > maxScans {
		return fault.Unsupported("jpeg stream: it has more than %d scans", maxScans)
	}
	s, err := d.readScanHeader(segment)
	if err != nil {
		return err
	}
	s.bits = bits{data: d.data, pos: d.pos}
	s.interval, s.due = d.restart, d.restart
	switch {
	case d.info.Process == Lossless:
		err = d.losslessScan(s)
	default:
		err = d.dctScan(s)
	}
	if err != nil {
		return err
	}
	if spare := s.spare(); spare > spareBits {
		return fault.Malformed("jpeg stream: %d bytes are left over behind the last pixel of a scan: its data are damaged", spare/8)
	}
	d.pos = markerAt(d.data, s.pos)
	return nil
}

// readScanHeader reads SOS (T.81 B.2.3).
func (d *decoder) readScanHeader(segment []byte) (*scan, error) {
	if len(segment) < 1 || len(segment) != 4+2*int(segment[0]) {
		return nil, fault.Malformed("jpeg stream: the scan header has %d bytes, which fits no number of components", len(segment))
	}
	n := int(segment[0])
	last := segment[1+2*n:]
	s := &scan{ss: int(last[0]), se: int(last[1]), ah: uint(last[2] >> 4), al: uint(last[2] & 15)}
	if n < 1 || n > len(d.comps) {
		return nil, fault.Malformed("jpeg stream: a scan of %d components in a picture of %d", n, len(d.comps))
	}
	for i := range n {
		if err := d.addComponent(s, segment[1+2*i], segment[2+2*i]); err != nil {
			return nil, err
		}
	}
	d.layOutScan(s)
	return s, nil
}

func (d *decoder) addComponent(s *scan, id, tables byte) error {
	var c *component
	for _, known := range d.comps {
		if known.id == id {
			c = known
		}
	}
	if c == nil {
		return fault.Malformed("jpeg stream: a scan names component %d, which the frame does not have", id)
	}
	for _, other := range s.comps {
		if other.component == c {
			return fault.Malformed("jpeg stream: a scan names component %d twice", id)
		}
	}
	if tables>>4 > 3 || tables&15 > 3 {
		return fault.Malformed("jpeg stream: a scan names huffman tables %d and %d; there are 0 to 3", tables>>4, tables&15)
	}
	s.comps = append(s.comps, &scanComponent{
		component: c, h: c.h, v: c.v,
		dc: d.tables[classDC][tables>>4], ac: d.tables[classAC][tables&15],
	})
	return nil
}

// layOutScan sets the number of units: of several components interleaved, or of
// the blocks of a single one that hold samples (T.81 A.2.2, A.2.3).
func (d *decoder) layOutScan(s *scan) {
	s.mcusX, s.mcusY = d.mcusX, d.mcusY
	if len(s.comps) == 1 {
		c := s.comps[0]
		c.h, c.v = 1, 1
		s.mcusX, s.mcusY = c.blocksX, c.blocksY
	}
}

// restartIfDue passes the restart marker when an interval is complete and more
// units follow (T.81 F.2.2.4, E.2.4): predictions begin anew. It reports
// whether there was one. The caller counts units with s.due.
func (s *scan) restartIfDue() (bool, error) {
	if s.interval == 0 || s.due > 0 {
		return false, nil
	}
	if s.short() {
		return false, s.cutShort()
	}
	if spare := s.spare(); spare > spareBits {
		return false, fault.Malformed("jpeg stream: %d bytes are left over in a restart interval: its data are damaged", spare/8)
	}
	at := decoder{data: s.data, pos: markerAt(s.data, s.pos)}
	marker, err := at.nextMarker()
	if err != nil {
		return false, err
	}
	if marker != markerRST0+s.number {
		return false, fault.Malformed("jpeg stream: marker ff%02x stands where restart marker %d should", marker, s.number)
	}
	s.reset(at.pos)
	s.number = (s.number + 1) & 7
	s.due = s.interval
	s.eobRun = 0
	for _, c := range s.comps {
		c.pred = 0
	}
	return true, nil
}

func (s *scan) cutShort() error {
	return fault.Malformed("jpeg stream: the data of a scan end before its last pixel; copy or export the file again")
}

func (s *scan) badCode() error {
	if s.short() {
		return s.cutShort()
	}
	return fault.Malformed("jpeg stream: damaged huffman code near byte %d of %d", s.pos, len(s.data))
}
