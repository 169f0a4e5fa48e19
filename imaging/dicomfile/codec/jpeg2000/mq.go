package jpeg2000

import (
	"encoding/binary"
	"math/bits"
)

// An mqDecoder is the arithmetic decoder of T.800 Annex C.
//
// The registers of the standard, A and C, are kept with 32 bits below the
// binary point, so that four bytes are read at a time instead of one; and A
// less 0x8000, so that a decision that changes no scale shows in the signs of
// the two. In the hot loops they are local variables. A decision begins with
//
//	state := m.contexts[x]
//	qe := int64(uint16(state)) << 32
//	a, c, bit := a-qe, c-qe, state>>16&1 // the more probable symbol
//	if a|c < 0 {
//		a, c, bit = m.exchange(a, c, x, state)
//	}
type mqDecoder struct {
	ahead    int // bits of C below the binary point that have been read
	data     []byte
	pos      int
	prev     byte
	past     int // bytes read past the end of data
	contexts [numContexts]uint32
}

// A registers is A-0x8000 and C, times 2^32, between two passes.
type registers struct{ a, c int64 }

// mqStates is T.800 Table C.2 twice, for both values of the more probable
// symbol. A state packs Q_e in bits 0–15, the symbol in bit 16, and the states
// to go to in bits 17–23 (more probable) and 24–30 (less probable).
var mqStates [128]uint32

// mqTable is T.800 Table C.2: Q_e, NMPS, NLPS, SWITCH.
var mqTable = [47][4]uint32{
	{0x5601, 1, 1, 1}, {0x3401, 2, 6, 0}, {0x1801, 3, 9, 0}, {0x0ac1, 4, 12, 0},
	{0x0521, 5, 29, 0}, {0x0221, 38, 33, 0}, {0x5601, 7, 6, 1}, {0x5401, 8, 14, 0},
	{0x4801, 9, 14, 0}, {0x3801, 10, 14, 0}, {0x3001, 11, 17, 0}, {0x2401, 12, 18, 0},
	{0x1c01, 13, 20, 0}, {0x1601, 29, 21, 0}, {0x5601, 15, 14, 1}, {0x5401, 16, 14, 0},
	{0x5101, 17, 15, 0}, {0x4801, 18, 16, 0}, {0x3801, 19, 17, 0}, {0x3401, 20, 18, 0},
	{0x3001, 21, 19, 0}, {0x2801, 22, 19, 0}, {0x2401, 23, 20, 0}, {0x2201, 24, 21, 0},
	{0x1c01, 25, 22, 0}, {0x1801, 26, 23, 0}, {0x1601, 27, 24, 0}, {0x1401, 28, 25, 0},
	{0x1201, 29, 26, 0}, {0x1101, 30, 27, 0}, {0x0ac1, 31, 28, 0}, {0x09c1, 32, 29, 0},
	{0x08a1, 33, 30, 0}, {0x0521, 34, 31, 0}, {0x0441, 35, 32, 0}, {0x02a1, 36, 33, 0},
	{0x0221, 37, 34, 0}, {0x0141, 38, 35, 0}, {0x0111, 39, 36, 0}, {0x0085, 40, 37, 0},
	{0x0049, 41, 38, 0}, {0x0025, 42, 39, 0}, {0x0015, 43, 40, 0}, {0x0009, 44, 41, 0},
	{0x0005, 45, 42, 0}, {0x0001, 45, 43, 0}, {0x5601, 46, 46, 0},
}

func init() {
	for i, row := range mqTable {
		for mps := range uint32(2) {
			nlps := 2*row[2] + mps ^ row[3]
			mqStates[2*i+int(mps)] = row[0] | mps<<16 | (2*row[1]+mps)<<17 | nlps<<24
		}
	}
}

// mqState returns the packed form of row i of T.800 Table C.2 with the more
// probable symbol 0.
func mqState(i int) uint32 { return mqStates[2*i] }

// mqHalf is 0x8000, which A never falls below, in the scale of the registers.
const mqHalf = 0x8000 << 32

// mqSentinel must follow the data of a codeword segment: a marker, which the
// decoder does not read past (T.800 C.3.4).
var mqSentinel = []byte{0xff, 0xff, 0xff, 0xff}

// start begins a codeword segment, data with mqSentinel behind it in its
// backing array (T.800 C.3.5, INITDEC).
func (m *mqDecoder) start(data []byte) registers {
	m.data = data[:len(data)+len(mqSentinel)]
	m.pos, m.prev, m.past, m.ahead = 0, 0, 0, -15
	return registers{0, m.fill(0)}
}

// decode is one decision outside of the hot loops.
func (m *mqDecoder) decode(a, c int64, x uint8) (int64, int64, uint32) {
	state := m.contexts[x&31]
	qe := int64(uint16(state)) << 32
	a, c = a-qe, c-qe
	if a|c < 0 {
		return m.exchange(a, c, x, state)
	}
	return a, c, state >> 16 & 1
}

// exchange finishes a decision in context x, which has the given state, after
// Q_e was taken off both registers and one fell below zero (T.800 C.3.2 and
// C.3.3, DECODE to RENORMD), without branches that depend on the data.
func (m *mqDecoder) exchange(a, c int64, x uint8, state uint32) (int64, int64, uint32) {
	qe := int64(uint16(state)) << 32
	lower := c >> 63           // all ones if Chigh was below Q_e
	a += mqHalf                // A
	less := lower ^ (a-qe)>>63 // all ones for the less probable symbol
	a += (qe - a) & lower
	c += qe & lower
	m.contexts[x&31] = mqStates[state>>(17+uint(less&7))&127]
	n := uint(bits.LeadingZeros64(uint64(a))-16) & 63
	a = a<<n - mqHalf
	c <<= n
	if m.ahead -= int(n); m.ahead < 0 {
		c = m.fill(c)
	}
	return a, c, state>>16&1 ^ uint32(less&1)
}

// fill adds bytes to C until at least 17 bits are ahead (T.800 C.3.4, BYTEIN).
func (m *mqDecoder) fill(c int64) int64 {
	if m.pos+4 <= len(m.data) && m.prev != 0xff {
		w := binary.BigEndian.Uint32(m.data[m.pos:])
		if (^w-0x01010101)&w&0x80808080 == 0 { // no byte of ones
			c += int64(w) << uint(-m.ahead)
			m.ahead += 32
			m.pos += 4
			m.prev = byte(w)
			return c
		}
	}
	for m.ahead <= 16 {
		b := m.data[m.pos]
		switch {
		case m.prev != 0xff:
			c += int64(b) << uint(24-m.ahead)
			m.ahead += 8
		case b <= 0x8f: // its first bit adds to the byte of ones
			c += int64(b) << uint(25-m.ahead)
			m.ahead += 7
		default: // a marker: ones follow for ever
			c += 0xff << uint(24-m.ahead)
			m.ahead += 8
			m.past++
			continue
		}
		m.prev = b
		m.pos++
	}
	return c
}
