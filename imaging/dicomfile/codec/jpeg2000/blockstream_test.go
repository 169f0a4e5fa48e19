package jpeg2000

import (
	"bytes"
	"encoding/binary"
)

// A blockStream is an image of one code-block without wavelet: what a block
// decoder makes of some codeword segments.
type blockStream struct {
	width, height, bits int
	guard, exponent     int // bit-planes are guard+exponent-1
	modes               byte
	zeros               int // missing bit-planes
	passes              int
	segments            [][]byte
	counts              []int // passes of each segment
}

// A bitWriter writes packet headers (T.800 B.10.1).
type bitWriter struct {
	out  []byte
	cur  byte
	left int
}

func newBitWriter() *bitWriter { return &bitWriter{left: 8} }

func (w *bitWriter) bit(b int) {
	w.left--
	w.cur |= byte(b) << w.left
	if w.left == 0 {
		w.flush()
	}
}

func (w *bitWriter) flush() {
	w.out = append(w.out, w.cur)
	w.left = 8
	if w.cur == 0xff {
		w.left = 7
	}
	w.cur = 0
}

func (w *bitWriter) bits(v, n int) {
	for i := n - 1; i >= 0; i-- {
		w.bit(v >> i & 1)
	}
}

func (w *bitWriter) bytes() []byte {
	if w.left < 8 {
		w.flush()
	}
	return w.out
}

// encode writes the codestream.
func (s blockStream) encode() []byte {
	be := binary.BigEndian
	out := []byte{0xff, 0x4f, 0xff, 0x51, 0, 41, 0x40, 0}
	for _, v := range []int{s.width, s.height, 0, 0, s.width, s.height, 0, 0} {
		out = be.AppendUint32(out, uint32(v))
	}
	out = append(out, 0, 1, byte(s.bits-1), 1, 1)
	if s.modes&modeHT != 0 { // CAP (T.814 A.3)
		out = append(out, 0xff, 0x50, 0, 8, 0, 2, 0, 0, 0, byte(s.guard+s.exponent-8))
	}
	out = append(out, 0xff, 0x52, 0, 12, 0, 0, 0, 1, 0, 0, 4, 4, s.modes, 1)
	out = append(out, 0xff, 0x5c, 0, 4, byte(s.guard<<5), byte(s.exponent<<3))
	packet := append(s.header(), bytes.Join(s.segments, nil)...)
	out = append(out, 0xff, 0x90, 0, 10, 0, 0)
	out = be.AppendUint32(out, uint32(14+len(packet)))
	out = append(out, 0, 1, 0xff, 0x93)
	out = append(out, packet...)
	return append(out, 0xff, 0xd9)
}

// header writes the packet header (T.800 B.10).
func (s blockStream) header() []byte {
	w := newBitWriter()
	w.bit(1)             // not empty
	w.bit(1)             // included in layer 0
	w.bits(1, s.zeros+1) // missing bit-planes
	switch n := s.passes; {
	case n == 1:
		w.bit(0)
	case n == 2:
		w.bits(0b10, 2)
	case n <= 5:
		w.bits(0b1100|(n-3), 4)
	case n <= 36:
		w.bits(0b1111<<5|(n-6), 9)
	default:
		w.bits(0b111111111<<7|(n-37), 16)
	}
	const lengthBits = 20
	for range lengthBits - 3 {
		w.bit(1)
	}
	w.bit(0)
	for i, seg := range s.segments {
		extra := 0
		for n := s.counts[i]; n > 1; n /= 2 {
			extra++
		}
		w.bits(len(seg), lengthBits+extra)
	}
	return w.bytes()
}
