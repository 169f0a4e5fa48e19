package jpeg2000

import "math/bits"

// High-throughput code-blocks (T.814 clause 7). The cleanup pass codes 2 × 2
// samples together, a quad: samples 0 and 1 are its left column from the top, 2
// and 3 the right one. Its codeword segment holds three bit streams: MagSgn
// from the front, MEL after it, and VLC from the back.

// htCodewords are htCodes by context, first bit lowest, and by the next seven
// bits.
var htCodewords [2][8 << 7]htCodeword

// An htCodeword is what a codeword says of a quad.
type htCodeword struct {
	length   uint8
	offset   uint8 // u_off: the exponent bound is above its prediction
	known    uint8 // epsilon^k: samples whose exponent's top bit is not in MagSgn
	top      uint8 // epsilon^1: that bit
	nonzeros uint8 // rho: significant samples
}

func init() {
	for table, codes := range htCodes {
		for _, e := range codes {
			length := e >> 13 & 7
			c := htCodeword{uint8(length), uint8(e >> 12 & 1), uint8(e >> 8 & 15), uint8(e >> 4 & 15), uint8(e & 15)}
			for rest := uint32(0); rest < 1<<(7-length); rest++ {
				htCodewords[table][e>>23<<7|rest<<length|e>>16&0x7f] = c
			}
		}
	}
}

// An htDecoder holds the bit streams of one cleanup pass.
type htDecoder struct {
	magnitudes forwardBits
	mel        melDecoder
	vlc        backwardBits
	// Exponents of the bottom samples of the row of quads above and of the
	// current one, 0 where insignificant; column x is at x+1.
	above, below *[maxHTWidth + 6]uint8
	store        [2][maxHTWidth + 6]uint8
}

const maxHTWidth = 1024 // T.800 Table A.18

// start splits a cleanup segment into its bit streams (T.814 7.1.1). It changes
// the last two bytes of data, which hold the length of MEL and VLC together.
func (h *htDecoder) start(data []byte) error {
	n := len(data)
	if n < 2 {
		return malformed("a high-throughput code-block of %d bytes: the file is damaged, copy or export it again", n)
	}
	suffix := int(data[n-1])<<4 + int(data[n-2]&15)
	if suffix < 2 || suffix > n || suffix > 4079 {
		return malformed("a high-throughput code-block of %d bytes with a suffix of %d: the file is damaged, copy or export it again", n, suffix)
	}
	data[n-1] = 0xff
	data[n-2] |= 15
	h.magnitudes = forwardBits{data: data[:n-suffix], fill: 0xff}
	h.mel = melDecoder{data: data[n-suffix:]}
	h.vlc = backwardBits{data: data[n-suffix : n-2], high: data[n-2] > 0x8f}
	// VLC begins with the upper half of the last but one byte (T.814 7.1.4).
	h.vlc.hold, h.vlc.left = uint64(data[n-2]>>4), 4
	if h.vlc.hold&7 == 7 {
		h.vlc.hold, h.vlc.left = 7, 3
	}
	h.above, h.below = &h.store[0], &h.store[1]
	clear(h.above[:])
	return nil
}

// cleanupHT decodes an HT cleanup pass at a bit-plane into b.data; missing is
// the number of bit-planes above.
func (b *blockDecoder) cleanupHT(data []byte, plane uint, missing int) error {
	h := &b.ht
	if err := h.start(data); err != nil {
		return err
	}
	for y := 0; y < b.h; y += 2 {
		clear(h.below[:b.w+6])
		if err := b.quadRow(y, plane, missing); err != nil {
			return err
		}
		h.above, h.below = h.below, h.above
	}
	return nil
}

// A quad is what VLC and MEL say of a quad.
type quad struct {
	htCodeword
	excess int // u_q, of its exponent bound above the prediction
}

// quadRow decodes the quads of rows y and y+1, in pairs (T.814 7.3.1).
func (b *blockDecoder) quadRow(y int, plane uint, missing int) error {
	h := &b.ht
	var left htCodeword
	for x := 0; x < b.w; x += 4 {
		var pair [2]quad
		n := min((b.w-x+1)/2, 2)
		for i := range n {
			pair[i].htCodeword = h.codeword(x+2*i, y == 0, left)
			left = pair[i].htCodeword
		}
		h.excesses(y == 0, &pair)
		for i := range n {
			if pair[i].nonzeros == 0 {
				continue
			}
			if err := b.samples(x+2*i, y, &pair[i], plane, missing); err != nil {
				return err
			}
		}
	}
	return nil
}

