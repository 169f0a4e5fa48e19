// Package rle decodes frames of DICOM's RLE Lossless transfer syntax
// (1.2.840.10008.1.2.5) as PS3.5 Annex G describes them. Call [Decode] with the
// bytes of one frame and the sizes that the data set states: an RLE stream has
// no size of its own, only the number of its byte planes, which [Segments]
// reads.
//
// A frame is cut into byte planes (G.2): component after component, in each
// the most significant byte first. Every plane is one segment of PackBits runs
// (G.3), and a header of sixteen 32-bit numbers tells where each begins (G.5).
//
// The decoder is strict where a fault would change pixels: a segment must give
// exactly width × height bytes, offsets must rise and lie inside the stream,
// the number of segments must fit the data set. It is lenient where encoders
// differ without harm: a run may cross the end of a row, a no-operation byte
// may stand anywhere, and padding may follow the last run of a segment.
//
// Samples come back unsigned, interleaved by pixel, 8 or 16 bits wide, 1 or 3
// components. It does not turn signs, colours or photometric meaning; 1- and
// 32-bit samples are unsupported.
package rle

import (
	"encoding/binary"
	"errors"
	"fmt"

	"rootrule/imaging/dicomfile/codec"
	"rootrule/imaging/fault"
)

const (
	headerSize  = 64   // bytes: sixteen unsigned 32-bit numbers, PS3.5 G.5
	maxSegments = 15   // PS3.5 G.5: the first number counts, fifteen offsets follow
	maxRun      = 128  // PS3.5 G.3.1: bytes that the longest run of two bytes gives
	noOperation = 0x80 // PS3.5 G.3.2: a run header of −128 stands for nothing
)

// Memory that one frame may take, whatever its sizes claim: a fixed part for
// blank pictures, which compress without limit, and a part that grows with the
// stream. Common practice, no source.
const (
	memoryFloor   = 64 << 20
	memoryPerByte = 40
)

// Segments returns the number of byte planes of a stream (1–15): the number of
// components times the bytes of a sample. It checks the header and decodes
// nothing.
func Segments(data []byte) (int, error) {
	offsets, err := readHeader(data)
	if err != nil {
		return 0, err
	}
	return len(offsets) - 1, nil
}

// Decode returns the picture of one frame. Width and height are in pixels,
// components is 1 or 3, bitsAllocated 8 or 16, all as the data set states them.
// The raster's Bits is bitsAllocated.
//
// Errors match [fault.ErrMalformed] when the stream contradicts itself or these
// sizes, and [fault.ErrUnsupported] for other kinds of samples.
func Decode(data []byte, width, height, components, bitsAllocated int) (*codec.Raster, error) {
	if err := checkKind(components, bitsAllocated); err != nil {
		return nil, err
	}
	offsets, err := readHeader(data)
	if err != nil {
		return nil, err
	}
	bytesPerSample := bitsAllocated / 8
	if got, want := len(offsets)-1, components*bytesPerSample; got != want {
		return nil, fault.Malformed("rle stream: it has %d byte planes, but %d components of %d bits need %d", got, components, bitsAllocated, want)
	}
	if err := checkSize(len(data), width, height, components); err != nil {
		return nil, err
	}
	pix := make([]uint16, width*height*components)
	for c := range components {
		segments := make([]segment, bytesPerSample)
		for b := range segments {
			s := c*bytesPerSample + b
			segments[b] = segment{data: data[offsets[s]:offsets[s+1]], number: s + 1}
		}
		if err := readComponent(pix[c:], segments, width*height, components); err != nil {
			return nil, err
		}
	}
	return &codec.Raster{Width: width, Height: height, Components: components, Bits: bitsAllocated, Pix: pix}, nil
}

func checkKind(components, bitsAllocated int) error {
	if components != 1 && components != 3 {
		return fault.Unsupported("rle stream: %d components a pixel: only 1 and 3 are read", components)
	}
	if bitsAllocated != 8 && bitsAllocated != 16 {
		return fault.Unsupported("rle stream: %d bits allocated: only 8 and 16 are read", bitsAllocated)
	}
	return nil
}

// checkSize holds the stated sizes against the stream before anything is
// allocated: two bytes give at most 128 (PS3.5 G.3.1).
func checkSize(stream, width, height, components int) error {
	if width < 1 || height < 1 || width > codec.MaxSamples/height/components {
		return fault.Malformed("rle stream: impossible size of %d × %d pixels of %d components", width, height, components)
	}
	if pixels := width * height; pixels > stream*(maxRun/2) {
		return fault.Malformed("rle stream: %d bytes can't hold %d × %d pixels", stream, width, height)
	}
	if need, most := 2*width*height*components, memoryFloor+memoryPerByte*stream; need > most {
		return fault.Unsupported("rle stream: %d × %d pixels out of %d bytes would take %d MB of memory, more than the %d MB allowed", width, height, stream, need>>20, most>>20)
	}
	return nil
}

