package jpeg

import "rootrule/imaging/fault"

// lookBits is the length of the codes that one look into the table decodes.
const lookBits = 10

// code is one entry of the look-up table: the symbol in bits 0–7, the length of
// its code in bits 8–15, and in bits 16–23 that length with the extra bits that
// give the sign and magnitude. Zero: no such code.
type code uint32

func (c code) symbol() uint { return uint(c & 0xFF) }
func (c code) length() uint { return uint(c >> 8 & 0xFF) }
func (c code) total() uint  { return uint(c >> 16) }

// huffman is one table: T.81 C.2 gives the codes, F.2.2.3 how to decode them.
type huffman struct {
	look    [1 << lookBits]code
	codes   [256]code  // in the order of the codes
	maxCode [18]uint32 // largest code of each length + 1, moved to 16 bits
	offset  [17]int    // index of a code of each length − the code
}

const (
	classDC = 0 // DC coefficients and lossless differences
	classAC = 1
)

// readHuffmanTables reads DHT (T.81 B.2.4.2).
func (d *decoder) readHuffmanTables(segment []byte) error {
	for len(segment) > 0 {
		if len(segment) < 17 {
			return fault.Malformed("jpeg stream: a huffman table has %d bytes, fewer than 17", len(segment))
		}
		class, id := segment[0]>>4, segment[0]&15
		if class > 1 || id > 3 {
			return fault.Malformed("jpeg stream: huffman table %d of class %d does not exist", id, class)
		}
		total := 0
		for _, n := range segment[1:17] {
			total += int(n)
		}
		if total > 256 || len(segment) < 17+total {
			return fault.Malformed("jpeg stream: a huffman table announces %d codes in %d bytes", total, len(segment)-17)
		}
		table := &d.tables[class][id]
		if *table == nil {
			*table = new(huffman) // used again by later definitions
		}
		if err := (*table).define(int(class), segment[1:17], segment[17:17+total]); err != nil {
			return err
		}
		segment = segment[17+total:]
	}
	return nil
}

// define makes the codes from the number of codes of each length (1–16) and
// their symbols (T.81 C.2, figures C.1 to C.3).
func (h *huffman) define(class int, counts, symbols []byte) error {
	*h = huffman{}
	next, i := uint32(0), 0
	for length := uint(1); length <= 16; length++ {
		h.offset[length] = i - int(next)
		for range counts[length-1] {
			c, err := newCode(class, symbols[i], length)
			if err != nil {
				return err
			}
			if next >= 1<<length {
				return fault.Malformed("jpeg stream: a huffman table has more codes of %d bits than exist", length)
			}
			h.codes[i] = c
			h.put(next, length, c)
			next++
			i++
		}
		h.maxCode[length] = next << (16 - length)
		next <<= 1
	}
	return nil
}

func newCode(class int, symbol byte, length uint) (code, error) {
	extra := uint(symbol & 15) // T.81 F.1.2.2: the low half counts the magnitude bits
	if class == classDC {
		if symbol > 16 { // T.81 Table H.2
			return 0, fault.Malformed("jpeg stream: a huffman table names differences of %d bits", symbol)
		}
		extra = uint(symbol) & 15 // T.81 H.1.2.2: none follow category 16
	}
	return code(uint(symbol) | length<<8 | (length+extra)<<16), nil
}

// put enters a short code at every place that begins with it.
func (h *huffman) put(bits uint32, length uint, c code) {
	if length > lookBits {
		return
	}
	first := bits << (lookBits - length)
	for i := range uint32(1) << (lookBits - length) {
		h.look[first+i] = c
	}
}

// next returns the code at the front of b without taking it, with 32 bits or
// more loaded behind; 0 when there is no such code.
func (h *huffman) next(b *bits) code {
	b.fill()
	if c := h.look[b.acc>>(64-lookBits)]; c != 0 {
		return c
	}
	return h.long(uint32(b.acc >> 48))
}

// long finds a code that the look-up table does not hold (T.81 F.2.2.3).
func (h *huffman) long(front uint32) code {
	for length := uint(lookBits + 1); length <= 16; length++ {
		if front < h.maxCode[length] {
			return h.codes[h.offset[length]+int(front>>(16-length))]
		}
	}
	return 0
}

// signed takes a code and the magnitude behind it and returns the value
// (T.81 F.2.2.1, EXTEND in figure F.12).
func (b *bits) signed(c code) int32 {
	front := b.acc << (c.length() & 63)
	s := c.total() - c.length()
	b.skip(c.total())
	v := int32(front >> 1 >> ((63 - s) & 63))
	negative := int32(^int64(front) >> 63) // a magnitude whose top bit is 0
	return v + negative&(1-1<<(s&31))
}
