package jpegls

import (
	"encoding/binary"

	"rootrule/imaging/dicomfile/codec"
	"rootrule/imaging/fault"
)

// Second bytes of markers (T.87 Table C.1, T.81 Table B.1).
const (
	markerSOF0  = 0xC0
	markerRST0  = 0xD0
	markerSOI   = 0xD8
	markerEOI   = 0xD9
	markerSOS   = 0xDA
	markerDNL   = 0xDC
	markerDRI   = 0xDD
	markerAPP8  = 0xE8
	markerSOF55 = 0xF7
	markerLSE   = 0xF8
)

// Memory that one frame may take, whatever its header claims: a fixed part for
// blank pictures, which compress without limit, and a part that grows with the
// stream. Common practice, no source.
const (
	memoryFloor   = 64 << 20
	memoryPerByte = 40
)

// next returns the marker at the current position and the segment that belongs
// to it, without its length (T.81 B.1.1.4).
func (d *decoder) next() (marker byte, segment []byte, err error) {
	if marker, err = d.nextMarker(); err != nil {
		return 0, nil, err
	}
	if marker >= markerRST0 && marker <= markerEOI {
		return marker, nil, nil
	}
	rest := d.data[d.pos:]
	if len(rest) < 2 {
		return 0, nil, fault.Malformed("jpeg-ls stream: cut short behind marker ff%02x; copy or export the file again", marker)
	}
	length := int(binary.BigEndian.Uint16(rest))
	if length < 2 || length > len(rest) {
		return 0, nil, fault.Malformed("jpeg-ls stream: marker ff%02x announces %d bytes, %d are left", marker, length, len(rest))
	}
	d.pos += length
	return marker, rest[2:length], nil
}

// nextMarker passes a marker and the fill bytes that may stand before it
// (T.81 B.1.1.2).
func (d *decoder) nextMarker() (byte, error) {
	start := d.pos
	for d.pos < len(d.data) && d.data[d.pos] == 0xFF {
		d.pos++
	}
	if d.pos >= len(d.data) {
		return 0, fault.Malformed("jpeg-ls stream: cut short: no end-of-image marker in %d bytes; copy or export the file again", len(d.data))
	}
	marker := d.data[d.pos]
	if d.pos == start || marker < 0x80 {
		return 0, fault.Malformed("jpeg-ls stream: byte %d is %#02x where a marker should be", d.pos, marker)
	}
	d.pos++
	return marker, nil
}

// misc handles the segments that may stand before or between scans and the
// frame header.
func (d *decoder) misc(marker byte, segment []byte) error {
	switch {
	case marker == markerSOF55:
		return d.readFrame(segment)
	case marker == markerLSE:
		return d.readPreset(segment)
	case marker == markerDRI:
		return d.readRestartInterval(segment)
	case marker == markerAPP8 && len(segment) == 5 && string(segment[:4]) == "mrfx" && segment[4] != 0:
		return fault.Unsupported("jpeg-ls stream: colour transform %d is not handled", segment[4])
	case marker == markerDNL:
		return fault.Unsupported("jpeg-ls stream: a number of lines behind the scan is not handled")
	case marker >= markerSOF0 && marker < markerRST0 && marker != 0xC4 && marker != 0xC8 && marker != 0xCC:
		return fault.Malformed("jpeg-ls stream: it has a frame header of another kind of JPEG (SOF%d)", marker-markerSOF0)
	case marker >= markerRST0 && marker <= markerSOI:
		return fault.Malformed("jpeg-ls stream: marker ff%02x stands where it can't, before byte %d", marker, d.pos)
	}
	return nil // comments and application data: passed by
}

// readFrame reads SOF55 (T.87 C.2.2; T.81 B.2.2).
func (d *decoder) readFrame(segment []byte) error {
	if len(d.ids) > 0 {
		return fault.Malformed("jpeg-ls stream: there is a second frame header")
	}
	if len(segment) < 6 || len(segment) != 6+3*int(segment[5]) {
		return fault.Malformed("jpeg-ls stream: the frame header has %d bytes, which fits no number of components", len(segment))
	}
	d.info = Info{
		Bits:       int(segment[0]),
		Height:     int(binary.BigEndian.Uint16(segment[1:])),
		Width:      int(binary.BigEndian.Uint16(segment[3:])),
		Components: int(segment[5]),
	}
	switch i := d.info; {
	case i.Bits < 2 || i.Bits > 16:
		return fault.Malformed("jpeg-ls stream: %d bits a sample; there are 2 to 16", i.Bits)
	case i.Components != 1 && i.Components != 3:
		return fault.Unsupported("jpeg-ls stream: %d components: only 1 and 3 are read", i.Components)
	case i.Width == 0 || i.Height == 0: // T.87 C.2.4.1.4 or a DNL segment would say more
		return fault.Unsupported("jpeg-ls stream: a size of %d × %d that other segments complete is not handled", i.Width, i.Height)
	}
	for n := range d.info.Components {
		id, sampling := segment[6+3*n], segment[7+3*n]
		if sampling != 0x11 && d.info.Components > 1 {
			return fault.Unsupported("jpeg-ls stream: component %d has sampling factors %d × %d: only 1 × 1 is read", n+1, sampling>>4, sampling&15)
		}
		for _, other := range d.ids {
			if other == id {
				return fault.Malformed("jpeg-ls stream: two components have the identifier %d", id)
			}
		}
		d.ids = append(d.ids, id)
	}
	d.decoded = make([]bool, len(d.ids))
	return nil
}

// readRestartInterval reads DRI, whose number may have two to four bytes
// (T.87 C.2.5). It counts lines.
func (d *decoder) readRestartInterval(segment []byte) error {
	if len(segment) < 2 || len(segment) > 4 {
		return fault.Malformed("jpeg-ls stream: the restart interval has %d bytes instead of 2 to 4", len(segment))
	}
	d.restart = 0
	for _, b := range segment {
		d.restart = d.restart<<8 | int(b)
	}
	return nil
}

// checkSize holds the size that the header claims against the length of the
// stream before anything is allocated: a line takes one bit or more, even when
// it is a single run (T.87 A.7.1.2).
func (d *decoder) checkSize() error {
	i := d.info
	if i.Height > 8*len(d.data) {
		return fault.Malformed("jpeg-ls stream: %d bytes can't hold %d lines; copy or export the file again", len(d.data), i.Height)
	}
	if i.Width > codec.MaxSamples/i.Height/i.Components {
		return fault.Unsupported("jpeg-ls stream: %d × %d pixels of %d components are more than the %d samples that are read", i.Width, i.Height, i.Components, codec.MaxSamples)
	}
	need, most := 2*i.Width*i.Height*i.Components, memoryFloor+memoryPerByte*len(d.data)
	if need > most {
		return fault.Unsupported("jpeg-ls stream: %d × %d pixels out of %d bytes would take %d MB of memory, more than the %d MB allowed", i.Width, i.Height, len(d.data), need>>20, most>>20)
	}
	return nil
}