// readHeader returns the offsets of the segments and, behind them, the end of
// the stream (PS3.5 G.5).
func readHeader(data []byte) ([]int, error) {
	if len(data) < headerSize {
		return nil, fault.Malformed("rle stream: %d bytes are too few for the header of %d", len(data), headerSize)
	}
	count := binary.LittleEndian.Uint32(data)
	if count < 1 || count > maxSegments {
		return nil, fault.Malformed("rle stream: the header counts %d byte planes, not 1 to %d", count, maxSegments)
	}
	offsets := make([]int, count, maxSegments+1)
	last := headerSize
	for i := range offsets {
		at := int(binary.LittleEndian.Uint32(data[4+4*i:]))
		if at < last || at > len(data) {
			return nil, fault.Malformed("rle stream: byte plane %d starts at %d, outside %d to %d", i+1, at, last, len(data))
		}
		offsets[i], last = at, at
	}
	return append(offsets, len(data)), nil
}

// chunk is how many bytes of each plane are unpacked at a time: few enough to
// stay in the processor's first cache.
const chunk = 8 << 10

// readComponent unpacks n bytes from each of one or two segments and makes
// every step-th sample of pix from them.
func readComponent(pix []uint16, segments []segment, n, step int) error {
	planes := make([]byte, chunk*len(segments))
	for start := 0; start < n; start += chunk {
		size := min(chunk, n-start)
		for i := range segments {
			if err := segments[i].read(planes[i*chunk:][:size]); err != nil {
				return fault.Malformed("rle stream: byte plane %d: %w near pixel %d of %d", segments[i].number, err, start+size, n)
			}
		}
		join(pix[start*step:], planes, size, step)
	}
	for i := range segments {
		if err := segments[i].end(); err != nil {
			return fault.Malformed("rle stream: byte plane %d: %w", segments[i].number, err)
		}
	}
	return nil
}

// segment is one byte plane while it is read.
type segment struct {
	data   []byte // not yet read
	run    int    // bytes left of the run that was begun
	same   bool   // the run repeats data[0]
	number int    // from 1
}

var errShort = errors.New("it ends too early")

// read fills out from the runs (PS3.5 G.3.2).
func (s *segment) read(out []byte) error {
	for len(out) > 0 {
		if s.run == 0 {
			if err := s.begin(); err != nil {
				return err
			}
		}
		n := min(s.run, len(out))
		if s.same {
			fill(out[:n], s.data[0])
		} else {
			copy(out[:n], s.data)
			s.data = s.data[n:]
		}
		if s.run -= n; s.run == 0 && s.same {
			s.data = s.data[1:]
		}
		out = out[n:]
	}
	return nil
}

// begin reads the header of the next run: up to 127 it announces header+1 bytes
// as they are, from 129 on one byte that stands 257−header times.
func (s *segment) begin() error {
	for len(s.data) > 0 && s.data[0] == noOperation {
		s.data = s.data[1:]
	}
	if len(s.data) < 2 {
		return errShort
	}
	header := int(s.data[0])
	s.data = s.data[1:]
	if s.same = header > noOperation; s.same {
		s.run = 257 - header
		return nil
	}
	if s.run = header + 1; s.run > len(s.data) {
		return errShort
	}
	return nil
}

// end checks what is left when all pixels are read. It accepts what encoders
// put behind the last run: one byte of any value to make the length even (PS3.5
// G.5 asks for a zero), or more of them that are zero or no operation. Anything
// else means a larger picture.
func (s *segment) end() error {
	if s.run > 0 {
		return fmt.Errorf("its last run is %d bytes too long", s.run)
	}
	if len(s.data) < 2 {
		return nil
	}
	for _, b := range s.data {
		if b != 0 && b != noOperation {
			return fmt.Errorf("%d bytes are left over behind the last pixel", len(s.data))
		}
	}
	return nil
}

func fill(run []byte, value byte) {
	word := uint64(value) * 0x0101010101010101 // the value in each of eight bytes
	for ; len(run) >= 8; run = run[8:] {
		binary.LittleEndian.PutUint64(run, word)
	}
	for i := range run {
		run[i] = value
	}
}

// join makes every step-th sample of pix from n bytes of one plane, or from the
// high and the low byte of two that begin a chunk apart.
func join(pix []uint16, planes []byte, n, step int) {
	high := planes[:n]
	if len(planes) == chunk {
		for i, b := range high {
			pix[i*step] = uint16(b)
		}
		return
	}
	low := planes[chunk:][:n]
	if step == 1 {
		pix = pix[:n]
		for i, b := range high {
			pix[i] = uint16(b)<<8 | uint16(low[i])
		}
		return
	}
	for i, b := range high {
		pix[i*step] = uint16(b)<<8 | uint16(low[i])
	}
}