// codeword decodes the significance of the quad at column x (T.814 7.3.5).
func (h *htDecoder) codeword(x int, first bool, left htCodeword) htCodeword {
	table := 1
	var context uint32
	l := uint32(left.nonzeros)
	if first {
		table = 0
		context = (l|l>>1)&1 | l>>2<<1
	} else {
		at := h.above[x : x+4] // NW, N, NE, NF
		context = flag(at[0]|at[1]) | flag(uint8(l>>2))<<1 | flag(at[2]|at[3])<<2
	}
	if context == 0 && !h.mel.symbol() {
		return htCodeword{}
	}
	c := htCodewords[table][context<<7|h.vlc.peek()&0x7f]
	h.vlc.skip(uint(c.length))
	return c
}

// flag is 1 for anything but 0.
func flag(v uint8) uint32 { return (uint32(v) + 0xff) >> 8 }

// excesses decodes u_q of the quads of a pair that have one (T.814 7.3.6). If
// both have one in the first row, a MEL symbol says that both are above 2; if
// they are not, the second is 1 or 2 where the first is above 2.
func (h *htDecoder) excesses(first bool, pair *[2]quad) {
	base, short := 0, false
	if first && pair[0].offset&pair[1].offset == 1 {
		if h.mel.symbol() {
			base = 2
		} else {
			short = true
		}
	}
	var prefix, sum [2]int
	for i := range pair {
		switch {
		case i == 1 && short && prefix[0] > 2:
			prefix[i] = 1 + int(h.vlc.bits(1))
		case pair[i].offset == 1:
			prefix[i] = h.prefix()
		}
	}
	for i, p := range prefix {
		sum[i] = p + h.suffix(p)
	}
	for i, n := range sum {
		if n > 0 {
			pair[i].excess = base + n + h.extension(n)
		}
	}
}

// prefix, suffix and extension are the parts of U-VLC (T.814 Table 3).
func (h *htDecoder) prefix() int {
	switch v := h.vlc.peek(); {
	case v&1 == 1:
		h.vlc.skip(1)
		return 1
	case v&2 == 2:
		h.vlc.skip(2)
		return 2
	case v&4 == 4:
		h.vlc.skip(3)
		return 3
	}
	h.vlc.skip(3)
	return 5
}

func (h *htDecoder) suffix(prefix int) int {
	switch prefix {
	case 3:
		return int(h.vlc.bits(1))
	case 5:
		return int(h.vlc.bits(5))
	}
	return 0
}

// extension follows a suffix of 28 or more, which with its prefix is 33.
func (h *htDecoder) extension(sum int) int {
	if sum < 33 {
		return 0
	}
	return 4 * int(h.vlc.bits(4))
}

// samples decodes the magnitudes and signs of the quad at (x, y) (T.814 7.3.7,
// 7.3.8).
func (b *blockDecoder) samples(x, y int, q *quad, plane uint, missing int) error {
	h := &b.ht
	bound := 1
	if y > 0 && q.nonzeros&(q.nonzeros-1) != 0 { // two significant samples or more
		at := h.above[x : x+4]
		bound = max(1, int(max(at[0], at[1], at[2], at[3]))-1)
	}
	bound += q.excess // U_q
	// A magnitude has at most missing+1 bits, its exponent at most one more.
	if bound > missing+2 {
		return malformed("a coefficient of %d bits where %d are possible: the file is damaged, copy or export it again", bound, missing+2)
	}
	for i := range 4 {
		if q.nonzeros>>i&1 == 0 {
			continue
		}
		col, row := x+i>>1, y+i&1
		if col >= b.w || row >= b.h {
			return malformed("a coefficient outside of its code-block: the file is damaged, copy or export it again")
		}
		n := uint(bound) - uint(q.known>>i&1)
		v := h.magnitudes.bits(n) | uint32(q.top>>i&1)<<n
		sign := -int32(v & 1)
		value := int32(v>>1+1)<<(plane+1) | 1<<plane
		b.data[(row>>2*b.w+col)*4+row&3] = value ^ sign - sign
		if i&1 == 1 {
			h.below[col+1] = uint8(bits.Len32(v | 1))
		}
	}
	return nil
}
