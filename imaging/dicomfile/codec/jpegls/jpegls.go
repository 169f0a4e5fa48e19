// Package jpegls decodes the JPEG-LS streams of DICOM's encapsulated transfer
// syntaxes 1.2.840.10008.1.2.4.80 (lossless) and .81 (near-lossless) as ITU-T
// T.87 (ISO/IEC 14495-1) describes them.
//
// Call [Decode] with the complete stream of one frame, or [ReadInfo] for what
// its headers say without decoding. Pictures have 2 to 16 bits, 1 or 3
// components, not interleaved, interleaved by line or by sample, preset coding
// parameters and restart intervals. Mapping tables (palettes), subsampled
// components, the point transform, colour transforms and pictures beyond
// 65,535 pixels a side are unsupported.
//
// Samples come back as the stream stores them, interleaved by pixel, unsigned.
// In a near-lossless stream each lies within [Info].Near of what was encoded.
// Colour is never converted.
//
// The end marker must be there and every component must be complete: a stream
// that was cut is an error, never a partial picture. What follows the end
// marker is ignored.
//
// Names in the code are those of the standard: Ra, Rb, Rc, Rd are the samples to
// the left, above, above left and above right of the one being decoded
// (figure 3); A, B, C, N the accumulators of a context (A.2.1).
package jpegls

import (
	"rootrule/imaging/dicomfile/codec"
	"rootrule/imaging/fault"
)

// Interleave is how the components of a scan are mixed (T.87 C.2.3, ILV).
type Interleave int

// The interleave modes, by their number in the scan header.
const (
	None     Interleave = 0 // one scan for each component
	ByLine   Interleave = 1
	BySample Interleave = 2
)

// Info is what the headers of a stream say of the picture, up to and with those
// of its first scan.
type Info struct {
	Width, Height int // pixels
	Components    int // 1 or 3
	Bits          int // precision of a sample, 2–16
	Near          int // largest difference from the encoded sample, 0 lossless
	Interleave    Interleave
}

// ReadInfo reads the headers of a stream and decodes nothing, so a stream that
// was cut behind its headers passes.
func ReadInfo(data []byte) (Info, error) {
	d := decoder{data: data}
	_, err := d.readHeaders()
	if err != nil {
		return Info{}, err
	}
	return d.info, nil
}

// Decode returns the picture of one complete stream. Bits of the raster is the
// precision that the stream states.
//
// Errors match [fault.ErrMalformed] when the stream is damaged or was cut short
// and [fault.ErrUnsupported] when it follows parts of the standard that are not
// handled.
func Decode(data []byte) (*codec.Raster, error) {
	d := decoder{data: data}
	first, err := d.readHeaders()
	if err != nil {
		return nil, err
	}
	if err := d.checkSize(); err != nil {
		return nil, err
	}
	d.pix = make([]uint16, d.info.Width*d.info.Height*d.info.Components)
	if err := d.readScans(first); err != nil {
		return nil, err
	}
	return &codec.Raster{
		Width: d.info.Width, Height: d.info.Height,
		Components: d.info.Components, Bits: d.info.Bits, Pix: d.pix,
	}, nil
}

// decoder is the state of one stream.
type decoder struct {
	data    []byte
	pos     int // of the next marker in data
	info    Info
	ids     []byte // of the components; empty before the frame header
	decoded []bool // components whose scan has come
	preset  preset
	restart int // lines between restart markers, 0 none
	pix     []uint16
}

// readHeaders reads everything up to the first scan header and returns that.
func (d *decoder) readHeaders() (*scanHeader, error) {
	if len(d.data) < 2 || d.data[0] != 0xFF || d.data[1] != markerSOI {
		return nil, fault.Malformed("jpeg-ls stream: it does not begin with a start-of-image marker")
	}
	d.pos = 2
	for {
		marker, segment, err := d.next()
		if err != nil {
			return nil, err
		}
		switch marker {
		case markerSOS:
			h, err := d.readScanHeader(segment)
			if err == nil {
				d.info.Near, d.info.Interleave = h.near, h.interleave
			}
			return h, err
		case markerEOI:
			return nil, fault.Malformed("jpeg-ls stream: it ends before any picture data")
		}
		if err := d.misc(marker, segment); err != nil {
			return nil, err
		}
	}
}

// readScans decodes the scan whose header is given and whatever follows up to
// the end-of-image marker.
func (d *decoder) readScans(h *scanHeader) error {
	if err := d.scan(h); err != nil {
		return err
	}
	for {
		marker, segment, err := d.next()
		if err != nil {
			return err
		}
		switch marker {
		case markerEOI:
			return d.checkComplete()
		case markerSOS:
			if h, err = d.readScanHeader(segment); err == nil {
				err = d.scan(h)
			}
		default:
			err = d.misc(marker, segment)
		}
		if err != nil {
			return err
		}
	}
}

func (d *decoder) checkComplete() error {
	for i, ok := range d.decoded {
		if !ok {
			return fault.Malformed("jpeg-ls stream: it ends without a scan of component %d", d.ids[i])
		}
	}
	return nil
}
