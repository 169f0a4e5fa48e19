package jpeg

import "encoding/binary"

// bits reads entropy-coded data: the first bit of a byte is its top one, a zero
// byte stuffed behind 0xFF is dropped (T.81 F.2.2.5). It stops at any marker
// and hands out zeros from there on; short tells that some were used.
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

// load takes in as many whole bytes as fit: at once when none of the next eight
// is 0xFF, else one by one.
func (b *bits) load() {
	if b.pos+8 <= len(b.data) {
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
		if b.pos >= len(b.data) {
			b.makeUp()
			return
		}
		v := b.data[b.pos]
		if v == 0xFF {
			if b.pos+1 >= len(b.data) || b.data[b.pos+1] != 0 {
				b.makeUp()
				return
			}
			b.pos++
		}
		b.pos++
		b.acc |= uint64(v) << (56 - b.n)
		b.n += 8
	}
}

func (b *bits) makeUp() {
	b.pad += 64 - b.n
	b.n = 64
}

// short reports that more bits were used than the data hold.
func (b *bits) short() bool { return b.pad > b.n }

// spare returns how many real bits are unused up to the next marker.
func (b *bits) spare() int {
	return int(b.n) - int(b.pad) + 8*(markerAt(b.data, b.pos)-b.pos)
}

// take returns the next s ≤ 16 bits, unsigned. At least s must be loaded.
func (b *bits) take(s uint) int {
	v := b.acc >> 1 >> (63 - s)
	b.skip(s)
	return int(v)
}

func (b *bits) skip(s uint) {
	b.acc <<= s & 63
	b.n -= s
}

// reset drops what is loaded and goes on at position pos.
func (b *bits) reset(pos int) { *b = bits{data: b.data, pos: pos} }

// markerAt returns the position of the next marker at or behind pos, or the
// length of the data. Stuffed zeros and restart markers are told apart by the
// caller: any byte but zero behind 0xFF makes a marker here.
func markerAt(data []byte, pos int) int {
	for ; pos+1 < len(data); pos++ {
		if data[pos] == 0xFF && data[pos+1] != 0 {
			return pos
		}
	}
	return len(data)
}
