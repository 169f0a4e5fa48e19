package dicomfile

import (
	"encoding/binary"
	"slices"
	"strings"

	"github.com/suyashkumar/dicom/pkg/tag"

	"rootrule/imaging/fault"
)

// maxValue bounds one header value that is kept. The largest legitimate one is
// a lookup table of 65,536 entries of 16 bits (PS3.3 C.11.1.1); twice that is
// room for a segmented one.
const maxValue = 256 << 10

// cleaner walks a data set of any dialect and writes what the program wants of
// it as well-formed explicit VR little endian: the only thing the DICOM
// library is ever given. Walking checks every length against the file, every
// nesting against [maxDepth], and copies nothing that is not wanted, so that
// neither time nor memory can exceed what the file's size allows.
type cleaner struct {
	src      *source
	out      []byte
	cautions []string
	// Set aside from the top level of the data set: the library would decode
	// text by charset, and pixels are read by frame.
	charset       string
	pixels        *element
	offsets       *element // Extended Offset Table (PS3.5 A.4)
	floatingPoint bool
}

func (w *cleaner) caution(text string) {
	if !slices.Contains(w.cautions, text) {
		w.cautions = append(w.cautions, text)
	}
}

// dataSet walks the elements from at to limit, or to the end mark of the item
// they are in, and returns where it stopped.
func (w *cleaner) dataSet(at, limit int64, c coding, depth int, keep bool) (int64, error) {
	if depth > maxDepth {
		return 0, fault.Malformed("reading a DICOM file: sequences nest more than %d deep at byte %d: refused as damaged", maxDepth, at)
	}
	var seen []tag.Tag
	for at < limit {
		if depth == 0 && w.padding(at) {
			return limit, nil
		}
		e, err := w.src.elementAt(at, limit, c)
		if err != nil {
			return 0, err
		}
		if e.tag == itemEndTag {
			return e.value, nil
		}
		if e.tag == pixelDataTag && depth == 0 {
			w.pixels = &e
			return e.value, nil // nothing behind the pixels is wanted
		}
		if depth == 0 {
			if err := w.setAside(e); err != nil {
				return 0, err
			}
		}
		_, want := wantedVR(e.tag)
		want = want && keep && !slices.Contains(seen, e.tag) && !(depth == 0 && e.tag == tag.SpecificCharacterSet)
		if want {
			seen = append(seen, e.tag)
		}
		if at, err = w.element(e, limit, c, depth, want); err != nil {
			return 0, err
		}
	}
	return at, nil
}

// padding reports whether only zeros follow that are too few for an element.
func (w *cleaner) padding(at int64) bool {
	rest := w.src.size - at
	if rest >= shortHeaderSize {
		return false
	}
	b, err := w.src.bytes(at, int(rest))
	return err == nil && strings.Trim(string(b), "\x00") == ""
}

// setAside notes the elements of the top level that are treated on their own.
func (w *cleaner) setAside(e element) error {
	switch e.tag {
	case tag.ExtendedOffsetTable:
		w.offsets = &e
	case tag.FloatPixelData, tag.DoubleFloatPixelData:
		w.floatingPoint = true
	case tag.SpecificCharacterSet:
		if e.length > 1024 { // eight terms of 16 characters are more than any file has
			return nil
		}
		b, err := w.src.bytes(e.value, int(e.length))
		w.charset = string(b)
		return err
	}
	return nil
}

// element walks over one element, writes it if it is wanted, and returns where
// the next one begins.
func (w *cleaner) element(e element, limit int64, c coding, depth int, keep bool) (int64, error) {
	vr := e.vr
	if want, ok := wantedVR(e.tag); ok && (vr == "UN" || !shortVRs[vr] && !longVRs[vr]) {
		vr = want
	}
	switch {
	case e.undefined() && (vr == "OB" || vr == "OW" || e.tag == pixelDataTag):
		return w.skipFragments(e, limit)
	case e.undefined():
		return w.sequence(e, limit, c, depth, keep)
	case keep && vr == "SQ":
		w.definedSequence(e, c, depth)
	case keep:
		return e.end(), w.value(e, vr, c)
	}
	return e.end(), nil
}

// definedSequence writes a sequence whose length is known. A fault inside it
// costs the sequence, not the file.
func (w *cleaner) definedSequence(e element, c coding, depth int) {
	start := len(w.out)
	if _, err := w.sequence(e, e.end(), c, depth, true); err != nil {
		w.out = w.out[:start]
		w.caution("a damaged group of header values was left out")
	}
}

