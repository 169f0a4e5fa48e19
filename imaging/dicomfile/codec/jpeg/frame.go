package jpeg

import (
	"encoding/binary"

	"rootrule/imaging/dicomfile/codec"
	"rootrule/imaging/fault"
)

// Memory that one frame may take, whatever its header claims: a fixed part for
// blank pictures, which compress without limit, and a part that grows with the
// stream. Common practice, no source.
const (
	memoryFloor   = 64 << 20
	memoryPerByte = 40
)

// component is one component of the frame (T.81 B.2.2, A.1.1).
type component struct {
	index  int // in the frame header, and in a pixel of the raster
	id     byte
	h, v   int // sampling factors
	tq     byte
	quant  *[64]int32 // latched when the first scan of the component begins
	width  int        // samples (T.81 A.1.1)
	height int

	blocksX, blocksY int     // blocks that hold samples (T.81 A.2.2)
	stride           int     // blocks a row of coefs, filled up to whole units (A.2.4)
	coefs            []int16 // blocks of 64, natural order; all rows, or those of one row of units
	firstRow         int     // block row that coefs begins with

	plane      []uint16 // samples at the component's own resolution, nil when full
	planeWidth int      // a multiple of 8

	decoded bool     // sequential and lossless: its scan has come
	coded   [64]int8 // progressive: lowest bit decoded so far of each coefficient + 1, 0 none
}

// readFrame reads SOFn (T.81 B.2.2).
func (d *decoder) readFrame(marker byte, segment []byte) error {
	process := Process(marker - markerSOF0)
	if process > Lossless {
		return fault.Unsupported("jpeg stream: coding process SOF%d (hierarchical or arithmetic) is not handled", process)
	}
	if d.frame {
		return fault.Malformed("jpeg stream: there is a second frame header")
	}
	if len(segment) < 6 || len(segment) != 6+3*int(segment[5]) {
		return fault.Malformed("jpeg stream: the frame header has %d bytes, which fits no number of components", len(segment))
	}
	d.frame = true
	d.info.Process = process
	d.info.Bits = int(segment[0])
	d.info.Height = int(binary.BigEndian.Uint16(segment[1:]))
	d.info.Width = int(binary.BigEndian.Uint16(segment[3:]))
	d.info.Components = int(segment[5])
	if err := d.checkFrame(); err != nil {
		return err
	}
	if err := d.readComponents(segment[6:]); err != nil {
		return err
	}
	if d.info.Height > 0 {
		d.layOut()
	}
	return nil
}

func (d *decoder) checkFrame() error {
	i := d.info
	low, high := 8, 8
	switch i.Process {
	case Extended, Progressive:
		high = 12
	case Lossless:
		low, high = 2, 16
	}
	if i.Bits < low || i.Bits > high || (i.Process != Lossless && i.Bits != low && i.Bits != high) {
		return fault.Malformed("jpeg stream: %d bits a sample do not exist in the %s process", i.Bits, i.Process)
	}
	if i.Width == 0 {
		return fault.Malformed("jpeg stream: the picture is 0 pixels wide")
	}
	if i.Components != 1 && i.Components != 3 {
		return fault.Unsupported("jpeg stream: %d components: only 1 and 3 are read", i.Components)
	}
	return nil
}

func (d *decoder) readComponents(segment []byte) error {
	d.hMax, d.vMax = 1, 1
	for n := range d.info.Components {
		s := segment[3*n:]
		c := &component{index: n, id: s[0], h: int(s[1] >> 4), v: int(s[1] & 15), tq: s[2]}
		if c.h < 1 || c.h > 4 || c.v < 1 || c.v > 4 || c.tq > 3 {
			return fault.Malformed("jpeg stream: component %d has sampling factors %d × %d and quantisation table %d", n+1, c.h, c.v, c.tq)
		}
		for _, other := range d.comps {
			if other.id == c.id {
				return fault.Malformed("jpeg stream: two components have the identifier %d", c.id)
			}
		}
		d.info.IDs[n], d.info.Sampling[n] = c.id, [2]int{c.h, c.v}
		if d.info.Components == 1 {
			c.h, c.v = 1, 1 // T.81 A.2.2: alone, it is not interleaved whatever its factors
		}
		if d.info.Process == Lossless && c.h*c.v != 1 {
			return fault.Unsupported("jpeg stream: lossless coding with sampling factors %d × %d is not handled", c.h, c.v)
		}
		d.hMax, d.vMax = max(d.hMax, c.h), max(d.vMax, c.v)
		d.comps = append(d.comps, c)
	}
	return nil
}

