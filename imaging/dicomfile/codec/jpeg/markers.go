package jpeg

import (
	"encoding/binary"

	"rootrule/imaging/fault"
)

// Second bytes of markers (T.81 Table B.1).
const (
	markerTEM  = 0x01
	markerSOF0 = 0xC0
	markerDHT  = 0xC4
	markerJPG  = 0xC8
	markerDAC  = 0xCC
	markerRST0 = 0xD0
	markerRST7 = 0xD7
	markerSOI  = 0xD8
	markerEOI  = 0xD9
	markerSOS  = 0xDA
	markerDQT  = 0xDB
	markerDNL  = 0xDC
	markerDRI  = 0xDD
	markerDHP  = 0xDE
	markerEXP  = 0xDF
	markerAPP0 = 0xE0
	markerAPPE = 0xEE
)

func isRestart(marker byte) bool { return marker >= markerRST0 && marker <= markerRST7 }

// next returns the marker at the current position and the segment that belongs
// to it, without its length (T.81 B.1.1.4). A restart marker that is left over
// behind a scan means nothing and is passed by.
func (d *decoder) next() (marker byte, segment []byte, err error) {
	for {
		if marker, err = d.nextMarker(); err != nil {
			return 0, nil, err
		}
		switch {
		case isRestart(marker) || marker == markerTEM:
			continue
		case marker == markerEOI || marker == markerSOI:
			return marker, nil, nil
		}
		segment, err = d.nextSegment(marker)
		return marker, segment, err
	}
}

// nextMarker passes a marker and the fill bytes that may stand before it
// (T.81 B.1.1.2).
func (d *decoder) nextMarker() (byte, error) {
	start := d.pos
	for d.pos < len(d.data) && d.data[d.pos] == 0xFF {
		d.pos++
	}
	if d.pos >= len(d.data) {
		return 0, fault.Malformed("jpeg stream: cut short: no end-of-image marker in %d bytes; copy or export the file again", len(d.data))
	}
	marker := d.data[d.pos]
	if d.pos == start || marker == 0 {
		return 0, fault.Malformed("jpeg stream: byte %d is %#02x where a marker should be", d.pos, marker)
	}
	d.pos++
	return marker, nil
}

func (d *decoder) nextSegment(marker byte) ([]byte, error) {
	rest := d.data[d.pos:]
	if len(rest) < 2 {
		return nil, fault.Malformed("jpeg stream: cut short behind marker ff%02x; copy or export the file again", marker)
	}
	length := int(binary.BigEndian.Uint16(rest))
	if length < 2 || length > len(rest) {
		return nil, fault.Malformed("jpeg stream: marker ff%02x announces %d bytes, %d are left", marker, length, len(rest))
	}
	d.pos += length
	return rest[2:length], nil
}

// misc handles the segments that may stand anywhere before or between scans
// (T.81 B.2.4) and the frame header.
func (d *decoder) misc(marker byte, segment []byte) error {
	switch marker {
	case markerDQT:
		return d.readQuantTables(segment)
	case markerDHT:
		return d.readHuffmanTables(segment)
	case markerDRI:
		return d.readRestartInterval(segment)
	case markerDNL:
		return d.checkLines(segment)
	case markerAPP0, markerAPPE:
		d.readApplication(marker, segment)
		return nil
	case markerSOI:
		return fault.Malformed("jpeg stream: a second picture begins at byte %d before the first has ended", d.pos)
	case markerDAC:
		return fault.Unsupported("jpeg stream: arithmetic coding is not handled")
	case markerDHP, markerEXP:
		return fault.Unsupported("jpeg stream: hierarchical coding is not handled")
	}
	if marker >= markerSOF0 && marker <= 0xCF && marker != markerJPG {
		return d.readFrame(marker, segment)
	}
	return nil // comments, application data, reserved markers: passed by
}

// readQuantTables reads DQT (T.81 B.2.4.1).
func (d *decoder) readQuantTables(segment []byte) error {
	for len(segment) > 0 {
		wide, id := segment[0]>>4, segment[0]&15
		if wide > 1 || id > 3 {
			return fault.Malformed("jpeg stream: quantisation table %d of precision %d does not exist", id, wide)
		}
		size := 64 * (1 + int(wide))
		if len(segment) < 1+size {
			return fault.Malformed("jpeg stream: quantisation table %d has %d bytes instead of %d", id, len(segment)-1, size)
		}
		table := new([64]int32)
		for i, place := range zigzag {
			if wide == 1 {
				table[place] = int32(binary.BigEndian.Uint16(segment[1+2*i:]))
			} else {
				table[place] = int32(segment[1+i])
			}
		}
		d.quant[id] = table
		segment = segment[1+size:]
	}
	return nil
}

// readRestartInterval reads DRI (T.81 B.2.4.4).
func (d *decoder) readRestartInterval(segment []byte) error {
	if len(segment) != 2 {
		return fault.Malformed("jpeg stream: the restart interval has %d bytes instead of 2", len(segment))
	}
	d.restart = int(binary.BigEndian.Uint16(segment))
	return nil
}

// readApplication looks for the two application markers that speak of colour:
// JFIF (T.871 10.3) and Adobe (Adobe technical note 5116, section 18).
func (d *decoder) readApplication(marker byte, segment []byte) {
	switch {
	case marker == markerAPP0 && len(segment) >= 5 && string(segment[:5]) == "JFIF\x00":
		d.info.JFIF = true
	case marker == markerAPPE && len(segment) >= 12 && string(segment[:5]) == "Adobe":
		d.info.Adobe, d.info.AdobeTransform = true, int(segment[11])
	}
}
