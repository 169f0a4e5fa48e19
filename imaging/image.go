// Package imaging is pixels: any image file that a practice has becomes one
// type, [Image], a 16-bit grey picture with where it came from, the spacing it
// states and how far that is to be trusted. Start with [Open], or with
// [Decode] when the bytes are at hand.
//
// Stored values are never changed: what a screen shows is derived from them
// (package tone). Coordinates: pixel centres at integers, (0,0) the centre of
// the top-left pixel, x to the right, y down.
//
// The package reads; it does not measure (package measure), enhance (tone),
// trace, outline or register. Its errors are of two kinds, [ErrMalformed] and
// [ErrUnsupported], each a sentence a clinician can act on.
package imaging

import (
	"rootrule/imaging/fault"
	"rootrule/measure"
)

// Errors of [Open] and [Decode] match one of these with errors.Is.
var (
	ErrMalformed   = fault.ErrMalformed
	ErrUnsupported = fault.ErrUnsupported
)

// Image is one grey picture.
type Image struct {
	Width, Height int
	// Pix has Width×Height stored values, row-major, top row first. Signed
	// values are offset by 32768. Colour files are turned to grey on reading.
	Pix []uint16
	// Bits is the number of bits a stored value has in the file (1–16).
	Bits   int
	Signed bool
	// WhiteIsZero says that low stored values mean white (bright), as
	// MONOCHROME1 or a white-is-zero TIFF state; Pix keeps the stored values.
	WhiteIsZero bool
	// Low and High are the grey values, in terms of Pix, that the file asks to
	// be shown as black and as white; equal when it asks for nothing.
	Low, High float64
	Spacing   measure.Spacing
	Source    Source
	// Cautions are plain sentences that belong beside the picture, such as
	// "colour picture turned to grey".
	Cautions []string
}

// Source tells where an image came from.
type Source struct {
	Name        string // file name without folders
	Format      string // "PNG", "TIFF", "DICOM", …
	Photometric string // as the file says: "MONOCHROME2", "grey", "RGB", "palette" …
	Orientation string // how the picture lies, where the file says: "rows to the left, columns to the feet", EXIF turn …
	Frame       int    // from 1
	Frames      int
	Date        string // acquisition date YYYY-MM-DD, where the file says
}

// Size returns width and height in pixels.
func (m *Image) Size() (w, h int) { return m.Width, m.Height }

// At returns the stored value at column x, row y.
func (m *Image) At(x, y int) float64 {
	v := float64(m.Pix[y*m.Width+x])
	if m.Signed {
		return v - 32768
	}
	return v
}
