package dicomfile

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"fmt"
	"strings"
	"testing"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// attr is one data element of a file that a test builds. Value is a string,
// []byte, []uint16 (written in the file's byte order), []attr (a sequence of
// one item), [][]attr, fragments or rawBytes.
type attr struct {
	tag   tag.Tag
	vr    string
	value any
}

// fragments is encapsulated pixel data: an offset table and pieces.
type fragments struct {
	table  []uint32
	pieces [][]byte
	noEnd  bool
}

// build describes how a test file is written.
type build struct {
	syntax            string
	claimed           string // in the meta group, where not syntax
	noPreamble        bool
	noMeta            bool
	noGroupLength     bool
	undefinedSequence bool
	attrs             []attr
}

// bytes writes the file.
func (b build) bytes(t testing.TB) []byte {
	t.Helper()
	s := syntaxOf(b.syntax)
	var data []byte
	for _, a := range b.attrs {
		data = b.element(data, a, s.coding)
	}
	if s.deflated {
		var out bytes.Buffer
		w, _ := flate.NewWriter(&out, flate.BestSpeed)
		_, _ = w.Write(data)
		w.Close()
		data = out.Bytes()
	}
	var head []byte
	if !b.noPreamble {
		head = append(make([]byte, 128), "DICM"...)
	}
	if b.noMeta {
		return append(head, data...)
	}
	claimed := b.syntax
	if b.claimed != "" {
		claimed = b.claimed
	}
	meta := b.element(nil, attr{tag.TransferSyntaxUID, "UI", claimed}, explicitLittle)
	if !b.noGroupLength {
		head = b.element(head, attr{tag.FileMetaInformationGroupLength, "UL", binary.LittleEndian.AppendUint32(nil, uint32(len(meta)))}, explicitLittle)
	}
	return append(append(head, meta...), data...)
}

func (b build) element(out []byte, a attr, c coding) []byte {
	switch v := a.value.(type) {
	case []attr:
		return b.sequence(out, a, [][]attr{v}, c)
	case [][]attr:
		return b.sequence(out, a, v, c)
	case fragments:
		return encapsulate(b.head(out, a, undefinedLength, c), v)
	case rawBytes:
		return append(b.head(out, a, undefinedLength, c), v...)
	}
	value := plainValue(a.value, c)
	return append(b.head(out, a, uint32(len(value)), c), value...)
}

func plainValue(value any, c coding) []byte {
	var out []byte
	switch v := value.(type) {
	case string:
		out = []byte(v)
		if len(out)%2 == 1 {
			out = append(out, ' ')
		}
	case []byte:
		out = v
	case []uint16:
		for _, n := range v {
			out = appendOrder(c, out, n)
		}
	default:
		panic(fmt.Sprintf("a value of type %T", value))
	}
	return out
}

func appendOrder(c coding, out []byte, n uint16) []byte {
	if c.order == binary.BigEndian {
		return binary.BigEndian.AppendUint16(out, n)
	}
	return binary.LittleEndian.AppendUint16(out, n)
}

func (b build) head(out []byte, a attr, length uint32, c coding) []byte {
	out = appendOrder(c, appendOrder(c, out, a.tag.Group), a.tag.Element)
	long := func() {
		var n [4]byte
		c.order.PutUint32(n[:], length)
		out = append(out, n[:]...)
	}
	switch {
	case c.implicit || a.tag.Group == 0xFFFE:
		long()
	case shortVRs[a.vr]:
		out = appendOrder(c, append(out, a.vr...), uint16(length))
	default:
		out = append(append(out, a.vr...), 0, 0)
		long()
	}
	return out
}

func (b build) sequence(out []byte, a attr, items [][]attr, c coding) []byte {
	var body []byte
	for _, item := range items {
		var content []byte
		for _, e := range item {
			content = b.element(content, e, c)
		}
		length := uint32(len(content))
		if b.undefinedSequence {
			length = undefinedLength
		}
		body = append(b.head(body, attr{tag: itemTag}, length, c), content...)
		if b.undefinedSequence {
			body = b.head(body, attr{tag: itemEndTag}, 0, c)
		}
	}
	if !b.undefinedSequence {
		return append(b.head(out, a, uint32(len(body)), c), body...)
	}
	out = append(b.head(out, a, undefinedLength, c), body...)
	return b.head(out, attr{tag: sequenceEndTag}, 0, c)
}

func encapsulate(out []byte, f fragments) []byte {
	item := func(t tag.Tag, value []byte) {
		out = binary.LittleEndian.AppendUint16(out, t.Group)
		out = binary.LittleEndian.AppendUint16(out, t.Element)
		out = binary.LittleEndian.AppendUint32(out, uint32(len(value)))
		out = append(out, value...)
	}
	var table []byte
	for _, n := range f.table {
		table = binary.LittleEndian.AppendUint32(table, n)
	}
	item(itemTag, table)
	for _, p := range f.pieces {
		item(itemTag, p)
	}
	if !f.noEnd {
		item(sequenceEndTag, nil)
	}
	return out
}

// picture returns the attributes of a grey picture, which the caller may
// change by tag.
func picture(width, height, allocated, stored int, pixels any) []attr {
	vr := "OW"
	if allocated <= 8 {
		vr = "OB"
	}
	return []attr{
		{tag.SOPClassUID, "UI", "1.2.840.10008.5.1.4.1.1.1.3"},
		{tag.Modality, "CS", "IO"},
		{tag.SamplesPerPixel, "US", []uint16{1}},
		{tag.PhotometricInterpretation, "CS", monochrome2},
		{tag.Rows, "US", []uint16{uint16(height)}},
		{tag.Columns, "US", []uint16{uint16(width)}},
		{tag.BitsAllocated, "US", []uint16{uint16(allocated)}},
		{tag.BitsStored, "US", []uint16{uint16(stored)}},
		{tag.HighBit, "US", []uint16{uint16(stored - 1)}},
		{tag.PixelRepresentation, "US", []uint16{0}},
		{tag.PixelData, vr, pixels},
	}
}

// with returns attrs with those of more in place of theirs or inserted in
// order of tag; a nil value takes one out.
func with(attrs []attr, more ...attr) []attr {
	out := append([]attr(nil), attrs...)
	for _, m := range more {
		at := 0
		for at < len(out) && less(out[at].tag, m.tag) {
			at++
		}
		tail := out[at:]
		if len(tail) > 0 && tail[0].tag == m.tag {
			tail = tail[1:]
		}
		tail = append([]attr(nil), tail...)
		out = out[:at]
		if m.value != nil {
			out = append(out, m)
		}
		out = append(out, tail...)
	}
	return out
}

func less(a, b tag.Tag) bool {
	return a.Group < b.Group || a.Group == b.Group && a.Element < b.Element
}

// mustRead reads a built file.
func mustRead(t testing.TB, b build) *File {
	t.Helper()
	if b.syntax == "" {
		b.syntax = explicitVRLittle
	}
	f, err := Read(b.bytes(t))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// ramp returns n values that differ in every bit.
func ramp(n, bits int) []uint16 {
	out := make([]uint16, n)
	for i := range out {
		out[i] = uint16(i*40503) & uint16(1<<bits-1) // an odd multiplier: all bits move
	}
	return out
}

// low returns values as bytes.
func low(values []uint16) []byte {
	var sb strings.Builder
	for _, v := range values {
		sb.WriteByte(byte(v))
	}
	return []byte(sb.String())
}
