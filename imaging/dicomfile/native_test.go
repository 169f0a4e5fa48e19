package dicomfile

import (
	"slices"
	"testing"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// us is an attribute of one unsigned short.
func us(t tag.Tag, n int) attr { return attr{t, "US", []uint16{uint16(n)}} }

// rawBytes is a value written as it is, with an undefined length.
type rawBytes []byte

// unknownSequence is the content of a sequence of one item that holds an
// implicit element and both end marks (PS3.5 6.2.2, note 2).
var unknownSequence = rawBytes("\xFE\xFF\x00\xE0\xFF\xFF\xFF\xFF" + "\x28\x00\x10\x00\x02\x00\x00\x00\x63\x00" +
	"\xFE\xFF\x0D\xE0\x00\x00\x00\x00" + "\xFE\xFF\xDD\xE0\x00\x00\x00\x00")

// TestReference reads pictures that are built here bit by bit after PS3.5
// sections 7 and 8, in every way native pixels can be written.
func TestReference(t *testing.T) {
	ramp12, ramp16, ramp8 := ramp(15, 12), ramp(15, 16), ramp(9, 8)
	even8 := ramp(12, 8)
	signed12 := slices.Clone(ramp12)
	for i, v := range signed12 {
		signed12[i] = uint16(int16(v<<4) >> 4)
	}
	grey12 := picture(5, 3, 16, 12, ramp12)
	private := attr{tag.Tag{Group: 0x0029, Element: 0x1010}, "UN", []byte("vendor's own")}
	nested := attr{tag.Tag{Group: 0x0029, Element: 0x1020}, "SQ", []attr{private, {tag.Rows, "US", []uint16{99}}}}
	for _, c := range []struct {
		name string
		build
		want []uint16
	}{
		{"explicit little endian", build{syntax: explicitVRLittle, attrs: grey12}, ramp12},
		{"implicit little endian", build{syntax: implicitVRLittle, attrs: grey12}, ramp12},
		{"explicit big endian", build{syntax: explicitVRBig, attrs: grey12}, ramp12},
		{"deflated", build{syntax: deflatedVRLittle, attrs: grey12}, ramp12},
		{"uncompressed in fragments", build{syntax: encapsulatedNative, attrs: with(grey12, attr{tag.PixelData, "OB",
			fragments{pieces: [][]byte{plainValue(ramp12, explicitLittle)}}})}, ramp12},
		{"no preamble", build{syntax: explicitVRLittle, noPreamble: true, attrs: grey12}, ramp12},
		{"no meta group, explicit", build{syntax: explicitVRLittle, noPreamble: true, noMeta: true, attrs: grey12}, ramp12},
		{"no meta group, implicit", build{syntax: implicitVRLittle, noPreamble: true, noMeta: true, attrs: grey12}, ramp12},
		{"no meta group, big endian", build{syntax: explicitVRBig, noPreamble: true, noMeta: true, attrs: grey12}, ramp12},
		{"preamble but no meta group", build{syntax: implicitVRLittle, noMeta: true, attrs: grey12}, ramp12},
		{"said to be explicit but implicit", build{syntax: implicitVRLittle, claimed: explicitVRLittle, attrs: grey12}, ramp12},
		{"said to be implicit but explicit", build{syntax: explicitVRLittle, claimed: implicitVRLittle, attrs: grey12}, ramp12},
		{"said to be little but big endian", build{syntax: explicitVRBig, claimed: explicitVRLittle, attrs: grey12}, ramp12},
		{"grey said to be RGB", build{syntax: explicitVRLittle, attrs: with(grey12, attr{tag.PhotometricInterpretation, "CS", rgb})}, ramp12},
		{"no group length", build{syntax: explicitVRLittle, noGroupLength: true, attrs: grey12}, ramp12},
		{"private elements", build{syntax: explicitVRLittle, attrs: with(grey12, private, nested)}, ramp12},
		{"private, undefined length, implicit", build{syntax: implicitVRLittle, undefinedSequence: true, attrs: with(grey12, private, nested)}, ramp12},
		{"private, undefined length, big endian", build{syntax: explicitVRBig, undefinedSequence: true, attrs: with(grey12, nested)}, ramp12},
		{"icon with its own pixels", build{syntax: explicitVRLittle, undefinedSequence: true, attrs: with(grey12,
			attr{tag.IconImageSequence, "SQ", picture(2, 2, 8, 8, []byte{1, 2, 3, 4})})}, ramp12},
		{"icon with compressed pixels", build{syntax: explicitVRLittle, undefinedSequence: true, attrs: with(grey12,
			attr{tag.IconImageSequence, "SQ", with(picture(2, 2, 8, 8, nil), attr{tag.PixelData, "OB", fragments{pieces: [][]byte{{1, 2}, {3, 4}}}})})}, ramp12},
		{"private value in fragments", build{syntax: explicitVRLittle, attrs: with(grey12,
			attr{tag.Tag{Group: 0x0009, Element: 0x1010}, "OB", fragments{pieces: [][]byte{{1, 2}}}})}, ramp12},
		{"sequence of unknown representation, implicit inside", build{syntax: explicitVRLittle, attrs: with(grey12,
			attr{tag.Tag{Group: 0x0029, Element: 0x1010}, "UN", unknownSequence})}, ramp12},
		{"sequence that is not wanted and damaged", build{syntax: explicitVRLittle, attrs: with(grey12,
			attr{tag.Tag{Group: 0x0008, Element: 0x1140}, "SQ", []byte{1, 2, 3, 4, 5, 6}})}, ramp12},
		{"wanted sequence that is damaged", build{syntax: explicitVRLittle, attrs: with(grey12,
			attr{tag.VOILUTSequence, "SQ", []byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}})}, ramp12},
		{"rows as text", build{syntax: explicitVRLittle, attrs: with(grey12, attr{tag.Rows, "IS", "3"})}, ramp12},
		{"rows as long", build{syntax: explicitVRLittle, attrs: with(grey12, attr{tag.Rows, "UL", []byte{3, 0, 0, 0}})}, ramp12},
		{"rows of unknown representation", build{syntax: explicitVRLittle, attrs: with(grey12, attr{tag.Rows, "UN", []byte{3, 0}})}, ramp12},
		{"empty values", build{syntax: explicitVRLittle, attrs: with(grey12, attr{tag.NumberOfFrames, "IS", ""},
			attr{tag.PixelSpacing, "DS", ""}, attr{tag.PixelPaddingValue, "US", []byte{}}, attr{tag.WindowCenter, "DS", ""})}, ramp12},
		{"high bit missing", build{syntax: explicitVRLittle, attrs: with(grey12, attr{tag: tag.HighBit})}, ramp12},
		{"high bit absurd", build{syntax: explicitVRLittle, attrs: with(grey12, us(tag.HighBit, 7))}, ramp12},
		{"padding behind the pixels", build{syntax: explicitVRLittle, attrs: picture(5, 3, 16, 12, slices.Concat(ramp12, make([]uint16, 9)))}, ramp12},

		{"high bit above", build{syntax: explicitVRLittle, attrs: with(picture(5, 3, 16, 12, shifted(ramp12, 4)), us(tag.HighBit, 15))}, ramp12},
		{"overlay in the unused bits", build{syntax: explicitVRLittle, attrs: picture(5, 3, 16, 12, ored(ramp12, 0xA000))}, ramp12},
		{"signed 12 bits", build{syntax: explicitVRLittle, attrs: with(grey12, us(tag.PixelRepresentation, 1))}, signed12},
		{"16 bits", build{syntax: explicitVRBig, attrs: picture(5, 3, 16, 16, ramp16)}, ramp16},
		{"10 bits", build{syntax: explicitVRBig, attrs: picture(5, 3, 16, 10, ramp(15, 10))}, ramp(15, 10)},
		{"32 bits allocated", build{syntax: explicitVRLittle, attrs: picture(3, 1, 32, 16, []uint16{7, 0, 0xFFFF, 0, 300, 0})}, []uint16{7, 0xFFFF, 300}},
		{"8 bits, odd size", build{syntax: explicitVRLittle, attrs: picture(3, 3, 8, 8, append(low(ramp8), 0))}, ramp8},
		{"8 bits, odd size, big endian bytes", build{syntax: explicitVRBig, attrs: picture(3, 3, 8, 8, append(low(ramp8), 0))}, ramp8},
		{"8 bits, big endian words", build{syntax: explicitVRBig, attrs: with(picture(4, 3, 8, 8, nil), attr{tag.PixelData, "OW", paired(even8)})}, even8},
		{"1 bit", build{syntax: explicitVRLittle, attrs: picture(3, 3, 1, 1, []byte{0b10110101, 0b1})}, []uint16{1, 0, 1, 0, 1, 1, 0, 1, 1}},
		{"12 bits packed", build{syntax: explicitVRLittle, attrs: picture(3, 1, 12, 12, []byte{0x23, 0x61, 0x45, 0x89, 0x07, 0})}, []uint16{0x123, 0x456, 0x789}},
	} {
		t.Run(c.name, func(t *testing.T) {
			frame, err := mustRead(t, c.build).Frame(0)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(frame.Pix, c.want) {
				t.Errorf("samples %x\nwant    %x", frame.Pix, c.want)
			}
		})
	}
}

