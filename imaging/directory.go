package imaging

import (
	"encoding/binary"

	"rootrule/measure"
)

// Tags of TIFF 6.0, section 8, which Exif shares.
const (
	tagPhotometric    = 262 // 0: white is zero
	tagOrientation    = 274
	tagXResolution    = 282
	tagYResolution    = 283
	tagResolutionUnit = 296 // 2: inch, 3: centimetre
)

// directory is the first image file directory of a TIFF or Exif block, tag by
// tag (TIFF 6.0, section 2): short and long values, and rationals as numbers.
type directory map[uint16]float64

// Limits on how much of a directory is read: real files have far fewer.
const (
	maxEntries = 4096
	maxPages   = 10_000
)

// readDirectory reads the first directory and counts how many are chained.
// Anything out of range is left out: the pixels decide whether a file is good.
func readDirectory(data []byte) (directory, int) {
	d := directory{}
	if len(data) < 8 {
		return d, 0
	}
	var order binary.ByteOrder = binary.LittleEndian
	if data[0] == 'M' {
		order = binary.BigEndian
	}
	pages := 0
	seen := map[uint32]bool{}
	for off := order.Uint32(data[4:]); off != 0 && !seen[off] && pages < maxPages; {
		seen[off] = true
		n, ok := countEntries(data, off, order)
		if !ok {
			break
		}
		if pages == 0 {
			d.fill(data, data[off+2:int(off)+2+12*n], order)
		}
		pages++
		next := int(off) + 2 + 12*n
		if next+4 > len(data) {
			break
		}
		off = order.Uint32(data[next:])
	}
	return d, pages
}

// countEntries reads the entry count of the directory at off.
func countEntries(data []byte, off uint32, order binary.ByteOrder) (int, bool) {
	if int64(off)+2 > int64(len(data)) {
		return 0, false
	}
	n := int(order.Uint16(data[off:]))
	return n, n <= maxEntries && int(off)+2+12*n <= len(data)
}

// fill reads entries of 12 bytes: tag, type, count, value or offset.
func (d directory) fill(data, entries []byte, order binary.ByteOrder) {
	for ; len(entries) >= 12; entries = entries[12:] {
		tag, kind := order.Uint16(entries), order.Uint16(entries[2:])
		switch kind {
		case 3: // short
			d[tag] = float64(order.Uint16(entries[8:]))
		case 4: // long
			d[tag] = float64(order.Uint32(entries[8:]))
		case 5: // rational, stored elsewhere
			at := int64(order.Uint32(entries[8:]))
			if at+8 > int64(len(data)) {
				continue
			}
			num, den := order.Uint32(data[at:]), order.Uint32(data[at+4:])
			if den != 0 {
				d[tag] = float64(num) / float64(den)
			}
		}
	}
}

// number returns a tag's value, or def where the file has none.
func (d directory) number(tag uint16, def float64) float64 {
	if v, ok := d[tag]; ok {
		return v
	}
	return def
}

func (d directory) turn() Turn { return Turn(d.number(tagOrientation, 1)) }

// spacing reads the resolution tags.
func (d directory) spacing(where string) (measure.Spacing, []string) {
	perMM := map[float64]float64{2: 1 / mmPerInch, 3: 0.1}[d.number(tagResolutionUnit, 2)]
	return scanSpacing(d[tagXResolution]*perMM, d[tagYResolution]*perMM, where)
}
