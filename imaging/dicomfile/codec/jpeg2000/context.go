package jpeg2000

// Context labels (T.800 Table D.1 to D.5). Zero coding has 0–8, sign coding
// 9–13, magnitude refinement 14–16.
const (
	ctxSign     = 9
	ctxRefine   = 14
	ctxRun      = 17
	ctxUniform  = 18
	numContexts = 32 // more than there are, so that an index of 5 bits needs no check
)

// resetContexts sets the initial states (T.800 Table D.7).
func (m *mqDecoder) resetContexts() {
	for i := range m.contexts {
		m.contexts[i] = mqState(0)
	}
	m.contexts[0] = mqState(4)
	m.contexts[ctxRun] = mqState(3)
	m.contexts[ctxUniform] = mqState(46)
}

// Flags. One word describes a column of four samples, a piece of a stripe, and
// its neighbours. Bits 0–17 say which of 6 rows × 3 columns are significant:
// row 0 is the row above, rows 1–4 are the column's own, row 5 is below; bit
// 3×row is the column to the left, 3×row+1 the own, 3×row+2 to the right. Bits
// 32–49 hold the signs in the same places. So the neighbourhood of sample i,
// 0–3, is the same nine bits after a shift by 3i: the own one is bit 4.
const (
	flagNorth = 1 << 1
	flagWest  = 1 << 3
	flagSelf  = 1 << 4
	flagEast  = 1 << 5
	flagSouth = 1 << 7
	// Shifted by 3i like the others:
	flagRefined = 1 << 18 // has been refined at least once
	flagVisited = 1 << 19 // was coded in this bit-plane's significance pass

	signShift      = 32
	allSignificant = 1<<18 - 1
	neighbours     = 0x1ef // the eight around bit 4
	eachSample     = 1 | 1<<3 | 1<<6 | 1<<9
	allVisited     = flagVisited * eachSample
)

// zeroContexts are the zero coding contexts by orientation and by neighbourhood
// (T.800 Table D.1).
var zeroContexts [4][512]uint8

// signContexts are the sign coding contexts, and in bit 7 the bit to exclusive-or
// with (T.800 Tables D.2 and D.3). The index has, for north, west, east and
// south in turn, a pair of bits: the sign below its significance.
var signContexts [256]uint8

// signIndex takes a word shifted to a sample.
func signIndex(w uint64) uint8 {
	const cross = flagNorth | flagWest | flagEast | flagSouth
	return uint8(w&cross | w>>(signShift+1)&(cross>>1))
}

func init() {
	bit := func(v, i int) int { return v >> i & 1 }
	for v := range 512 {
		h := bit(v, 3) + bit(v, 5)
		u := bit(v, 1) + bit(v, 7)
		d := bit(v, 0) + bit(v, 2) + bit(v, 6) + bit(v, 8)
		zeroContexts[0][v] = zeroContextLow(h, u, d)
		zeroContexts[1][v] = zeroContextLow(u, h, d) // HL: transposed
		zeroContexts[2][v] = zeroContextLow(h, u, d)
		zeroContexts[3][v] = zeroContextHH(h+u, d)
	}
	for v := range signContexts {
		contribution := func(i int) int { return bit(v, i) * (1 - 2*bit(v, i-1)) }
		h := contribution(3) + contribution(5)
		u := contribution(1) + contribution(7)
		signContexts[v] = signContext(min(max(h, -1), 1), min(max(u, -1), 1))
	}
}

// zeroContextLow is the column of Table D.1 for LL and LH: h horizontal, v
// vertical and d diagonal significant neighbours.
func zeroContextLow(h, v, d int) uint8 {
	switch {
	case h == 2:
		return 8
	case h == 1 && v >= 1:
		return 7
	case h == 1 && d >= 1:
		return 6
	case h == 1:
		return 5
	case v == 2:
		return 4
	case v == 1:
		return 3
	}
	return uint8(min(d, 2))
}

// zeroContextHH is the column of Table D.1 for HH.
func zeroContextHH(hv, d int) uint8 {
	switch {
	case d >= 3:
		return 8
	case d == 2:
		return uint8(6 + min(hv, 1))
	case d == 1:
		return uint8(3 + min(hv, 2))
	}
	return uint8(min(hv, 2))
}

// signContext is Table D.3.
func signContext(h, v int) uint8 {
	const flip = 1 << 7
	if h < 0 || h == 0 && v < 0 {
		return signContext(-h, -v) | flip
	}
	if h == 1 {
		return uint8(12 + v)
	}
	return uint8(9 + v)
}
