package dicomfile

import (
	"bytes"
	"errors"
	"runtime"
	"testing"

	"github.com/suyashkumar/dicom/pkg/tag"

	"rootrule/imaging/fault"
)

// allocated returns the bytes that do allocates, freed or not.
func allocated(do func()) int64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	do()
	runtime.ReadMemStats(&after)
	return int64(after.TotalAlloc - before.TotalAlloc)
}

// readAll reads a file's header and all its frames.
func readAll(data []byte) error {
	f, err := Read(data)
	if err != nil {
		return err
	}
	_ = f.Identity()
	for i := range f.Frames {
		_, _, _ = f.Spacing(i), f.Windows(i), f.Rescale(i)
		if _, err := f.Frame(i); err != nil {
			return err
		}
	}
	if f.Frames == 0 {
		_, err = f.Frame(0)
	}
	return err
}

// TestHostile reads files that claim far more than they hold. Each must be an
// error, within 64 MB plus 40 times the size of the file.
func TestHostile(t *testing.T) {
	grey := picture(5, 3, 16, 12, ramp(15, 12))
	nest := func(n int) []byte {
		head := build{syntax: explicitVRLittle, attrs: []attr{{tag.Modality, "CS", "IO"}}}.bytes(t)
		sequence := []byte{0x08, 0, 0x18, 0x22, 'S', 'Q', 0, 0, 0xFF, 0xFF, 0xFF, 0xFF, 0xFE, 0xFF, 0, 0xE0, 0xFF, 0xFF, 0xFF, 0xFF}
		return append(head, bytes.Repeat(sequence, n)...)
	}
	huge := bytes.Repeat([]byte{0}, 40<<20)
	cut := func(b build, n int) []byte { data := b.bytes(t); return data[:len(data)-n] }
	for _, c := range []struct {
		name string
		data []byte
		want error
	}{
		{"empty", nil, fault.ErrMalformed},
		{"preamble alone", build{syntax: explicitVRLittle}.bytes(t)[:132], fault.ErrMalformed},
		{"text", []byte("Dear colleague, please find enclosed the radiograph of tooth 46 of our patient. Kind regards"), fault.ErrMalformed},
		{"pixels cut", cut(build{syntax: explicitVRLittle, attrs: grey}, 1), fault.ErrMalformed},
		{"pixels absent", cut(build{syntax: explicitVRLittle, attrs: grey}, 30+12), fault.ErrMalformed},
		{"deflated stream cut", cut(build{syntax: deflatedVRLittle, attrs: grey}, 4), fault.ErrMalformed},
		{"deflated to far more", build{syntax: deflatedVRLittle, attrs: []attr{{tag.PixelData, "OB", huge}}}.bytes(t), fault.ErrMalformed},
		{"huge frame count", build{syntax: explicitVRLittle, attrs: with(grey, attr{tag.NumberOfFrames, "IS", "2147483647"})}.bytes(t), fault.ErrMalformed},
		{"negative frame count", build{syntax: explicitVRLittle, attrs: with(grey, attr{tag.NumberOfFrames, "IS", "-1"})}.bytes(t), fault.ErrMalformed},
		{"huge picture", build{syntax: explicitVRLittle, attrs: with(grey, us(tag.Rows, 65535), us(tag.Columns, 65535))}.bytes(t), fault.ErrMalformed},
		{"no rows", build{syntax: explicitVRLittle, attrs: with(grey, us(tag.Rows, 0))}.bytes(t), fault.ErrMalformed},
		{"pixels for more frames", build{syntax: explicitVRLittle, attrs: picture(5, 3, 16, 12, ramp(30, 12))}.bytes(t), fault.ErrMalformed},
		{"more stored than allocated", build{syntax: explicitVRLittle, attrs: with(grey, us(tag.BitsStored, 20))}.bytes(t), fault.ErrMalformed},
		{"value longer than the file", append(build{syntax: explicitVRLittle}.bytes(t), 0x08, 0, 0x05, 0, 'U', 'T', 0, 0, 0xF0, 0xFF, 0xFF, 0xFF), fault.ErrMalformed},
		{"nested 200,000 deep", nest(200_000), fault.ErrMalformed},
		{"compressed but not in fragments", build{syntax: "1.2.840.10008.1.2.4.70", attrs: grey}.bytes(t), fault.ErrMalformed},
		{"fragments but not compressed", build{syntax: explicitVRLittle, attrs: with(grey, attr{tag.PixelData, "OB", fragments{}})}.bytes(t), fault.ErrMalformed},
		{"no fragment", build{syntax: "1.2.840.10008.1.2.4.70", attrs: with(grey, attr{tag.PixelData, "OB", fragments{}})}.bytes(t), fault.ErrMalformed},
		{"empty fragment", build{syntax: "1.2.840.10008.1.2.4.70", attrs: with(grey, attr{tag.PixelData, "OB", fragments{pieces: [][]byte{nil}}})}.bytes(t), fault.ErrMalformed},
		{"palette without table", build{syntax: explicitVRLittle, attrs: with(grey, attr{tag.PhotometricInterpretation, "CS", paletteCol})}.bytes(t), fault.ErrMalformed},

		{"unknown compression", build{syntax: "1.2.3.4", attrs: with(grey, attr{tag.PixelData, "OB", fragments{pieces: [][]byte{{1, 2}}}})}.bytes(t), fault.ErrUnsupported},
		{"video", build{syntax: "1.2.840.10008.1.2.4.100", attrs: with(grey, attr{tag.PixelData, "OB", fragments{pieces: [][]byte{{1, 2}}}})}.bytes(t), fault.ErrUnsupported},
		{"unknown syntax, native", build{syntax: explicitVRLittle, claimed: "1.2.3.4", attrs: grey}.bytes(t), fault.ErrUnsupported},
		{"32 bits", build{syntax: explicitVRLittle, attrs: picture(1, 1, 32, 32, []uint16{1, 2})}.bytes(t), fault.ErrUnsupported},
		{"four samples a pixel", build{syntax: explicitVRLittle, attrs: with(picture(1, 1, 8, 8, []byte{1, 2, 3, 4}), us(tag.SamplesPerPixel, 4), attr{tag.PhotometricInterpretation, "CS", "CMYK"})}.bytes(t), fault.ErrUnsupported},
		{"floating point", build{syntax: explicitVRLittle, attrs: with(grey, attr{tag: tag.PixelData}, attr{tag.FloatPixelData, "OF", []byte{0, 0, 0, 0}})}.bytes(t), fault.ErrUnsupported},
		{"no picture", build{syntax: explicitVRLittle, attrs: []attr{{tag.Modality, "CS", "SR"}}}.bytes(t), fault.ErrUnsupported},
	} {
		t.Run(c.name, func(t *testing.T) {
			var err error
			used := allocated(func() { err = readAll(c.data) })
			if !errors.Is(err, c.want) {
				t.Errorf("error %v, want %v", err, c.want)
			}
			if most := int64(64<<20) + 40*int64(len(c.data)); used > most {
				t.Errorf("%d bytes allocated for a file of %d", used, len(c.data))
			}
		})
	}
}

