package dicomfile

import (
	"bytes"
	"compress/flate"
	"errors"
	"fmt"
	"io"
	"os"

	"rootrule/imaging/fault"
)

// windowSize is how much of a file is read at once while its header is walked.
// Sixteen KiB hold the header of most radiographs; from memory.
const windowSize = 16 << 10

// source is the bytes of one file, or of one inflated data set, read in pieces
// so that a header costs no more memory than the header.
type source struct {
	at     io.ReaderAt
	size   int64
	window []byte
	from   int64 // where window starts
}

func newSource(at io.ReaderAt, size int64) *source { return &source{at: at, size: size} }

// bytes returns the n bytes at off. They stay valid until the next call.
func (s *source) bytes(off int64, n int) ([]byte, error) {
	if off < 0 || n < 0 || off > s.size || int64(n) > s.size-off {
		return nil, cutShort(off+int64(n), s.size)
	}
	if off < s.from || off+int64(n) > s.from+int64(len(s.window)) {
		if err := s.fill(off, n); err != nil {
			return nil, err
		}
	}
	start := int(off - s.from)
	return s.window[start : start+n], nil
}

func (s *source) fill(off int64, n int) error {
	want := max(n, int(min(windowSize, s.size-off)))
	if cap(s.window) < want {
		s.window = make([]byte, want)
	}
	s.window, s.from = s.window[:want], off
	if _, err := s.at.ReadAt(s.window, off); err != nil && !errors.Is(err, io.EOF) {
		s.window = s.window[:0]
		return fmt.Errorf("reading %d bytes at %d: %w", n, off, err)
	}
	return nil
}

func cutShort(need, have int64) error {
	return fault.Malformed("reading a DICOM file: its header promises %d bytes but the file has %d: copy or export it again", need, have)
}

// origin knows how to get at a file's bytes again after its header was read.
// Exactly one of data and path is set.
type origin struct {
	data []byte
	path string
	stat os.FileInfo
}

// open returns a reader over the bytes and what to call when done with it.
func (o *origin) open() (io.ReaderAt, func(), error) {
	if o.path == "" {
		return bytes.NewReader(o.data), func() {}, nil
	}
	f, err := os.Open(o.path)
	if err != nil {
		return nil, nil, err
	}
	now, err := f.Stat()
	if err == nil && (now.Size() != o.stat.Size() || !now.ModTime().Equal(o.stat.ModTime())) {
		err = errors.New("reading a frame: the file has changed since it was opened: open it again")
	}
	if err != nil {
		f.Close()
		return nil, nil, err
	}
	return f, func() { f.Close() }, nil
}

func (o *origin) size() int64 {
	if o.path == "" {
		return int64(len(o.data))
	}
	return o.stat.Size()
}

// Limits of an inflated data set, so that a small file can't ask for all
// memory: a floor that holds any single radiograph plus a ratio that real
// radiographs, which are noisy, stay far below. Ours, no source.
const (
	inflateFloor = 16 << 20
	inflateRatio = 12
)

// inflate returns src[from:] inflated (PS3.5 A.5: RFC 1951 without a zlib
// header). It inflates twice: once to learn the size, once into a buffer of
// exactly that size.
func inflate(src io.ReaderAt, from, size int64) ([]byte, error) {
	limit := inflateFloor + inflateRatio*size
	stream := func() io.Reader {
		return flate.NewReader(io.NewSectionReader(src, from, size-from))
	}
	n, err := io.Copy(io.Discard, io.LimitReader(stream(), limit+1))
	if err != nil {
		return nil, fault.Malformed("inflating a deflated DICOM file: the stream breaks off after %d bytes (%w): copy or export it again", n, err)
	}
	if n > limit {
		return nil, fault.Malformed("inflating a deflated DICOM file: more than %d bytes come out of %d: refused as damaged", limit, size)
	}
	out := make([]byte, n)
	if _, err := io.ReadFull(stream(), out); err != nil {
		return nil, fault.Malformed("inflating a deflated DICOM file: %w", err)
	}
	return out, nil
}
