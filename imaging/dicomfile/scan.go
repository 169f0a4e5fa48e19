package dicomfile

import (
	"encoding/binary"
	"math"

	"github.com/suyashkumar/dicom/pkg/tag"

	"rootrule/imaging/fault"
)

// undefinedLength marks a value that ends with a delimiter (PS3.5 7.1.1).
const undefinedLength = math.MaxUint32

// maxDepth bounds how deep sequences may nest. Structured reports nest about
// ten deep; nothing a radiograph carries comes near. Ours, no source.
const maxDepth = 48

// Delimiters of sequences and items (PS3.5 7.5).
var (
	itemTag         = tag.Tag{Group: 0xFFFE, Element: 0xE000}
	itemEndTag      = tag.Tag{Group: 0xFFFE, Element: 0xE00D}
	sequenceEndTag  = tag.Tag{Group: 0xFFFE, Element: 0xE0DD}
	pixelDataTag    = tag.PixelData
	delimiterGroup  = uint16(0xFFFE)
	metaGroup       = uint16(0x0002)
	shortHeaderSize = int64(8)
	longHeaderSize  = int64(12)
)

// coding is how a data set is written (PS3.5 section 7 and annex A).
type coding struct {
	order    binary.ByteOrder
	implicit bool
}

var explicitLittle = coding{order: binary.LittleEndian}

// element is where one data element lies in a source.
type element struct {
	tag    tag.Tag
	vr     string // two letters as the file says; empty where it says none
	length uint32
	value  int64 // offset of the value's first byte
}

func (e element) undefined() bool { return e.length == undefinedLength }

// end returns the offset behind a value of defined length.
func (e element) end() int64 { return e.value + int64(e.length) }

// elementAt reads the header of the element at off. A value of defined length
// that reaches beyond limit is an error.
func (s *source) elementAt(off, limit int64, c coding) (element, error) {
	if limit-off < shortHeaderSize {
		return element{}, cutShort(off+shortHeaderSize, limit)
	}
	b, err := s.bytes(off, int(min(longHeaderSize, limit-off)))
	if err != nil {
		return element{}, err
	}
	e := parseHeader(b, off, c)
	if e.value > limit || !e.undefined() && int64(e.length) > limit-e.value {
		return element{}, fault.Malformed("reading a DICOM file: element %v at byte %d claims %d bytes, %d are left: copy or export the file again",
			e.tag, off, e.length, max(0, limit-e.value))
	}
	return e, nil
}

// parseHeader reads tag, VR and length from the 8 to 12 bytes b at off.
func parseHeader(b []byte, off int64, c coding) element {
	e := element{tag: tag.Tag{Group: c.order.Uint16(b), Element: c.order.Uint16(b[2:])}}
	long := c.order.Uint32(b[4:])
	if e.tag.Group == delimiterGroup || c.implicit || !letters(b[4:6]) {
		e.length, e.value = long, off+shortHeaderSize
		return e
	}
	e.vr = string(b[4:6])
	e.length, e.value = uint32(c.order.Uint16(b[6:])), off+shortHeaderSize
	if longForm(e.vr, b[6] == 0 && b[7] == 0) {
		e.value = off + longHeaderSize
		e.length = undefinedLength - 1 // refused as too long unless the header is whole
		if len(b) >= int(longHeaderSize) {
			e.length = c.order.Uint32(b[8:])
		}
	}
	return e
}

// letters reports whether b could be a value representation.
func letters(b []byte) bool {
	return 'A' <= b[0] && b[0] <= 'Z' && 'A' <= b[1] && b[1] <= 'Z'
}

// shortVRs are the value representations with a 16-bit length (PS3.5 7.1.2).
var shortVRs = map[string]bool{
	"AE": true, "AS": true, "AT": true, "CS": true, "DA": true, "DS": true, "DT": true,
	"FL": true, "FD": true, "IS": true, "LO": true, "LT": true, "PN": true, "SH": true,
	"SL": true, "SS": true, "ST": true, "TM": true, "UI": true, "UL": true, "US": true,
}

// longVRs are those with two reserved bytes and a 32-bit length.
var longVRs = map[string]bool{
	"OB": true, "OD": true, "OF": true, "OL": true, "OV": true, "OW": true, "SQ": true,
	"SV": true, "UC": true, "UN": true, "UR": true, "UT": true, "UV": true,
}

// longForm reports whether a VR has the long header. A VR unknown to us is one
// of a later standard, which has the long form (PS3.5 6.2), if its reserved
// bytes are zero.
func longForm(vr string, reservedZero bool) bool {
	return longVRs[vr] || !shortVRs[vr] && reservedZero
}

// itemCoding returns how the data set inside an item is written: as the data
// set around it, except that the content of a value of unknown representation
// is implicit little endian (PS3.5 6.2.2), which some writers ignore. The
// first element decides.
func (s *source) itemCoding(e element, item element, limit int64, around coding) coding {
	if around.implicit || e.vr != "UN" && e.vr != "" {
		return around
	}
	if limit-item.value < shortHeaderSize {
		return around
	}
	b, err := s.bytes(item.value, int(shortHeaderSize))
	if err != nil || letters(b[4:6]) || around.order.Uint16(b) == delimiterGroup {
		return around
	}
	return coding{order: binary.LittleEndian, implicit: true}
}