func shifted(v []uint16, by int) []uint16 {
	out := slices.Clone(v)
	for i := range out {
		out[i] <<= by
	}
	return out
}

func ored(v []uint16, bits uint16) []uint16 {
	out := slices.Clone(v)
	for i := range out {
		out[i] |= bits
	}
	return out
}

// paired puts two 8-bit samples into a word, the first in its low byte.
func paired(v []uint16) []uint16 {
	out := make([]uint16, len(v)/2)
	for i := range out {
		out[i] = v[2*i] | v[2*i+1]<<8
	}
	return out
}

// TestColour checks the order of samples (PS3.3 C.7.6.3.1.3) and their luma.
func TestColour(t *testing.T) {
	colour := func(photometric string, planar int, pixels []byte) []attr {
		return with(picture(2, 1, 8, 8, pixels), us(tag.SamplesPerPixel, 3), us(tag.PlanarConfiguration, planar),
			attr{tag.PhotometricInterpretation, "CS", photometric})
	}
	for _, c := range []struct {
		name        string
		attrs       []attr
		photometric string
		pix, grey   []uint16
	}{
		// Luma: 0.299·255 = 76.2, 0.587·255 = 149.7.
		{"RGB by pixel", colour(rgb, 0, []byte{255, 0, 0, 0, 255, 0}), rgb, []uint16{255, 0, 0, 0, 255, 0}, []uint16{76, 150}},
		{"RGB by plane", colour(rgb, 1, []byte{255, 0, 0, 255, 0, 0}), rgb, []uint16{255, 0, 0, 0, 255, 0}, []uint16{76, 150}},
		{"YBR_FULL", colour(ybrFull, 0, []byte{10, 1, 2, 20, 3, 4}), ybrFull, []uint16{10, 1, 2, 20, 3, 4}, []uint16{10, 20}},
		{"YBR_FULL_422", colour(ybrFull422, 0, []byte{10, 20, 1, 2}), ybrFull, []uint16{10, 1, 2, 20, 1, 2}, []uint16{10, 20}},
		{"said to be 422 but is not", colour(ybrFull422, 0, []byte{10, 1, 2, 20, 3, 4}), ybrFull, []uint16{10, 1, 2, 20, 3, 4}, []uint16{10, 20}},
	} {
		t.Run(c.name, func(t *testing.T) {
			frame, err := mustRead(t, build{attrs: c.attrs}).Frame(0)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(frame.Pix, c.pix) || frame.Photometric != c.photometric {
				t.Errorf("%s %v, want %s %v", frame.Photometric, frame.Pix, c.photometric, c.pix)
			}
			grey, was := frame.Grey()
			if !was || !slices.Equal(grey.Pix, c.grey) || grey.Samples != 1 {
				t.Errorf("grey %v (was colour: %t), want %v", grey.Pix, was, c.grey)
			}
		})
	}
}

