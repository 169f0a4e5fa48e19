package dicomfile

import (
	"github.com/suyashkumar/dicom/pkg/tag"
)

// Window is a range of values that a file asks to be shown from black to white
// (PS3.3 C.11.2.1.2), in terms of rescaled values, see [File.Rescale].
type Window struct {
	Centre, Width float64
	Explanation   string
	// Function is "LINEAR" (the default), "LINEAR_EXACT" or "SIGMOID".
	Function string
}

// Rescale turns a stored value into a value of the named kind: slope × stored +
// intercept (PS3.3 C.11.1.1.2). Type is "HU", "OD", "US" (unspecified) …
type Rescale struct {
	Slope, Intercept float64
	Type             string
}

// LUT is a lookup table of the header (PS3.3 C.11.1 and C.11.2).
type LUT struct {
	// First is the value that the first entry belongs to.
	First int
	// Bits is the number of bits of an entry.
	Bits        int
	Entries     []uint16
	Explanation string // or the type, of a modality LUT
}

// Windows returns the windows stated for frame i, from 0. Those without a
// positive width are left out.
func (f *File) Windows(i int) []Window {
	d := f.group(i, tag.FrameVOILUTSequence)
	centres, widths := d.numbers(tag.WindowCenter), d.numbers(tag.WindowWidth)
	names, function := d.texts(tag.WindowCenterWidthExplanation), d.line(tag.VOILUTFunction)
	if function == "" {
		function = "LINEAR"
	}
	var out []Window
	for n := range min(len(centres), len(widths)) {
		if widths[n] <= 0 {
			continue
		}
		w := Window{Centre: centres[n], Width: widths[n], Function: function}
		if n < len(names) {
			w.Explanation = names[n]
		}
		out = append(out, w)
	}
	return out
}

// Rescale returns the linear rescale stated for frame i, from 0; slope 1 and
// intercept 0 where none is, or where its slope is 0.
func (f *File) Rescale(i int) Rescale {
	d := f.group(i, tag.PixelValueTransformationSequence)
	slope, ok := d.number(tag.RescaleSlope)
	intercept, _ := d.number(tag.RescaleIntercept)
	if !ok || slope == 0 {
		return Rescale{Slope: 1}
	}
	return Rescale{Slope: slope, Intercept: intercept, Type: d.line(tag.RescaleType)}
}

// lutsOf reads the modality lookup table and those of the values of interest.
// A damaged table is left out.
func lutsOf(d dataSet, l layout) (modality *LUT, voi []LUT) {
	for _, item := range d.items(tag.ModalityLUTSequence) {
		if t, err := readLUT(item, l.signed); err == nil {
			t.Explanation = item.line(tag.ModalityLUTType)
			modality = &t
			break
		}
	}
	for _, item := range d.items(tag.VOILUTSequence) {
		if t, err := readLUT(item, l.signed); err == nil {
			voi = append(voi, t)
		}
	}
	return modality, voi
}

func readLUT(d dataSet, signed bool) (LUT, error) {
	shape, err := readTableShape(d, tag.LUTDescriptor, signed)
	if err != nil {
		return LUT{}, err
	}
	entries, err := tableEntries(d.bytesOf(tag.LUTData), shape)
	return LUT{First: shape.first, Bits: shape.bits, Entries: entries, Explanation: d.line(tag.LUTExplanation)}, err
}
