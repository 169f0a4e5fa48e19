package dicomfile

import (
	"encoding/binary"
	"fmt"
	"sync"

	"github.com/suyashkumar/dicom/pkg/tag"

	"rootrule/imaging/dicomfile/codec"
	"rootrule/imaging/fault"
)

// pixelData is where the pixels of a file lie.
type pixelData struct {
	at, length int64 // native: one run of bytes
	// swapped says that native bytes are 16-bit words in big endian.
	swapped bool
	frames  [][]fragment // encapsulated: the fragments of each frame
}

// findPixels checks that the file holds the picture its header promises. An
// error that matches fault.ErrUnsupported means that the header is in order but
// there is no picture to show.
func (f *File) findPixels(src *source, w *cleaner) error {
	described := f.header.has(tag.Rows) && f.header.has(tag.Columns)
	switch {
	case w.floatingPoint && w.pixels == nil:
		return fault.Unsupported("reading a frame: its pixels are floating-point numbers: export it with 16 bits")
	case w.pixels == nil && described:
		return fault.Malformed("reading a DICOM file: the header describes a picture but there is none: copy or export the file again")
	case w.pixels == nil:
		return fault.Unsupported("reading a frame: there is no picture in this DICOM file (%s): choose an image", f.header.line(tag.Modality))
	}
	var err error
	if f.layout, err = readLayout(f.header, w.caution); err != nil {
		return err
	}
	if w.pixels.undefined() {
		err = f.findFragments(src, w)
	} else {
		err = f.findNative(w)
	}
	if err != nil {
		return err
	}
	if f.layout.photometric == paletteCol {
		f.palette, err = readPalette(f.header, f.layout)
	}
	return err
}

// findNative compares the length of native pixel data with what the header
// promises: too short is an error, as is room for another frame; a few bytes
// more are padding.
func (f *File) findNative(w *cleaner) error {
	if f.syntax.encapsulated && f.syntax.decode == nil {
		return unhandledSyntax(f.syntax)
	}
	if f.syntax.encapsulated {
		return fault.Malformed("reading a DICOM file: the header says %s but pixels are not in fragments: export the file again", f.syntax.name)
	}
	l, have := &f.layout, int64(w.pixels.length)
	if l.subsampled() && have >= l.frameBits()/8*int64(l.frames)*3/2 && l.allocated == 8 {
		l.photometric = ybrFull // as peers do: the pixels are not subsampled after all
		w.caution("colour is said to be subsampled but is not")
	}
	bits := l.frameBits()
	if int64(l.frames) > have*8/bits {
		return fault.Malformed("reading a DICOM file: the header promises %d frames of %d×%d, which take %d bytes each; there are %d bytes: copy or export the file again",
			l.frames, l.width, l.height, (bits+7)/8, have)
	}
	surplus := have*8 - int64(l.frames)*bits
	if surplus >= bits && surplus >= 16 {
		return fault.Malformed("reading a DICOM file: the header promises %d frames of %d×%d, but there are pixels for %d: export the file again",
			l.frames, l.width, l.height, have*8/bits)
	}
	if surplus >= 16 {
		w.caution(fmt.Sprintf("there are %d bytes more pixels than the header promises; they were left out", surplus/8))
	}
	big := f.syntax.coding.order == binary.BigEndian
	f.pixels = pixelData{at: w.pixels.value, length: have, swapped: big && (w.pixels.vr != "OB" || l.allocated > 8)}
	return nil
}

// Bounds on the memory of a frame's samples, so that a small file can't ask for
// all of it: a fixed part, for a blank picture compresses without limit, and a
// part that grows with the file. Ours, no source.
const (
	memoryFloor   = 40 << 20
	memoryPerByte = 24
)

