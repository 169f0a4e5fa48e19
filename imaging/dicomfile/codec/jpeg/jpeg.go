// Package jpeg decodes the JPEG streams of DICOM's encapsulated transfer
// syntaxes as ITU-T T.81 (ISO/IEC 10918-1) describes them, Huffman coded:
//
//	baseline DCT, 8 bits (SOF0)                     1.2.840.10008.1.2.4.50
//	extended sequential DCT, 8 and 12 bits (SOF1)   1.2.840.10008.1.2.4.51
//	progressive DCT, 8 and 12 bits (SOF2)           retired, but met
//	lossless, 2 to 16 bits, all predictors (SOF3)   1.2.840.10008.1.2.4.57, .70
//
// Call [Decode] with the complete stream of one frame, or [ReadInfo] for what
// its headers say without decoding. Pictures have 1 or 3 components, any
// sampling factors (lossless: none), one or several scans, restart intervals,
// quantisation tables of 8 or 16 bits, and a number of lines that may come
// late (DNL). Arithmetic coding, hierarchical and four-component streams are
// unsupported.
//
// Samples come back as the stream stores them, interleaved by pixel: colour is
// never converted. [Info] tells what the stream says of its colour, and
// [YCbCrToRGB] converts when the caller decides so.
//
// The inverse DCT and the interpolation of subsampled components are those of
// the Independent JPEG Group's library in its default setting, so that pixels
// equal those of the DICOM toolkits built on it.
//
// The end marker must be there and every component must be complete: a stream
// that was cut is an error, never a partial picture. What follows the end
// marker is ignored.
package jpeg

import (
	"rootrule/imaging/dicomfile/codec"
	"rootrule/imaging/fault"
)

// Process is the kind of coding that a frame header announces (T.81 B.2.2).
type Process int

// The processes that are decoded; the value is the last digit of the marker.
const (
	Baseline    Process = 0 // SOF0
	Extended    Process = 1 // SOF1
	Progressive Process = 2 // SOF2
	Lossless    Process = 3 // SOF3
)

func (p Process) String() string {
	return [...]string{"baseline", "extended sequential", "progressive", "lossless"}[p]
}

// Info is what the headers of a stream say of the picture.
type Info struct {
	Process       Process
	Width, Height int // pixels
	Components    int // 1 or 3
	Bits          int // precision of a sample: 8 or 12, lossless 2–16
	// IDs are the identifiers of the components, in the order of the frame
	// header; some encoders write 'R', 'G', 'B'.
	IDs [3]byte
	// Sampling are the horizontal and vertical sampling factors of the
	// components (T.81 A.1.1).
	Sampling [3][2]int
	// JFIF says that there is a JFIF marker (T.871): three components are YCbCr.
	JFIF bool
	// Adobe says that there is an Adobe marker, and AdobeTransform what it
	// names: 0 RGB as it is, 1 YCbCr.
	Adobe          bool
	AdobeTransform int
}

// YCbCr tells whether three components are most likely luminance and colour
// differences rather than RGB, going by the stream alone and by the rule of the
// Independent JPEG Group's library: JFIF means YCbCr, else the Adobe marker
// decides, else the identifiers 'R', 'G', 'B' mean RGB and all others YCbCr. A
// lossless stream carries RGB unless a marker says otherwise.
func (i Info) YCbCr() bool {
	switch {
	case i.Components != 3:
		return false
	case i.JFIF:
		return true
	case i.Adobe:
		return i.AdobeTransform != 0
	case i.Process == Lossless:
		return false
	}
	return i.IDs != [3]byte{'R', 'G', 'B'}
}

// ReadInfo reads the headers of a stream up to its first scan, and beyond it
// only where the number of lines is given late. It decodes nothing, so a stream
// that was cut behind its headers passes.
func ReadInfo(data []byte) (Info, error) {
	d := decoder{data: data}
	if _, err := d.readHeaders(); err != nil {
		return Info{}, err
	}
	return d.info, nil
}

// Decode returns the picture of one complete stream and what its headers say.
// Bits of the raster is the precision that the stream states. A lossless stream
// of less than 16 bits whose encoder was given sign-extended samples carries
// them in all 16 bits, and they come back so.
//
// Errors match [fault.ErrMalformed] when the stream is damaged or was cut short
// and [fault.ErrUnsupported] when it follows parts of the standard that are not
// handled.
func Decode(data []byte) (*codec.Raster, Info, error) {
	d := decoder{data: data}
	sos, err := d.readHeaders()
	if err != nil {
		return nil, Info{}, err
	}
	if err := d.checkSize(); err != nil {
		return nil, Info{}, err
	}
	d.pix = make([]uint16, d.info.Width*d.info.Height*d.info.Components)
	if err := d.readScans(sos); err != nil {
		return nil, Info{}, err
	}
	if err := d.finish(); err != nil {
		return nil, Info{}, err
	}
	return &codec.Raster{
		Width: d.info.Width, Height: d.info.Height,
		Components: d.info.Components, Bits: d.info.Bits, Pix: d.pix,
	}, d.info, nil
}

// decoder is the state of one stream.
type decoder struct {
	data []byte
	pos  int // of the next marker in data
	info Info

	frame   bool // a frame header was read
	comps   []*component
	hMax    int // largest sampling factors of the frame
	vMax    int
	mcusX   int // minimum coded units of an interleaved scan (T.81 A.2.3)
	mcusY   int
	whole   bool           // coefficients of the whole picture are kept
	quant   [4]*[64]int32  // in natural order
	tables  [2][4]*huffman // class (0 DC or lossless, 1 AC), destination
	restart int            // minimum coded units between restart markers, 0 none
	scans   int            // how many have begun
	pix     []uint16       // the picture
	memory  int            // bytes allocated for it and for what it is made from
}

// readHeaders reads everything before the first scan and returns the segment
// of its header.
func (d *decoder) readHeaders() ([]byte, error) {
	if len(d.data) < 2 || d.data[0] != 0xFF || d.data[1] != markerSOI {
		return nil, fault.Malformed("jpeg stream: it does not begin with a start-of-image marker")
	}
	d.pos = 2
	for {
		marker, segment, err := d.next()
		if err != nil {
			return nil, err
		}
		switch marker {
		case markerSOS:
			if !d.frame {
				return nil, fault.Malformed("jpeg stream: a scan comes before the frame header")
			}
			return segment, d.resolveLines()
		case markerEOI:
			return nil, fault.Malformed("jpeg stream: it ends before any picture data")
		}
		if err := d.misc(marker, segment); err != nil {
			return nil, err
		}
	}
}

// readScans decodes the first scan, whose header is given, and whatever follows
// up to the end-of-image marker.
func (d *decoder) readScans(sos []byte) error {
	if err := d.scan(sos); err != nil {
		return err
	}
	for {
		marker, segment, err := d.next()
		if err != nil {
			return err
		}
		switch marker {
		case markerEOI:
			return nil
		case markerSOS:
			err = d.scan(segment)
		default:
			err = d.misc(marker, segment)
		}
		if err != nil {
			return err
		}
	}
}
