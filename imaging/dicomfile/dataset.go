package dicomfile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/suyashkumar/dicom"
	"github.com/suyashkumar/dicom/pkg/tag"

	"rootrule/imaging/fault"
)

// dataSet is one parsed set of elements with its text decoder. Its getters
// take any representation a writer may have chosen for a value and report an
// absent, empty or unreadable value as absent.
type dataSet struct {
	elements map[tag.Tag]*dicom.Element
	text     decoder
}

// preamble opens the stream the library is given: 128 zeros, "DICM" and the
// file meta group of explicit VR little endian (PS3.10 7.1).
var preamble = func() []byte {
	const syntax = "1.2.840.10008.1.2.1\x00"
	w := cleaner{out: append(make([]byte, 128), "DICM"...)}
	w.header(tag.FileMetaInformationGroupLength, "UL", 4)
	w.out = binary.LittleEndian.AppendUint32(w.out, uint32(8+len(syntax)))
	w.header(tag.TransferSyntaxUID, "UI", uint32(len(syntax)))
	return append(w.out, syntax...)
}()

// parse hands a cleaned data set to the library. The library panics on some
// damaged input; what reaches it here is well-formed, and should it panic all
// the same, the file is reported as damaged.
func parse(clean []byte, charset string) (d dataSet, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fault.Malformed("reading the header of a DICOM file: a value is damaged: copy or export the file again")
		}
	}()
	in := io.MultiReader(bytes.NewReader(preamble), bytes.NewReader(clean))
	p, err := dicom.NewParser(in, int64(len(preamble)+len(clean)), nil)
	if err != nil {
		return d, fault.Malformed("reading the header of a DICOM file: %w", err)
	}
	var elements []*dicom.Element
	for {
		e, err := p.Next()
		if errors.Is(err, dicom.ErrorEndOfDICOM) {
			return newDataSet(elements, newDecoder(charset)), nil
		}
		if err != nil {
			return d, fault.Malformed("reading the header of a DICOM file: a value can't be read: copy or export the file again")
		}
		elements = append(elements, e)
	}
}

// newDataSet indexes elements by tag. A character set of its own, as an item
// may have, replaces the one of the data set around it (PS3.3 C.12.1.1.2).
func newDataSet(elements []*dicom.Element, around decoder) dataSet {
	d := dataSet{elements: make(map[tag.Tag]*dicom.Element, len(elements)), text: around}
	for _, e := range elements {
		d.elements[e.Tag] = e
	}
	if own := d.raw(tag.SpecificCharacterSet); len(own) > 0 {
		d.text = newDecoder(strings.Join(own, `\`))
	}
	return d
}

func (d dataSet) has(t tag.Tag) bool { return d.elements[t] != nil }

// raw returns the values of t as undecoded text, numbers written out.
func (d dataSet) raw(t tag.Tag) []string {
	e := d.elements[t]
	if e == nil || e.Value == nil {
		return nil
	}
	var texts []string
	switch v := e.Value.GetValue().(type) {
	case []string:
		texts = v
	case []byte:
		texts = strings.Split(string(v), `\`)
	case []int:
		for _, n := range v {
			texts = append(texts, strconv.Itoa(n))
		}
	case []float64:
		for _, x := range v {
			texts = append(texts, strconv.FormatFloat(x, 'g', -1, 64))
		}
	}
	if len(texts) == 1 && strings.Trim(texts[0], " \x00") == "" {
		return nil
	}
	return texts
}

// texts returns the values of t in UTF-8, without padding.
func (d dataSet) texts(t tag.Tag) []string {
	raw := d.raw(t)
	if raw == nil {
		return nil
	}
	// Joined again: a backslash may be half of a two-byte character.
	out := d.text.values(strings.Join(raw, `\`), t == tag.PatientName)
	for i, s := range out {
		out[i] = strings.Trim(s, " \x00\t\r\n")
	}
	return out
}

// line returns the first value of t in UTF-8, or "".
func (d dataSet) line(t tag.Tag) string {
	if v := d.texts(t); len(v) > 0 {
		return v[0]
	}
	return ""
}

// numbers returns the values of t as numbers; nil if any of them is none, or
// isn't finite.
func (d dataSet) numbers(t tag.Tag) []float64 {
	e := d.elements[t]
	if e == nil || e.Value == nil {
		return nil
	}
	var out []float64
	switch v := e.Value.GetValue().(type) {
	case []int:
		for _, n := range v {
			out = append(out, float64(n))
		}
	case []float64:
		out = v
	default:
		for _, s := range d.raw(t) {
			x, err := parseDecimal(s)
			if err != nil {
				return nil
			}
			out = append(out, x)
		}
	}
	for _, x := range out {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return nil
		}
	}
	return out
}

// parseDecimal reads a decimal string (PS3.5 6.2, DS). A decimal comma, which
// some writers use against the standard, is taken for the point.
func parseDecimal(s string) (float64, error) {
	s = strings.Trim(s, " \x00")
	if strings.ContainsAny(s, "xXpP_") {
		return 0, strconv.ErrSyntax // Go would read hexadecimal
	}
	return strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
}

// number returns the first value of t.
func (d dataSet) number(t tag.Tag) (float64, bool) {
	if v := d.numbers(t); len(v) > 0 {
		return v[0], true
	}
	return 0, false
}

// integer returns the first value of t if it is a whole number that fits int32.
func (d dataSet) integer(t tag.Tag) (int, bool) {
	x, ok := d.number(t)
	if !ok || x != math.Trunc(x) || math.Abs(x) > math.MaxInt32 {
		return 0, false
	}
	return int(x), true
}

// bytesOf returns a value of bytes, 16-bit numbers as little endian pairs.
func (d dataSet) bytesOf(t tag.Tag) []byte {
	e := d.elements[t]
	if e == nil || e.Value == nil {
		return nil
	}
	switch v := e.Value.GetValue().(type) {
	case []byte:
		return v
	case []int:
		out := make([]byte, 0, 2*len(v))
		for _, n := range v {
			out = binary.LittleEndian.AppendUint16(out, uint16(n))
		}
		return out
	}
	return nil
}

// items returns the items of sequence t.
func (d dataSet) items(t tag.Tag) []dataSet {
	e := d.elements[t]
	if e == nil || e.Value == nil {
		return nil
	}
	seq, ok := e.Value.GetValue().([]*dicom.SequenceItemValue)
	if !ok {
		return nil
	}
	out := make([]dataSet, 0, len(seq))
	for _, item := range seq {
		elements, _ := item.GetValue().([]*dicom.Element)
		out = append(out, newDataSet(elements, d.text))
	}
	return out
}

// item returns the first item of sequence t, or an empty data set.
func (d dataSet) item(t tag.Tag) dataSet {
	if items := d.items(t); len(items) > 0 {
		return items[0]
	}
	return dataSet{text: d.text}
}
