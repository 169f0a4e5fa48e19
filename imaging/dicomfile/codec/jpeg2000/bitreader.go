package jpeg2000

// A bitReader reads the bits of packet headers, most significant first: the
// bit after a byte of ones is stuffed and skipped (T.800 B.10.1). Reading past
// the end returns zeros and sets over.
type bitReader struct {
	data []byte
	pos  int
	cur  byte
	left uint // bits of cur that are still to come
	over bool
}

func (r *bitReader) bit() int {
	if r.left == 0 {
		r.next()
	}
	r.left--
	return int(r.cur>>r.left) & 1
}

func (r *bitReader) next() {
	r.left = 8
	if r.cur == 0xff {
		r.left = 7
	}
	if r.pos >= len(r.data) {
		r.cur, r.over = 0, true
		return
	}
	r.cur = r.data[r.pos]
	r.pos++
}

func (r *bitReader) bits(n int) int {
	v := 0
	for range n {
		v = v<<1 | r.bit()
	}
	return v
}

// align ends a packet header at a byte boundary: a last byte of ones is
// followed by one more, which holds only its stuffed bit.
func (r *bitReader) align() {
	if r.cur == 0xff {
		r.next()
	}
	r.left, r.cur = 0, 0
}
