// Package codec holds what the image decoders of DICOM's encapsulated
// transfer syntaxes share: the raster that each of them returns. The decoders
// are its sub-packages, one a family of standards: rle (PS3.5 Annex G), jpeg
// (ITU-T T.81), jpegls (ITU-T T.87) and jpeg2000 (ITU-T T.800 and T.814).
//
// A decoder takes the complete compressed stream of one frame (fragments
// already joined) and returns samples exactly as the stream stores them: no
// colour transform beyond what the stream itself prescribes, no rescale, no
// inversion. A stream that ends early is an error, never a partial picture.
// Sizes are checked against [MaxSamples] and the length of the stream before
// anything is allocated.
//
// Coordinates: row-major, top row first, interleaved by pixel.
package codec

// MaxSamples bounds width × height × components of one frame: the largest
// that a frame may hold whatever its header claims (256 Mi samples, 512 MiB).
const MaxSamples = 256 << 20

// Raster is one decoded frame.
type Raster struct {
	Width, Height int
	// Components is the number of samples a pixel: 1 grey, 3 colour.
	Components int
	// Bits is the precision of a sample that the stream states (1–16).
	Bits int
	// Signed says that samples are two's complement in the low Bits bits,
	// sign-extended to 16 in Pix.
	Signed bool
	// Pix has Width×Height×Components samples, interleaved by pixel.
	Pix []uint16
}
