package imaging

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/image/bmp"
	"golang.org/x/image/tiff"

	"rootrule/imaging/dicomfile"
	"rootrule/imaging/fault"
	"rootrule/measure"
)

// MaxPixels bounds width × height of one picture (100 megapixels, several
// times the largest dental detector), MaxFile the bytes of one file.
const (
	MaxPixels = 100 << 20
	MaxFile   = 1 << 30
)

// Open reads the first picture of an image file.
func Open(path string) (*Image, error) { return OpenFrame(path, 1) }

// OpenFrame reads frame number frame, from 1, of an image file. Only DICOM
// files have more than one that can be read.
func OpenFrame(path string, frame int) (*Image, error) {
	name := filepath.Base(path)
	if head, err := readHead(path); err == nil && isDICOM(head) {
		return openDICOM(name, path, frame)
	}
	data, err := ReadFile(path)
	if err != nil {
		return nil, err
	}
	m, err := Decode(name, data)
	if err == nil && frame != 1 {
		return nil, noSuchFrame(name, frame, 1)
	}
	return m, err
}

// sniffLength is enough of a file to tell its format: a DICOM preamble is 128
// bytes and 4 letters (PS3.10, 7.1), and an element header follows.
const sniffLength = 256

// readHead reads the first bytes of a file.
func readHead(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, sniffLength))
}

// isDICOM reports whether a file that begins with head is DICOM and none of
// the other formats.
func isDICOM(head []byte) bool {
	for _, f := range formats {
		if f.match(head) {
			return false
		}
	}
	return dicomfile.Sniff(head[:min(len(head), sniffLength)])
}

// ReadFile reads the bytes of an image file of at most [MaxFile] bytes.
func ReadFile(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("open image: %w", err)
	}
	defer f.Close()
	info, err := f.Stat()
	switch {
	case err != nil:
		return nil, fmt.Errorf("open image: %w", err)
	case info.IsDir():
		return nil, fmt.Errorf("open image: %s is a folder: choose a file in it", filepath.Base(path))
	case info.Size() > MaxFile:
		return nil, fault.Unsupported("open image: %s has %d bytes, more than the %d that are handled", filepath.Base(path), info.Size(), MaxFile)
	}
	data := make([]byte, info.Size())
	if _, err := io.ReadFull(f, data); err != nil {
		return nil, fmt.Errorf("read image %s: %w", filepath.Base(path), err)
	}
	return data, nil
}

// format is one kind of picture file.
type format struct {
	name  string
	match func(head []byte) bool
	// expansion is the largest number of pixels that a byte of the file can
	// stand for; a header that promises more is wrong.
	expansion int
	config    func(io.Reader) (image.Config, error)
	decode    func(io.Reader) (image.Image, error)
	// tags reads what the file says beside its pixels; it must not fail.
	tags func(data []byte) tags
}

// tags is what a file states beside its pixels.
type tags struct {
	spacing     measure.Spacing
	turn        Turn // how stored rows must be turned to be upright
	whiteIsZero bool
	pages       int
	cautions    []string
}

// Expansion bounds: deflate can't exceed 1032:1 (RFC 1951: 258 bytes from two
// bits), and a PNG pixel has at least one bit, so 8 pixels a byte; LZW codes
// of 12 bits give at most 4096 bytes (TIFF 6.0, section 13); a JPEG block of
// 64 pixels takes at least 2 bits a scan, and end-of-band runs of progressive
// files pack blocks further (from memory of ITU-T T.81, G.1.2.2).
var formats = []format{
	{"PNG", hasPrefix("\x89PNG\r\n\x1a\n"), 1032 * 8, png.DecodeConfig, png.Decode, pngTags},
	{"JPEG", hasPrefix("\xff\xd8\xff"), 64 * 8, jpeg.DecodeConfig, jpeg.Decode, jpegTags},
	{"TIFF", isTIFF, 2731 * 8, tiff.DecodeConfig, tiff.Decode, tiffTags},
	{"BMP", hasPrefix("BM"), 8, bmp.DecodeConfig, bmp.Decode, bmpTags},
}

