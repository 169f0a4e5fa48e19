package jpeg2000

import "math/bits"

// Two of the coding passes of T.800 D.3; refine.go has the third. Their loops
// are the hot ones of the package: they take most of the time, so they keep
// the arithmetic decoder's fast path in line and its registers in local
// variables (see mqDecoder) instead of calling decode for each decision.

// significance is the significance propagation pass (T.800 D.3.1).
func (b *blockDecoder) significance(reg registers, plane uint, zero *[512]uint8) registers {
	a, c := reg.a, reg.c
	for k := 0; 4*k < b.h; k++ {
		rows := b.rows(k)
		base := (k+1)*b.stride + 1
		for x := range b.w {
			w := b.flags[base+x]
			if w&allSignificant == 0 {
				continue
			}
			for todo := candidates(w) & rows; todo != 0; {
				i := lowest(todo)
				todo &= todo - 1
				ctx := zero[w>>i&neighbours]
				state := b.mq.contexts[ctx&31]
				bit := state >> 16 & 1
				qe := int64(uint16(state)) << 32
				if a, c = a-qe, c-qe; a|c < 0 {
					a, c, bit = b.mq.exchange(a, c, ctx, state)
				}
				w |= flagVisited << i
				if bit != 0 {
					w, a, c = b.becomeSignificant(w, a, c, k, x, i, plane)
					// The sample below has a significant neighbour now.
					todo |= eachSample & rows & (8 << i) &^ (w >> 4)
				}
			}
			b.flags[base+x] = w
		}
	}
	return registers{a, c}
}

// surrounded returns the bits, as in eachSample, of samples with a significant
// neighbour.
func surrounded(w uint64) uint64 {
	s := w & allSignificant
	sides := s | s>>2   // left or right, at the bit of the left one
	row := sides | s>>1 // any of the three
	return (row | row>>6 | sides>>3) & eachSample
}

// lowest returns the number of the lowest bit that is set.
func lowest(todo uint64) uint { return uint(bits.TrailingZeros64(todo)) }

// candidates returns the bits, as in eachSample, of samples that are not
// significant but have a significant neighbour.
func candidates(w uint64) uint64 { return surrounded(w) &^ (w >> 4) }

// becomeSignificant decodes the sign of the sample at bit i of column x in
// stripe k (T.800 D.3.2), sets its value and tells its neighbours. It returns
// the column's flags and the registers.
func (b *blockDecoder) becomeSignificant(w uint64, a, c int64, k, x int, i, plane uint) (uint64, int64, int64) {
	sc := signContexts[signIndex(w>>i)]
	ctx := sc & 31
	state := b.mq.contexts[ctx]
	bit := state >> 16 & 1
	qe := int64(uint16(state)) << 32
	if a, c = a-qe, c-qe; a|c < 0 {
		a, c, bit = b.mq.exchange(a, c, ctx, state)
	}
	sign := uint64(bit) ^ uint64(sc>>7)
	b.setValue(sign, k, x, i, plane)
	return w | b.mark(sign, k, x, i), a, c
}

// setValue gives a sample its sign and the value one and a half in its
// bit-plane.
func (b *blockDecoder) setValue(sign uint64, k, x int, i, plane uint) {
	s := -int32(sign)
	b.data[(4*(k*b.w+x)+int(i*11>>5))&(maxBlockArea-1)] = int32(3)<<plane ^ s - s // i*11>>5 is i/3
}

// mark tells the neighbours of a sample that it is significant, and its sign.
// It returns the bits to set in its own word.
func (b *blockDecoder) mark(sign uint64, k, x int, i uint) uint64 {
	at := (k+1)*b.stride + 1 + x
	mark := 1 | sign<<signShift
	f := b.flags[at-1 : at+2 : at+2]
	f[0] |= mark * flagEast << i
	f[2] |= mark * flagWest << i
	if i == 0 && b.modes&modeCausal == 0 { // row 5 of the stripe above
		f := b.flags[at-b.stride-1:][:3]
		f[0] |= mark << 17
		f[1] |= mark << 16
		f[2] |= mark << 15
	}
	if i == 9 { // row 0 of the stripe below
		f := b.flags[at+b.stride-1:][:3]
		f[0] |= mark << 2
		f[1] |= mark << 1
		f[2] |= mark
	}
	return mark * flagSelf << i
}

// cleanup is the cleanup pass (T.800 D.3.4).
func (b *blockDecoder) cleanup(reg registers, plane uint, zero *[512]uint8) registers {
	a, c := reg.a, reg.c
	for k := 0; 4*k < b.h; k++ {
		rows := b.rows(k)
		base := (k+1)*b.stride + 1
		for x := range b.w {
			w := b.flags[base+x]
			todo := ^(w>>4 | w>>19) & rows
			known := false                    // that the next one is significant
			if w == 0 && rows == eachSample { // run-length mode
				state := b.mq.contexts[ctxRun]
				bit := state >> 16 & 1
				qe := int64(uint16(state)) << 32
				if a, c = a-qe, c-qe; a|c < 0 {
					a, c, bit = b.mq.exchange(a, c, ctxRun, state)
				}
				if bit == 0 {
					continue
				}
				var hi, lo uint32
				a, c, hi = b.mq.decode(a, c, ctxUniform)
				a, c, lo = b.mq.decode(a, c, ctxUniform)
				todo = eachSample << (3 * (2*hi + lo)) & eachSample
				known = true
			}
			for ; todo != 0; todo &= todo - 1 {
				i := lowest(todo)
				if !known {
					ctx := zero[w>>i&neighbours]
					state := b.mq.contexts[ctx&31]
					bit := state >> 16 & 1
					qe := int64(uint16(state)) << 32
					if a, c = a-qe, c-qe; a|c < 0 {
						a, c, bit = b.mq.exchange(a, c, ctx, state)
					}
					if bit == 0 {
						continue
					}
				}
				known = false
				w, a, c = b.becomeSignificant(w, a, c, k, x, i, plane)
			}
			b.flags[base+x] = w &^ allVisited
		}
	}
	return registers{a, c}
}

// rawSignificance is the significance propagation pass without arithmetic
// coding (T.800 D.6).
func (b *blockDecoder) rawSignificance(plane uint) {
	for k := 0; 4*k < b.h; k++ {
		rows := b.rows(k)
		base := (k+1)*b.stride + 1
		for x := range b.w {
			w := b.flags[base+x]
			for todo := candidates(w) & rows; todo != 0; {
				i := lowest(todo)
				todo &= todo - 1
				w |= flagVisited << i
				if b.raw.bit() != 0 {
					sign := uint64(b.raw.bit())
					b.setValue(sign, k, x, i, plane)
					w |= b.mark(sign, k, x, i)
					todo |= eachSample & rows & (8 << i) &^ (w >> 4)
				}
			}
			b.flags[base+x] = w
		}
	}
}
