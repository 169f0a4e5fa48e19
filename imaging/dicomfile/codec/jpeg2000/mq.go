package jpeg2000

import (
	"encoding/binary"
	"math/bits"
)

// An mqDecoder is the arithmetic decoder of T.800 Annex C.
//
// The registers of the standard, A and C, are kept with 32 bits below the
// binary point, so that four bytes are read at a time instead of one. Most
// decisions take the more probable symbol without a change of scale; that is
// so as long as d = min(Chigh, A-0x8000) stays above zero when Q_e is taken off
// both registers. So only d is kept up to date on the way, by the caller, in a
// local variable; a and c are what A and C exceed it by. A decision begins with
//
//	d -= int(uint16(m.contexts[x])) // Q_e
//	bit := m.contexts[x] >> 16 & 1  // the more probable symbol
//	if d < 0 {
//		d, bit = m.exchange(d, x)
//	}
type mqDecoder struct {
	a, c     int64 // A and C less d, times 2^32
	ahead    int   // bits of C below the binary point that have been read
	data     []byte
	pos      int
	prev     byte
	past     int // bytes read past the end of data
	contexts [numContexts]uint32
}

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

// mqHalf is 0x8000, what A is kept above, in the scale of a and c.
const mqHalf = 0x8000 << 32

// mqSentinel must follow the data of a codeword segment: a marker, which the
// decoder does not read past (T.800 C.3.4).
var mqSentinel = []byte{0xff, 0xff, 0xff, 0xff}

// start begins a codeword segment, data with mqSentinel behind it in its
// backing array (T.800 C.3.5, INITDEC): d is zero then.
func (m *mqDecoder) start(data []byte) {
	m.data = data[:len(data)+len(mqSentinel)]
	m.pos, m.prev, m.past = 0, 0, 0
	m.a, m.c, m.ahead = mqHalf, 0, -15
	m.fill()
}

// exchange finishes a decision in context x for which d, with Q_e already taken
// off, fell below zero (T.800 C.3.2 and C.3.3, DECODE to RENORMD), without
// branches that depend on the data. It returns the new d and the symbol.
func (m *mqDecoder) exchange(d int, x uint8) (int, uint32) {
	state := m.contexts[x&31]
	qe := int64(uint16(state)) << 32
	a, c := m.a+int64(d)<<32, m.c+int64(d)<<32
	lower := c >> 63           // all ones if Chigh was below Q_e
	less := lower ^ (a-qe)>>63 // all ones for the less probable symbol
	a += (qe - a) & lower
	c += qe & lower
	m.contexts[x&31] = mqStates[state>>(17+uint(less&7))&127]
	n := bits.LeadingZeros64(uint64(a)) - 16
	a <<= uint(n)
	m.c = c << uint(n)
	if m.ahead -= n; m.ahead < 0 {
		m.fill()
	}
	c = m.c
	room := min(c>>32, a>>32-0x8000)
	m.a, m.c = a-room<<32, c-room<<32
	return int(room), state>>16&1 ^ uint32(less&1)
}

// fill reads bytes until C has at least 17 bits ahead (T.800 C.3.4, BYTEIN).
func (m *mqDecoder) fill() {
	if m.pos+4 <= len(m.data) && m.prev != 0xff {
		w := binary.BigEndian.Uint32(m.data[m.pos:])
		if (^w-0x01010101)&w&0x80808080 == 0 { // no byte of ones
			m.c += int64(w) << uint(-m.ahead)
			m.ahead += 32
			m.pos += 4
			m.prev = byte(w)
			return
		}
	}
	for m.ahead <= 16 {
		b := m.data[m.pos]
		switch {
		case m.prev != 0xff:
			m.c += int64(b) << uint(24-m.ahead)
			m.ahead += 8
		case b <= 0x8f: // its first bit adds to the byte of ones
			m.c += int64(b) << uint(25-m.ahead)
			m.ahead += 7
		default: // a marker: ones follow for ever
			m.c += 0xff << uint(24-m.ahead)
			m.ahead += 8
			m.past++
			continue
		}
		m.prev = b
		m.pos++
	}
}