// TestHeaderMemory walks headers of many small elements, which cost the most
// memory for their size.
func TestHeaderMemory(t *testing.T) {
	item := []attr{{tag.CodeValue, "SH", ""}, {tag.CodeMeaning, "LO", ""}}
	items := make([][]attr, 50_000)
	for i := range items {
		items[i] = item
	}
	var plain []attr
	for range 100_000 {
		plain = append(plain, attr{tag.Modality, "CS", ""})
	}
	for name, b := range map[string]build{
		"items":    {syntax: explicitVRLittle, attrs: []attr{{tag.AnatomicRegionSequence, "SQ", items}}},
		"frames":   {syntax: implicitVRLittle, attrs: []attr{{tag.PerFrameFunctionalGroupsSequence, "SQ", items}}},
		"repeated": {syntax: explicitVRLittle, attrs: plain},
	} {
		data := b.bytes(t)
		used := allocated(func() { _ = readAll(data) })
		if most := int64(64<<20) + 40*int64(len(data)); used > most {
			t.Errorf("%s: %d bytes allocated for a file of %d", name, used, len(data))
		}
	}
}

// TestSniff tells DICOM from what else lies in an image folder.
func TestSniff(t *testing.T) {
	grey := picture(5, 3, 16, 12, ramp(15, 12))
	for _, c := range []struct {
		name string
		head []byte
		want bool
	}{
		{"preamble", build{syntax: explicitVRLittle, attrs: grey}.bytes(t), true},
		{"DICM without preamble", build{syntax: explicitVRLittle, attrs: grey}.bytes(t)[128:], true},
		{"no preamble", build{syntax: explicitVRLittle, noPreamble: true, attrs: grey}.bytes(t), true},
		{"bare data set", build{syntax: implicitVRLittle, noPreamble: true, noMeta: true, attrs: grey}.bytes(t), true},
		{"bare big endian", build{syntax: explicitVRBig, noPreamble: true, noMeta: true, attrs: grey}.bytes(t), true},
		{"empty", nil, false},
		{"PNG", []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"), false},
		{"JPEG", []byte("\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01\x01"), false},
		{"TIFF", []byte("II*\x00\x08\x00\x00\x00\x10\x00\x00\x01"), false},
		{"big TIFF", []byte("MM\x00*\x00\x00\x00\x08\x00\x10\x01\x00"), false},
		{"BMP", []byte("BM\x36\x00\x00\x00\x00\x00\x00\x00\x36\x00"), false},
		{"text", []byte("Dear colleague,"), false},
		{"zeros", make([]byte, 200), false},
	} {
		if got := Sniff(c.head); got != c.want {
			t.Errorf("%s: %t", c.name, got)
		}
	}
}
