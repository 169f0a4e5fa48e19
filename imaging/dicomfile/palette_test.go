package dicomfile

import (
	"errors"
	"slices"
	"testing"

	"github.com/suyashkumar/dicom/pkg/tag"

	"rootrule/imaging/fault"
)

// colourTables returns the attributes of a palette of three equal tables.
func colourTables(descriptor []uint16, vr string, data any) []attr {
	d, v := attr{vr: "US", value: descriptor}, attr{vr: vr, value: data}
	at := func(a attr, t tag.Tag) attr { a.tag = t; return a }
	return []attr{
		{tag.PhotometricInterpretation, "CS", paletteCol},
		at(d, tag.RedPaletteColorLookupTableDescriptor), at(d, tag.GreenPaletteColorLookupTableDescriptor), at(d, tag.BluePaletteColorLookupTableDescriptor),
		at(v, tag.RedPaletteColorLookupTableData), at(v, tag.GreenPaletteColorLookupTableData), at(v, tag.BluePaletteColorLookupTableData),
	}
}

// segmented moves table data to the tags of segmented tables.
func segmented(attrs []attr) []attr {
	move := map[tag.Tag]tag.Tag{
		tag.RedPaletteColorLookupTableData:   tag.SegmentedRedPaletteColorLookupTableData,
		tag.GreenPaletteColorLookupTableData: tag.SegmentedGreenPaletteColorLookupTableData,
		tag.BluePaletteColorLookupTableData:  tag.SegmentedBluePaletteColorLookupTableData,
	}
	for i, a := range attrs {
		if to, ok := move[a.tag]; ok {
			attrs[i].tag = to
		}
	}
	return attrs
}

// TestPalette looks stored values up in tables of equal red, green and blue,
// whose luma is the entry itself.
func TestPalette(t *testing.T) {
	stored := []byte{0, 1, 2, 3}
	for _, c := range []struct {
		name   string
		syntax string
		attrs  []attr
		grey   []uint16
		bits   int
	}{
		{"16 bits", explicitVRLittle, colourTables([]uint16{4, 0, 16}, "OW", []uint16{100, 2000, 30000, 65535}), []uint16{100, 2000, 30000, 65535}, 16},
		{"16 bits, big endian", explicitVRBig, colourTables([]uint16{4, 0, 16}, "OW", []uint16{100, 2000, 30000, 65535}), []uint16{100, 2000, 30000, 65535}, 16},
		{"16 bits as US", explicitVRLittle, colourTables([]uint16{4, 0, 16}, "US", []uint16{100, 2000, 30000, 65535}), []uint16{100, 2000, 30000, 65535}, 16},
		{"16 bits, implicit", implicitVRLittle, colourTables([]uint16{4, 0, 16}, "OW", []uint16{100, 2000, 30000, 65535}), []uint16{100, 2000, 30000, 65535}, 16},
		{"8 bits, two in a word", explicitVRLittle, colourTables([]uint16{4, 0, 8}, "OW", []uint16{0x0201, 0x0403}), []uint16{1, 2, 3, 4}, 8},
		{"8 bits, two in a word, big endian", explicitVRBig, colourTables([]uint16{4, 0, 8}, "OW", []uint16{0x0201, 0x0403}), []uint16{1, 2, 3, 4}, 8},
		{"8 bits, one in a word", explicitVRLittle, colourTables([]uint16{4, 0, 8}, "OW", []uint16{1, 2, 3, 4}), []uint16{1, 2, 3, 4}, 8},
		{"8 bits in the high byte", explicitVRLittle, colourTables([]uint16{4, 0, 8}, "OW", []uint16{0x100, 0x200, 0x300, 0x400}), []uint16{1, 2, 3, 4}, 8},
		{"first entry is for 1", explicitVRLittle, colourTables([]uint16{2, 1, 16}, "OW", []uint16{7, 8}), []uint16{7, 7, 8, 8}, 16},
		{"segments", explicitVRLittle, segmented(colourTables([]uint16{4, 0, 16}, "OW", []uint16{0, 1, 10, 1, 3, 40})), []uint16{10, 20, 30, 40}, 16},
		{"repeated segments", explicitVRLittle, segmented(colourTables([]uint16{4, 0, 16}, "OW", []uint16{0, 2, 10, 20, 2, 1, 0, 0})), []uint16{10, 20, 10, 20}, 16},
	} {
		t.Run(c.name, func(t *testing.T) {
			frame, err := mustRead(t, build{syntax: c.syntax, attrs: with(picture(4, 1, 8, 8, stored), c.attrs...)}).Frame(0)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(frame.Pix, []uint16{0, 1, 2, 3}) {
				t.Errorf("stored samples %v", frame.Pix)
			}
			grey, was := frame.Grey()
			if !was || !slices.Equal(grey.Pix, c.grey) || grey.BitsStored != c.bits {
				t.Errorf("grey %v of %d bits, want %v", grey.Pix, grey.BitsStored, c.grey)
			}
		})
	}
}

// TestPaletteDamaged refuses tables that contradict their descriptors.
func TestPaletteDamaged(t *testing.T) {
	for name, attrs := range map[string][]attr{
		"table too short":        colourTables([]uint16{5, 0, 16}, "OW", []uint16{1, 2, 3, 4}),
		"descriptor too short":   colourTables([]uint16{4, 0}, "OW", []uint16{1, 2, 3, 4}),
		"entries of 40 bits":     colourTables([]uint16{4, 0, 40}, "OW", []uint16{1, 2, 3, 4}),
		"segments too long":      segmented(colourTables([]uint16{4, 0, 16}, "OW", []uint16{0, 1, 10, 1, 9, 40})),
		"segments too short":     segmented(colourTables([]uint16{4, 0, 16}, "OW", []uint16{0, 1, 10})),
		"segment of no kind":     segmented(colourTables([]uint16{4, 0, 16}, "OW", []uint16{9, 1, 10, 1})),
		"line without a start":   segmented(colourTables([]uint16{4, 0, 16}, "OW", []uint16{1, 4, 10, 0})),
		"repeat of itself":       segmented(colourTables([]uint16{4, 0, 16}, "OW", []uint16{0, 1, 5, 2, 1, 6, 0, 0})),
		"repeat beyond the data": segmented(colourTables([]uint16{4, 0, 16}, "OW", []uint16{0, 1, 5, 2, 1, 900, 0, 0})),
	} {
		b := build{syntax: explicitVRLittle, attrs: with(picture(4, 1, 8, 8, []byte{0, 1, 2, 3}), attrs...)}
		if _, err := Read(b.bytes(t)); !errors.Is(err, fault.ErrMalformed) {
			t.Errorf("%s: error %v", name, err)
		}
	}
}
