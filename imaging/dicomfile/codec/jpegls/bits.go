package jpegls

import (
	"encoding/binary"
	mathbits "math/bits"
)

// bits reads coded data: the first bit of a byte is its top one, a byte behind
// 0xFF has seven bits, its top one being a stuffed zero (T.87 A.1, C.2.1). It
// stops at a marker and hands out zeros from there on; short tells that some
// were used.
type bits struct {
	data []byte
	pos  int    // of the next byte to load
	acc  uint64 // unread bits, the next one on top
	n    uint   // how many bits of acc are loaded
	pad  uint   // how many zeros were made up behind the last real bit
}

const (
	lowOfBytes  = 0x0101010101010101
	highOfBytes = 0x8080808080808080
)

// fill makes sure that 32 bits or more are loaded.
func (b *bits) fill() {
	if b.n < 32 {
		b.load()
	}
}

// load takes in as many whole bytes as fit, at least up to 56 bits: at once when
// neither the last byte nor the next eight are 0xFF, else one by one.
func (b *bits) load() {
	if b.pos+8 <= len(b.data) && b.data[b.pos-1] != 0xFF {
		w := binary.BigEndian.Uint64(b.data[b.pos:])
		if (^w-lowOfBytes)&w&highOfBytes == 0 {
			b.acc |= w >> (b.n & 63) // bits beyond the whole bytes come again, the same
			k := (64 - b.n) >> 3
			b.pos += int(k)
			b.n += 8 * k
			return
		}
	}
	b.loadBytes()
}

func (b *bits) loadBytes() {
	for b.n <= 56 {
		if b.pos >= len(b.data) || markerBegins(b.data[b.pos:]) {
			b.pad += 64 - b.n
			b.n = 64
			return
		}
		width := uint(8)
		if b.data[b.pos-1] == 0xFF {
			width = 7
		}
		b.acc |= uint64(b.data[b.pos]) << (64 - width - b.n)
		b.n += width
		b.pos++
	}
}

// markerBegins tells a marker from coded data, in which a byte behind 0xFF is
// below 0x80.
func markerBegins(data []byte) bool {
	return data[0] == 0xFF && (len(data) < 2 || data[1] >= 0x80)
}

// short reports that more bits were used than the data hold.
func (b *bits) short() bool { return b.pad > b.n }

// nextMarker returns the position of the next marker, or the length of the data.
func (b *bits) nextMarker() int {
	for pos := b.pos; pos < len(b.data); pos++ {
		if markerBegins(b.data[pos:]) {
			return pos
		}
	}
	return len(b.data)
}

// spare returns how many real bits are unused up to the next marker.
func (b *bits) spare() int {
	return int(b.n) - int(b.pad) + 8*(b.nextMarker()-b.pos)
}

// take returns the next s ≤ 32 bits.
func (b *bits) take(s uint) uint32 {
	b.fill()
	v := b.acc >> 1 >> ((63 - s) & 63)
	b.skip(s)
	return uint32(v)
}

func (b *bits) skip(s uint) {
	b.acc <<= s & 63
	b.n -= s
}

// golomb reads a number in the limited-length Golomb code with parameter k
// (T.87 A.5.3): a count of zeros, a one, and k bits; or, behind exactly longest
// zeros, the number less one in qbpp bits. A longer count is no code: ok is
// false.
func (b *bits) golomb(k, longest, qbpp uint) (v uint32, ok bool) {
	b.fill()
	zeros := uint(mathbits.LeadingZeros64(b.acc))
	if zeros >= longest || zeros+1+k > b.n {
		return b.golombLong(k, longest, qbpp)
	}
	rest := b.acc << 1 << (zeros & 63)
	b.acc = rest << (k & 63)
	b.n -= zeros + 1 + k
	return uint32(zeros<<(k&63) | uint(rest>>1>>((63-k)&63))), true
}

// golombLong reads codes that need more bits than are loaded, and escapes.
func (b *bits) golombLong(k, longest, qbpp uint) (v uint32, ok bool) {
	zeros := uint(0)
	for b.take(1) == 0 {
		if zeros++; zeros > longest {
			return 0, false
		}
	}
	if zeros == longest {
		return b.take(qbpp) + 1, true
	}
	return uint32(zeros<<k) | b.take(k), true
}
