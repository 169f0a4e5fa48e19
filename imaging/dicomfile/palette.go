package dicomfile

import (
	"encoding/binary"

	"github.com/suyashkumar/dicom/pkg/tag"

	"rootrule/imaging/fault"
)

// palette is the colour table of a PALETTE COLOR picture (PS3.3 C.7.6.3.1.5
// and C.7.6.3.1.6).
type palette struct {
	first            int // the stored value of the first entry
	bits             int // of an entry: 8 or 16
	red, green, blue []uint16
}

func readPalette(d dataSet, l layout) (*palette, error) {
	p := &palette{}
	channels := []struct {
		table                       *[]uint16
		descriptor, data, segmented tag.Tag
	}{
		{&p.red, tag.RedPaletteColorLookupTableDescriptor, tag.RedPaletteColorLookupTableData, tag.SegmentedRedPaletteColorLookupTableData},
		{&p.green, tag.GreenPaletteColorLookupTableDescriptor, tag.GreenPaletteColorLookupTableData, tag.SegmentedGreenPaletteColorLookupTableData},
		{&p.blue, tag.BluePaletteColorLookupTableDescriptor, tag.BluePaletteColorLookupTableData, tag.SegmentedBluePaletteColorLookupTableData},
	}
	for _, c := range channels {
		desc, err := readTableShape(d, c.descriptor, l.signed)
		if err != nil {
			return nil, err
		}
		p.first, p.bits = desc.first, desc.bits
		if d.has(c.segmented) {
			*c.table, err = expandSegments(d.bytesOf(c.segmented), desc)
		} else {
			*c.table, err = tableEntries(d.bytesOf(c.data), desc)
		}
		if err != nil {
			return nil, err
		}
	}
	if len(p.red) != len(p.green) || len(p.red) != len(p.blue) {
		return nil, fault.Malformed("reading a colour table: red, green and blue have %d, %d and %d entries: export the file again", len(p.red), len(p.green), len(p.blue))
	}
	return p, nil
}

// luma turns stored values into the luma of their colours. Values below the
// table take its first entry, those above its last (PS3.3 C.7.6.3.1.5).
func (p *palette) luma(out, stored []uint16, signed bool) {
	grey := make([]uint16, len(p.red))
	for i := range grey {
		grey[i] = luma(p.red[i], p.green[i], p.blue[i])
	}
	for i, v := range stored {
		n := int(v)
		if signed {
			n = int(int16(v))
		}
		out[i] = grey[min(max(n-p.first, 0), len(grey)-1)]
	}
}

// tableShape is a lookup table descriptor: how many entries, the stored value
// that the first belongs to, and the bits of an entry.
type tableShape struct {
	entries, first, bits int
}

// readTableShape reads a descriptor of three numbers (PS3.3 C.11.1.1).
func readTableShape(d dataSet, t tag.Tag, signed bool) (tableShape, error) {
	v := d.numbers(t)
	if len(v) != 3 {
		return tableShape{}, fault.Malformed("reading a lookup table: its descriptor has %d numbers, not 3: export the file again", len(v))
	}
	s := tableShape{entries: int(v[0]) & 0xFFFF, first: int(v[1]) & 0xFFFF, bits: int(v[2])}
	if s.entries == 0 {
		s.entries = 1 << 16
	}
	if signed {
		s.first = int(int16(s.first))
	}
	if s.bits < 1 || s.bits > 16 {
		return s, fault.Malformed("reading a lookup table: its entries would have %d bits: export the file again", s.bits)
	}
	return s, nil
}

// tableEntries reads the entries of a table. Entries of 8 bits are packed in
// bytes, but some writers give each a word.
func tableEntries(b []byte, s tableShape) ([]uint16, error) {
	out := make([]uint16, s.entries)
	switch {
	case len(b) >= 2*s.entries:
		wide := false
		for i := range out {
			out[i] = binary.LittleEndian.Uint16(b[2*i:])
			wide = wide || out[i] > 0xFF
		}
		if s.bits <= 8 && wide { // in the high byte of the word
			for i := range out {
				out[i] >>= 8
			}
		}
	case s.bits <= 8 && len(b) >= s.entries:
		for i := range out {
			out[i] = uint16(b[i])
		}
	default:
		return nil, fault.Malformed("reading a lookup table: %d bytes can't hold its %d entries of %d bits: export the file again", len(b), s.entries, s.bits)
	}
	return out, nil
}

// expandSegments expands a segmented table (PS3.3 C.7.9.2): runs of entries,
// straight lines, and repeats of segments at a byte offset.
func expandSegments(b []byte, s tableShape) ([]uint16, error) {
	var words []uint16
	if s.bits <= 8 {
		for _, v := range b {
			words = append(words, uint16(v))
		}
	} else {
		for i := 0; i+1 < len(b); i += 2 {
			words = append(words, binary.LittleEndian.Uint16(b[i:]))
		}
	}
	x := segmentExpander{words: words, wide: s.bits > 8, want: s.entries}
	for at := 0; at < len(words) && len(x.out) < s.entries; {
		next, ok := x.segment(at, true)
		if !ok {
			return nil, fault.Malformed("reading a colour table: segment at entry %d of %d is damaged: export the file again", at, len(words))
		}
		at = next
	}
	if len(x.out) != s.entries {
		return nil, fault.Malformed("reading a colour table: its segments give %d entries, not %d: export the file again", len(x.out), s.entries)
	}
	return x.out, nil
}

type segmentExpander struct {
	words []uint16
	wide  bool
	want  int
	out   []uint16
}

// segment expands the segment at word at and returns where the next begins.
func (x *segmentExpander) segment(at int, repeats bool) (int, bool) {
	if at < 0 || at+1 >= len(x.words) {
		return 0, false
	}
	n, rest := int(x.words[at+1]), x.words[at+2:]
	switch x.words[at] {
	case 0: // discrete
		if n > len(rest) || len(x.out)+n > x.want {
			return 0, false
		}
		x.out = append(x.out, rest[:n]...)
		return at + 2 + n, true
	case 1: // linear, from the entry before
		if len(rest) < 1 || len(x.out) == 0 || len(x.out)+n > x.want {
			return 0, false
		}
		from, to := float64(x.out[len(x.out)-1]), float64(rest[0])
		for i := 1; i <= n; i++ {
			x.out = append(x.out, uint16(from+(to-from)*float64(i)/float64(n)+0.5))
		}
		return at + 3, true
	case 2: // indirect: n segments at a byte offset, low word first
		return x.indirect(at, n, rest, repeats)
	}
	return 0, false
}

func (x *segmentExpander) indirect(at, n int, rest []uint16, repeats bool) (int, bool) {
	size, offset := 2, 0
	if !x.wide { // four words of a byte each
		size = 4
	}
	if !repeats || len(rest) < size {
		return 0, false
	}
	for i := size - 1; i >= 0; i-- {
		offset = offset<<(32/size) | int(rest[i])
	}
	from := offset
	if x.wide {
		from = offset / 2
	}
	for range n {
		var ok bool
		if from, ok = x.segment(from, false); !ok {
			return 0, false
		}
	}
	return at + 2 + size, true
}