// sequence walks the items of a sequence (PS3.5 7.5).
func (w *cleaner) sequence(e element, limit int64, c coding, depth int, keep bool) (int64, error) {
	if keep {
		w.header(e.tag, "SQ", undefinedLength)
	}
	if e.vr == "UN" {
		c.order = binary.LittleEndian // PS3.5 6.2.2
	}
	at := e.value
	for at < limit {
		item, err := w.src.elementAt(at, limit, c)
		if err != nil {
			return 0, err
		}
		if item.tag == sequenceEndTag {
			at = item.value
			break
		}
		if item.tag != itemTag {
			return 0, fault.Malformed("reading a DICOM file: sequence %v holds %v at byte %d where an item should be: copy or export the file again", e.tag, item.tag, at)
		}
		if at, err = w.item(e, item, limit, c, depth, keep); err != nil {
			return 0, err
		}
	}
	if keep {
		w.delimiter(sequenceEndTag, 0)
	}
	return at, nil
}

func (w *cleaner) item(e, item element, limit int64, c coding, depth int, keep bool) (int64, error) {
	if !item.undefined() {
		limit = item.end()
	}
	if keep {
		w.delimiter(itemTag, undefinedLength)
	}
	at := limit
	if keep || item.undefined() {
		inner := w.src.itemCoding(e, item, limit, c)
		var err error
		if at, err = w.dataSet(item.value, limit, inner, depth+1, keep); err != nil {
			return 0, err
		}
	}
	if keep {
		w.delimiter(itemEndTag, 0)
	}
	return at, nil
}

// skipFragments walks over the fragments of an encapsulated value (PS3.5 A.4)
// that is not wanted, such as that of an icon.
func (w *cleaner) skipFragments(e element, limit int64) (int64, error) {
	for at := e.value; at < limit; {
		item, err := w.src.elementAt(at, limit, explicitLittle)
		if err != nil {
			return 0, err
		}
		if item.tag == sequenceEndTag {
			return item.value, nil
		}
		if item.tag != itemTag || item.undefined() {
			return 0, fault.Malformed("reading a DICOM file: fragments of %v hold %v at byte %d: copy or export the file again", e.tag, item.tag, at)
		}
		at = item.end()
	}
	return 0, cutShort(limit+shortHeaderSize, limit)
}

// value writes one value, in little endian and in whole numbers of values.
func (w *cleaner) value(e element, vr string, c coding) error {
	if e.length > maxValue || shortVRs[vr] && e.length > 0xFFFE {
		w.caution("an overlong header value was left out")
		return nil
	}
	b, err := w.src.bytes(e.value, int(e.length))
	if err != nil {
		return err
	}
	width := valueWidth(vr)
	b = b[:len(b)/width*width]
	if vr == "OW" {
		vr = "OB" // same bytes; the library reads words one by one
	}
	w.header(e.tag, vr, uint32(len(b)))
	value := len(w.out)
	w.out = append(w.out, b...)
	if c.order == binary.BigEndian && e.vr != "UN" {
		swap(w.out[value:], width)
	}
	return nil
}

// valueWidth returns the size of one value of a VR in bytes (PS3.5 table 6.2-1);
// 1 for text and bytes.
func valueWidth(vr string) int {
	switch vr {
	case "US", "SS", "OW", "AT":
		return 2
	case "UL", "SL", "FL", "OF", "OL":
		return 4
	case "FD", "OD", "OV", "SV", "UV":
		return 8
	}
	return 1
}

// swap reverses the bytes of each value in b. An AT is two 16-bit numbers.
func swap(b []byte, width int) {
	for i := 0; i+width <= len(b); i += width {
		slices.Reverse(b[i : i+width])
	}
}

// header writes tag, VR and length in explicit VR little endian.
func (w *cleaner) header(t tag.Tag, vr string, length uint32) {
	w.out = binary.LittleEndian.AppendUint16(w.out, t.Group)
	w.out = binary.LittleEndian.AppendUint16(w.out, t.Element)
	w.out = append(w.out, vr...)
	if shortVRs[vr] {
		w.out = binary.LittleEndian.AppendUint16(w.out, uint16(length))
		return
	}
	w.out = append(w.out, 0, 0)
	w.out = binary.LittleEndian.AppendUint32(w.out, length)
}

// delimiter writes an item or an end mark, which have no VR.
func (w *cleaner) delimiter(t tag.Tag, length uint32) {
	w.out = binary.LittleEndian.AppendUint16(w.out, t.Group)
	w.out = binary.LittleEndian.AppendUint16(w.out, t.Element)
	w.out = binary.LittleEndian.AppendUint32(w.out, length)
}