// TestFrames reads frames that do not begin at whole bytes, one without the
// others.
func TestFrames(t *testing.T) {
	bits := []byte{0b01010101, 0b10101010, 0b11} // frames of 3×3: 101010100, then 101010111
	f := mustRead(t, build{attrs: with(picture(3, 3, 1, 1, append(bits, 0)), attr{tag.NumberOfFrames, "IS", "2"})})
	for i, want := range [][]uint16{{1, 0, 1, 0, 1, 0, 1, 0, 0}, {1, 0, 1, 0, 1, 0, 1, 1, 1}} {
		frame, err := f.Frame(i)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(frame.Pix, want) {
			t.Errorf("frame %d is %v, want %v", i, frame.Pix, want)
		}
	}
	words := build{syntax: explicitVRBig, attrs: with(picture(3, 1, 8, 8, nil), attr{tag.NumberOfFrames, "IS", "2"},
		attr{tag.PixelData, "OW", []uint16{0x0201, 0x0403, 0x0605}})}
	frame, err := mustRead(t, words).Frame(1)
	if err != nil {
		t.Fatal(err)
	}
	if want := []uint16{4, 5, 6}; !slices.Equal(frame.Pix, want) {
		t.Errorf("second frame of big endian words is %v, want %v", frame.Pix, want)
	}
}
