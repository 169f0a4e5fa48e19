package jpeg2000

// The magnitude refinement pass (T.800 D.3.3). Which samples it refines, and in
// which contexts, is known before its first decision, so that they are listed
// first: listing has no branch for each sample, and the loop over the list none
// but the arithmetic decoder's own. That is an eighth of the whole time less.

// refinement decodes the pass over arithmetic codewords.
func (b *blockDecoder) refinement(reg registers, plane uint) registers {
	a, c := reg.a, reg.c
	half := int32(1) << plane
	for _, e := range b.refinements() {
		ctx := uint8(e >> listIndexBits)
		state := b.mq.contexts[ctx&31]
		bit := state >> 16 & 1
		qe := int64(uint16(state)) << 32
		if a, c = a-qe, c-qe; a|c < 0 {
			a, c, bit = b.mq.exchange(a, c, ctx, state)
		}
		refine(&b.data[e&(maxBlockArea-1)], bit, plane, half)
	}
	return registers{a, c}
}

// rawRefinement decodes the pass without arithmetic coding (T.800 D.6).
func (b *blockDecoder) rawRefinement(plane uint) {
	half := int32(1) << plane
	for _, e := range b.refinements() {
		refine(&b.data[e&(maxBlockArea-1)], b.raw.bit(), plane, half)
	}
}

// refine replaces the half in the last place of v by a bit, away from zero, and
// puts the half below it.
func refine(v *int32, bit uint32, plane uint, half int32) {
	sign := *v >> 31
	*v += (int32(bit)<<(plane+1) - half) ^ sign - sign
}

// listIndexBits is the width of a sample's index in a list; its context is
// above.
const listIndexBits = 12

// listed has, for each set of samples in a column, their rows in order.
var listed [16]struct {
	row   [4]uint32
	count int
}

func init() {
	for set := range listed {
		l := &listed[set]
		for row := range uint32(4) {
			if set>>row&1 == 1 {
				l.row[l.count] = row
				l.count++
			}
		}
	}
}

// refinements lists the samples that the pass refines, in order, and marks them
// as refined.
func (b *blockDecoder) refinements() []uint32 {
	n := 0
	for k := 0; 4*k < b.h; k++ {
		words := b.flags[(k+1)*b.stride+1:][:b.w]
		for x, w := range words {
			todo := w >> 4 &^ (w >> 19) & eachSample
			if todo == 0 {
				continue
			}
			words[x] = w | todo*flagRefined
			at := uint32(4*(k*b.w+x)) + ctxRefine<<listIndexBits
			again := w >> 18 & eachSample
			if todo&^again != 0 {
				n = b.firstRefinements(n, at, w, todo)
				continue
			}
			// All in the last context. Four are written, of which set.count stay.
			set := &listed[todo&1|todo>>2&2|todo>>4&4|todo>>6&8]
			out := (*[4]uint32)(b.list[n:])
			for i := range out {
				out[i] = at + 2<<listIndexBits + set.row[i]
			}
			n += set.count
		}
	}
	return b.list[:n]
}

// firstRefinements adds the samples of a column of which at least one has not
// been refined before, to the n that are listed (T.800 Table D.4).
func (b *blockDecoder) firstRefinements(n int, at uint32, w, todo uint64) int {
	near := surrounded(w)
	for ; todo != 0; todo &= todo - 1 {
		i := lowest(todo)
		ctx := uint32(near >> i & 1)
		if w>>i&flagRefined != 0 {
			ctx = 2
		}
		b.list[n] = at + ctx<<listIndexBits + uint32(i)/3
		n++
	}
	return n
}
