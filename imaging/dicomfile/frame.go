package dicomfile

// Frame is one decoded frame: its samples as the file stores them, without
// rescale, window or inversion.
type Frame struct {
	Width, Height int
	// Samples is the number of samples a pixel: 1 or 3.
	Samples int
	// BitsStored is the number of bits a sample has (1–16).
	BitsStored int
	// Signed says that samples are two's complement, sign-extended to 16 bits.
	Signed bool
	// Photometric is what the samples mean: the header's photometric
	// interpretation, except that a decoder may have turned YBR into RGB.
	Photometric string
	// Pix has Width×Height×Samples values, row-major, top row first,
	// interleaved by pixel.
	Pix     []uint16
	palette *palette
}

// ColourCaution is the sentence that belongs beside a picture that [Frame.Grey]
// made from colour.
const ColourCaution = "colour picture turned to grey"

// Weights of red, green and blue in luma (Rec. ITU-R BT.601-7, 2.5.1).
const (
	redWeight   = 0.299
	greenWeight = 0.587
	blueWeight  = 0.114
)

// Grey returns the frame with one sample a pixel and whether that meant
// turning colour to grey, in which case [ColourCaution] applies: RGB and
// palettes to luma, YBR to its Y. A grey frame is returned as it is.
func (f *Frame) Grey() (grey *Frame, wasColour bool) {
	if f.Samples == 1 && f.palette == nil {
		return f, false
	}
	out := *f
	out.Samples, out.Signed, out.Photometric, out.palette = 1, false, monochrome2, nil
	out.Pix = make([]uint16, f.Width*f.Height)
	switch {
	case f.palette != nil:
		out.BitsStored = f.palette.bits
		f.palette.luma(out.Pix, f.Pix, f.Signed)
	case f.Photometric == rgb:
		for i := range out.Pix {
			out.Pix[i] = luma(f.Pix[3*i], f.Pix[3*i+1], f.Pix[3*i+2])
		}
	default:
		for i := range out.Pix {
			out.Pix[i] = f.Pix[3*i]
		}
	}
	return &out, true
}

func luma(r, g, b uint16) uint16 {
	return uint16(redWeight*float64(r) + greenWeight*float64(g) + blueWeight*float64(b) + 0.5)
}

// frame takes the stored bits out of pixel cells that have the given number of
// bits and returns them as a Frame. pix is reused.
func (f *File) frame(pix []uint16, bits int, photometric string) *Frame {
	l := f.layout
	shift := 0
	if bits > l.high { // else a compressed stream holds the stored bits alone
		shift = l.high + 1 - l.stored
	}
	storedBits(pix, shift, min(l.stored, bits), l.signed)
	return &Frame{
		Width: l.width, Height: l.height, Samples: l.samples, BitsStored: l.stored,
		Signed: l.signed, Photometric: photometric, Pix: pix, palette: f.palette,
	}
}

// storedBits moves the stored bits of each cell to its low end, clears the
// others, which may hold an overlay, and extends the sign (PS3.5 8.1.1).
func storedBits(pix []uint16, shift, stored int, signed bool) {
	if shift == 0 && stored == 16 {
		return
	}
	mask := uint16(1<<stored - 1)
	if !signed {
		for i, v := range pix {
			pix[i] = v >> shift & mask
		}
		return
	}
	up := 16 - stored
	for i, v := range pix {
		pix[i] = uint16(int16(v>>shift<<up) >> up)
	}
}