// Frame decodes frame i, counted from 0, and no other.
//
// Errors match fault.ErrMalformed or fault.ErrUnsupported, except those of the
// operating system and a file that changed since it was opened. An i outside
// the file's frames panics.
func (f *File) Frame(i int) (frame *Frame, err error) {
	if f.missing != nil {
		return nil, f.missing
	}
	if i < 0 || i >= f.layout.frames {
		panic(fmt.Sprintf("dicomfile: frame %d of %d", i, f.layout.frames))
	}
	if err := f.layout.supported(); err != nil {
		return nil, err
	}
	if need, most := 2*f.layout.sampleCount(), memoryFloor+memoryPerByte*f.from.size(); need > most {
		return nil, fault.Malformed("reading frame %d: its header promises %d×%d pixels, far more than %d bytes hold: copy or export the file again",
			i+1, f.layout.width, f.layout.height, f.from.size())
	}
	src, done, err := f.open()
	if err != nil {
		return nil, err
	}
	defer done()
	if f.pixels.frames != nil {
		return f.encapsulatedFrame(src, i)
	}
	return f.nativeFrame(src, i)
}

// open returns the bytes in which pixels lie.
func (f *File) open() (*source, func(), error) {
	from := f.from
	if f.inflated != nil {
		from = origin{data: f.inflated}
	}
	at, done, err := from.open()
	if err != nil {
		return nil, nil, err
	}
	return newSource(at, from.size()), done, nil
}

// scratch holds buffers for the bytes of a native frame, which a series needs
// hundreds of times.
var scratch = sync.Pool{New: func() any { return new([]byte) }}

// nativeFrame reads just the bytes of frame i.
func (f *File) nativeFrame(src *source, i int) (*Frame, error) {
	l := f.layout
	firstBit := int64(i) * l.frameBits()
	start, end := firstBit/8, (firstBit+l.frameBits()+7)/8
	if f.pixels.swapped { // whole words
		start, end = start&^1, min((end+1)&^1, f.pixels.length)
	}
	buffer := scratch.Get().(*[]byte)
	defer scratch.Put(buffer)
	if int64(cap(*buffer)) < end-start {
		*buffer = make([]byte, end-start)
	}
	raw := (*buffer)[:end-start]
	if _, err := src.at.ReadAt(raw, f.pixels.at+start); err != nil {
		return nil, fmt.Errorf("reading frame %d: %w", i+1, err)
	}
	if f.pixels.swapped {
		swap(raw, 2)
	}
	pix := unpack(raw, firstBit-start*8, l)
	photometric := l.photometric
	if photometric == ybrFull422 {
		photometric = ybrFull // each pixel has its own colour now
	}
	return f.frame(pix, l.allocated, photometric), nil
}

// encapsulatedFrame joins the fragments of frame i and decodes them.
func (f *File) encapsulatedFrame(src *source, i int) (*Frame, error) {
	l := f.layout
	if f.syntax.decode == nil {
		return nil, unhandledSyntax(f.syntax)
	}
	stream, err := joined(src, f.pixels.frames[i])
	if err != nil {
		return nil, err
	}
	raster, photometric, err := f.decode(stream)
	if err != nil {
		return nil, fmt.Errorf("reading frame %d of %d: %w", i+1, l.frames, err)
	}
	if raster.Width != l.width || raster.Height != l.height || raster.Components != l.samples {
		return nil, fault.Malformed("reading frame %d: the header promises %d×%d pixels of %d samples, the compressed picture has %d×%d of %d: export the file again",
			i+1, l.width, l.height, l.samples, raster.Width, raster.Height, raster.Components)
	}
	if raster.Bits > l.allocated {
		return nil, fault.Malformed("reading frame %d: the header promises samples of %d bits, the compressed picture has %d: export the file again", i+1, l.allocated, raster.Bits)
	}
	return f.frame(raster.Pix, raster.Bits, photometric), nil
}

func unhandledSyntax(s syntax) error {
	return fault.Unsupported("reading a frame: transfer syntax %q is not handled: export the file uncompressed", s.name)
}

// decode runs the decoder of the file's transfer syntax. Should it panic, the
// file is reported as damaged.
func (f *File) decode(stream []byte) (raster *codec.Raster, photometric string, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fault.Malformed("decoding %s: the stream is damaged: copy or export the file again", f.syntax.name)
		}
	}()
	return f.syntax.decode(stream, f.layout)
}
