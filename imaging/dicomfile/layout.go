package dicomfile

import (
	"strings"

	"github.com/suyashkumar/dicom/pkg/tag"

	"rootrule/imaging/fault"
)

// layout is how the samples of a frame are stored (PS3.3 C.7.6.3, PS3.5 8).
type layout struct {
	width, height, frames int
	samples               int // a pixel
	allocated             int // bits a sample takes in native pixel data
	stored                int // bits of it that count
	high                  int // number of the highest of them
	signed                bool
	planar                bool // all red, all green, all blue
	photometric           string
}

// Photometric interpretations (PS3.3 C.7.6.3.1.2) that are told apart here.
const (
	monochrome1 = "MONOCHROME1"
	monochrome2 = "MONOCHROME2"
	paletteCol  = "PALETTE COLOR"
	rgb         = "RGB"
	ybrFull     = "YBR_FULL"
	ybrFull422  = "YBR_FULL_422"
	ybrICT      = "YBR_ICT"
	ybrRCT      = "YBR_RCT"
)

// subsampled reports whether two neighbours share their colour (4:2:2).
func (l layout) subsampled() bool { return l.photometric == ybrFull422 && l.samples == 3 }

// pixels returns the number of pixels of a frame.
func (l layout) pixelCount() int64 { return int64(l.width) * int64(l.height) }

// sampleCount returns the number of samples of a decoded frame.
func (l layout) sampleCount() int64 { return l.pixelCount() * int64(l.samples) }

// frameBits returns the number of bits a frame takes in native pixel data.
func (l layout) frameBits() int64 {
	samples := l.sampleCount()
	if l.subsampled() {
		samples = l.pixelCount() * 2 // PS3.3 C.7.6.3.1.2: Y Y Cb Cr for two pixels
	}
	return samples * int64(l.allocated)
}

// readLayout reads the Image Pixel module. Values that would make pixels
// unreadable are errors; those that only their writer got wrong in a known way
// are put right, with a caution.
func readLayout(d dataSet, caution func(string)) (layout, error) {
	l := layout{frames: 1, samples: 1}
	rows, haveRows := d.integer(tag.Rows)
	cols, haveCols := d.integer(tag.Columns)
	if !haveRows || !haveCols || rows < 1 || cols < 1 || rows > 0xFFFF || cols > 0xFFFF {
		return l, fault.Malformed("reading a DICOM file: its picture would have %d rows and %d columns: copy or export the file again", rows, cols)
	}
	l.width, l.height = cols, rows
	if d.has(tag.NumberOfFrames) && len(d.raw(tag.NumberOfFrames)) > 0 {
		n, ok := d.integer(tag.NumberOfFrames)
		if !ok || n < 0 {
			return l, fault.Malformed("reading a DICOM file: its number of frames is %q: copy or export the file again", strings.Join(d.raw(tag.NumberOfFrames), `\`))
		}
		if n == 0 {
			caution("the header says 0 frames; one was read")
		}
		l.frames = max(1, n)
	}
	if n, ok := d.integer(tag.SamplesPerPixel); ok && n > 0 {
		l.samples = n
	}
	l.photometric = photometricOf(d, l.samples, caution)
	planar, _ := d.integer(tag.PlanarConfiguration)
	l.planar = planar == 1 && l.samples > 1
	sign, _ := d.integer(tag.PixelRepresentation)
	l.signed = sign == 1
	return l.withBits(d, caution)
}

// photometricOf reads the photometric interpretation. One that contradicts the
// number of samples a pixel is replaced: the samples are what they are.
func photometricOf(d dataSet, samples int, caution func(string)) string {
	stated := strings.ToUpper(d.line(tag.PhotometricInterpretation))
	grey := stated == monochrome1 || stated == monochrome2 || stated == paletteCol
	switch {
	case samples == 3 && (grey || stated == ""):
		caution("the header does not say how colour is coded; taken as RGB")
		return rgb
	case samples == 1 && !grey && (stated == "" || isColour(stated)):
		caution("the header does not say how grey is coded; taken as MONOCHROME2")
		return monochrome2
	}
	return stated
}

// isColour reports whether a photometric interpretation is one of three samples
// that are handled.
func isColour(p string) bool {
	return p == rgb || p == ybrFull || p == ybrFull422 || p == ybrICT || p == ybrRCT
}

// withBits reads and checks the three numbers of PS3.5 8.1.1.
func (l layout) withBits(d dataSet, caution func(string)) (layout, error) {
	var ok bool
	if l.allocated, ok = d.integer(tag.BitsAllocated); !ok || l.allocated < 1 || l.allocated > 64 {
		return l, fault.Malformed("reading a DICOM file: its samples would take %d bits: copy or export the file again", l.allocated)
	}
	if l.stored, ok = d.integer(tag.BitsStored); !ok || l.stored == 0 {
		l.stored = l.allocated
		caution("the header does not say how many bits are stored; taken as allocated")
	}
	if l.stored < 1 || l.stored > l.allocated {
		return l, fault.Malformed("reading a DICOM file: %d bits stored don't fit %d allocated: copy or export the file again", l.stored, l.allocated)
	}
	if l.high, ok = d.integer(tag.HighBit); !ok || l.high < l.stored-1 || l.high >= l.allocated {
		if ok {
			caution("the header's high bit contradicts its bits stored; the stored bits were taken as the lowest")
		}
		l.high = l.stored - 1
	}
	return l, nil
}

// supported returns an error for a layout the program can't show, although the
// file is in order.
func (l layout) supported() error {
	switch {
	case l.stored > 16:
		return fault.Unsupported("reading a frame: its samples have %d bits, at most 16 are handled: export it with 16 bits", l.stored)
	case l.allocated > 32:
		return fault.Unsupported("reading a frame: its samples take %d bits, at most 32 are handled: export it with 16 bits", l.allocated)
	case l.samples != 1 && l.samples != 3:
		return fault.Unsupported("reading a frame: it has %d samples a pixel, 1 and 3 are handled: export it as grey or RGB", l.samples)
	}
	grey := l.photometric == monochrome1 || l.photometric == monochrome2 || l.photometric == paletteCol
	if l.samples == 1 && !grey || l.samples == 3 && !isColour(l.photometric) {
		return fault.Unsupported("reading a frame: photometric interpretation %q with %d samples a pixel is not handled: export it as grey or RGB", l.photometric, l.samples)
	}
	return nil
}
