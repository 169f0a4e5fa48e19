package jpeg2000

// markSignificant sets the flags of all samples that the HT cleanup pass found
// significant.
func (b *blockDecoder) markSignificant() {
	for k := 0; 4*k < b.h; k++ {
		for x := range b.w {
			for i, v := range b.data[4*(k*b.w+x):][:4] {
				if v != 0 {
					b.flags[(k+1)*b.stride+1+x] |= b.mark(0, k, x, uint(3*i))
				}
			}
		}
	}
}

// significanceHT is the HT significance propagation pass (T.814 7.4): samples
// and neighbourhoods as in that of T.800 D.3.1, but the signs of each four
// columns of a stripe follow all their decisions.
func (b *blockDecoder) significanceHT(data []byte, plane uint) {
	in := forwardBits{data: data}
	var found [16]int // indices in data
	for k := 0; 4*k < b.h; k++ {
		rows := b.rows(k)
		for from := 0; from < b.w; from += 4 {
			n := 0
			for x := from; x < min(from+4, b.w); x++ {
				at := (k+1)*b.stride + 1 + x
				w := b.flags[at]
				for todo := candidates(w) & rows; todo != 0; {
					i := lowest(todo)
					todo &= todo - 1
					w |= flagVisited << i
					if in.bits(1) == 1 {
						w |= b.mark(0, k, x, i)
						todo |= eachSample & rows & (8 << i) &^ (w >> 4)
						found[n] = 4*(k*b.w+x) + int(i)/3
						n++
					}
				}
				b.flags[at] = w
			}
			for _, at := range found[:n] {
				sign := -int32(in.bits(1))
				b.data[at] = int32(3)<<plane ^ sign - sign
			}
		}
	}
}

// refinementHT is the HT magnitude refinement pass (T.814 7.5).
func (b *blockDecoder) refinementHT(data []byte, plane uint) {
	in := backwardBits{data: data, high: true}
	half := int32(1) << plane
	for _, e := range b.refinements() {
		refine(&b.data[e&(maxBlockArea-1)], in.bits(1), plane, half)
	}
}

// decodeHT runs the passes of a high-throughput block: cleanup is a segment of
// its own, the two others share one, read from both of its ends (T.814 7.1).
func (b *blockDecoder) decodeHT(blk *block, band *band, chunks []chunk, body []byte) error {
	plane := uint(band.planes - 1 - int(blk.zeros))
	next := b.gather(blk.first, chunks, body)
	if err := b.cleanupHT(b.buf, plane, int(blk.zeros)); err != nil {
		return err
	}
	if blk.passes == 1 {
		return nil
	}
	b.gather(next, chunks, body)
	b.markSignificant()
	b.significanceHT(b.buf, plane-1)
	if blk.passes == 3 {
		b.refinementHT(b.buf, plane-1)
	}
	return nil
}