// layOut works out the sizes of all components from those of the picture
// (T.81 A.1.1, A.2.3, A.2.4).
func (d *decoder) layOut() {
	d.mcusX = ceilDiv(d.info.Width, 8*d.hMax)
	d.mcusY = ceilDiv(d.info.Height, 8*d.vMax)
	for _, c := range d.comps {
		c.width = ceilDiv(d.info.Width*c.h, d.hMax)
		c.height = ceilDiv(d.info.Height*c.v, d.vMax)
		c.blocksX, c.blocksY = ceilDiv(c.width, 8), ceilDiv(c.height, 8)
		c.stride = d.mcusX * c.h
	}
}

func ceilDiv(a, b int) int { return (a + b - 1) / b }

// resolveLines finds the number of lines when the frame header left it open: in
// the DNL segment right behind the first scan (T.81 B.2.5).
func (d *decoder) resolveLines() error {
	if d.info.Height > 0 {
		return nil
	}
	ahead := decoder{data: d.data, pos: d.pos}
	for {
		ahead.pos = markerAt(ahead.data, ahead.pos)
		marker, err := ahead.nextMarker()
		if err != nil {
			return err
		}
		if isRestart(marker) {
			continue
		}
		if marker != markerDNL {
			return fault.Malformed("jpeg stream: the picture is 0 pixels high and no number of lines follows the first scan")
		}
		segment, err := ahead.nextSegment(marker)
		if err != nil {
			return err
		}
		if len(segment) != 2 || segment[0]|segment[1] == 0 {
			return fault.Malformed("jpeg stream: the number of lines behind the first scan is missing or 0")
		}
		d.info.Height = int(binary.BigEndian.Uint16(segment))
		d.layOut()
		return nil
	}
}

// checkLines compares a DNL segment with the height in use.
func (d *decoder) checkLines(segment []byte) error {
	if len(segment) != 2 || int(binary.BigEndian.Uint16(segment)) != d.info.Height {
		return fault.Malformed("jpeg stream: the number of lines behind the scan contradicts the height of %d", d.info.Height)
	}
	return nil
}

// checkSize holds the size that the header claims against the length of the
// stream before anything is allocated: every block, and every sample of a
// lossless picture, takes one bit or more (T.81 F.1.2, H.1.2).
func (d *decoder) checkSize() error {
	i := d.info
	bits := i.Width * i.Height * i.Components
	if i.Process != Lossless {
		bits = 0
		for _, c := range d.comps {
			bits += c.blocksX * c.blocksY
		}
	}
	if bits > 8*len(d.data) {
		return fault.Malformed("jpeg stream: %d bytes can't hold %d × %d pixels; copy or export the file again", len(d.data), i.Width, i.Height)
	}
	if i.Width > codec.MaxSamples/i.Height/i.Components {
		return fault.Unsupported("jpeg stream: %d × %d pixels of %d components are more than the %d samples that are read", i.Width, i.Height, i.Components, codec.MaxSamples)
	}
	return d.reserve(2 * i.Width * i.Height * i.Components)
}

// reserve counts memory that is about to be allocated and refuses what goes
// beyond the limit.
func (d *decoder) reserve(bytes int) error {
	d.memory += bytes
	if most := memoryFloor + memoryPerByte*len(d.data); d.memory > most {
		return fault.Unsupported("jpeg stream: %d × %d pixels out of %d bytes would take %d MB of memory, more than the %d MB allowed", d.info.Width, d.info.Height, len(d.data), d.memory>>20, most>>20)
	}
	return nil
}