func hasPrefix(magic string) func([]byte) bool {
	return func(head []byte) bool { return bytes.HasPrefix(head, []byte(magic)) }
}

func isTIFF(head []byte) bool {
	return bytes.HasPrefix(head, []byte("II*\x00")) || bytes.HasPrefix(head, []byte("MM\x00*"))
}

// Decode reads the first picture from the bytes of an image file; name is
// shown in messages and kept in [Source]. Errors match [ErrMalformed] or
// [ErrUnsupported].
func Decode(name string, data []byte) (*Image, error) {
	if len(data) == 0 {
		return nil, emptyFile(name)
	}
	for _, f := range formats {
		if f.match(data) {
			return f.read(name, data)
		}
	}
	if isDICOM(data) {
		return decodeDICOM(name, data, 1)
	}
	return nil, fault.Unsupported("read image %s: neither DICOM, PNG, JPEG, TIFF nor BMP: export it as one of these", name)
}

// read decodes one picture and its tags.
func (f format) read(name string, data []byte) (*Image, error) {
	cfg, err := f.config(bytes.NewReader(data))
	if err != nil {
		return nil, f.explain(name, err)
	}
	if err := f.checkSize(name, cfg, len(data)); err != nil {
		return nil, err
	}
	decoded, err := f.decode(bytes.NewReader(data))
	if err != nil {
		return nil, f.explain(name, err)
	}
	t := f.tags(data)
	m := fromGo(decoded)
	m.WhiteIsZero = t.whiteIsZero
	if t.whiteIsZero {
		m.restoreStored()
	}
	m.Spacing = t.spacing
	m.Source = Source{Name: name, Format: f.name, Photometric: m.Source.Photometric, Frame: 1, Frames: max(1, t.pages)}
	m.Cautions = append(m.Cautions, t.cautions...)
	if t.pages > 1 {
		m.Cautions = append(m.Cautions, fmt.Sprintf("the file holds %d pictures: the first is shown", t.pages))
	}
	m.turn(t.turn)
	return m, nil
}

// checkSize refuses sizes that are impossible or too large, before anything
// is allocated.
func (f format) checkSize(name string, cfg image.Config, bytes int) error {
	w, h := cfg.Width, cfg.Height
	if w <= 0 || h <= 0 {
		return fault.Malformed("read image %s: its header says %d × %d pixels: export it again", name, w, h)
	}
	if w > MaxPixels/h {
		return fault.Unsupported("read image %s: %d × %d pixels are more than the %d that are handled", name, w, h, MaxPixels)
	}
	if w*h/f.expansion > bytes {
		return fault.Malformed("read image %s: %d bytes can't hold the %d × %d pixels that its header says: copy or export it again", name, bytes, w, h)
	}
	return nil
}

// explain turns a decoder's error into one of our two kinds.
func (f format) explain(name string, err error) error {
	if isUnsupported(err) {
		return fault.Unsupported("read image %s: this kind of %s is not handled (%v): export it as PNG or uncompressed TIFF", name, f.name, err)
	}
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return fault.Malformed("read image %s: the %s file ends too early: copy or export it again", name, f.name)
	}
	return fault.Malformed("read image %s: its %s data are wrong (%s): copy or export it again", name, f.name, plainCause(err))
}

// plainCause is what a decoder says is wrong, without its own name and its
// word for damage in front.
func plainCause(err error) string {
	text := err.Error()
	for _, front := range []string{"png: ", "tiff: ", "bmp: ", "jpeg: ", "invalid JPEG format: ", "invalid format: "} {
		text = strings.TrimPrefix(text, front)
	}
	return text
}

// isUnsupported tells the decoders' "unsupported" errors from damage.
func isUnsupported(err error) bool {
	var j jpeg.UnsupportedError
	var p png.UnsupportedError
	var t tiff.UnsupportedError
	return errors.As(err, &j) || errors.As(err, &p) || errors.As(err, &t) || errors.Is(err, bmp.ErrUnsupported)
}
