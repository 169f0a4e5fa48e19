package jpeg2000

import (
	"testing"

	"pgregory.net/rapid"
)

// An mqEncoder is the arithmetic encoder of T.800 C.2, register by register as
// the standard's flow charts have it, so that it shares nothing with the
// decoder but Table C.2.
type mqEncoder struct {
	a, c  uint32
	ct    int
	out   []byte // out[0] is the byte before the first
	state [numContexts]int
	mps   [numContexts]uint32
}

// newMQEncoder is INITENC (Figure C.10).
func newMQEncoder() *mqEncoder {
	return &mqEncoder{a: 0x8000, ct: 12, out: []byte{0}}
}

// encode is ENCODE (Figures C.3 to C.7).
func (e *mqEncoder) encode(x int, bit uint32) {
	row := mqTable[e.state[x]]
	qe := row[0]
	e.a -= qe
	if bit == e.mps[x] {
		if e.a&0x8000 != 0 {
			e.c += qe
			return
		}
		if e.a < qe {
			e.a = qe
		} else {
			e.c += qe
		}
		e.state[x] = int(row[1])
	} else {
		if e.a < qe {
			e.c += qe
		} else {
			e.a = qe
		}
		if row[3] == 1 {
			e.mps[x] ^= 1
		}
		e.state[x] = int(row[2])
	}
	for {
		e.a <<= 1
		e.c <<= 1
		if e.ct--; e.ct == 0 {
			e.byteOut()
		}
		if e.a&0x8000 != 0 {
			return
		}
	}
}

// byteOut is BYTEOUT (Figure C.8).
func (e *mqEncoder) byteOut() {
	last := &e.out[len(e.out)-1]
	if *last != 0xff {
		if e.c >= 0x8000000 {
			*last++
			if *last == 0xff {
				e.c &= 0x7ffffff
			}
		}
	}
	if *last == 0xff {
		e.out = append(e.out, byte(e.c>>20))
		e.c &= 0xfffff
		e.ct = 7
		return
	}
	e.out = append(e.out, byte(e.c>>19))
	e.c &= 0x7ffff
	e.ct = 8
}

// flush is FLUSH (Figure C.11); it returns the segment.
func (e *mqEncoder) flush() []byte {
	limit := e.c + e.a
	e.c |= 0xffff
	if e.c >= limit {
		e.c -= 0x8000
	}
	e.c <<= uint(e.ct)
	e.byteOut()
	e.c <<= uint(e.ct)
	e.byteOut()
	out := e.out[1:]
	if n := len(out); n > 0 && out[n-1] == 0xff {
		out = out[:n-1]
	}
	return out
}

func TestMQDecoder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 3000).Draw(t, "decisions")
		seed := rapid.Uint32().Draw(t, "seed")
		skew := rapid.Uint32Range(1, 255).Draw(t, "skew") // of 256 decisions, those that are 1
		next := func() uint32 { seed = seed*1664525 + 1013904223; return seed >> 16 }
		type decision struct {
			x   int
			bit uint32
		}
		decisions := make([]decision, n)
		enc := newMQEncoder()
		for i := range decisions {
			d := decision{x: int(next() % 19)}
			if next()%256 < skew {
				d.bit = 1
			}
			decisions[i] = d
			enc.encode(d.x, d.bit)
		}
		data := enc.flush()
		var m mqDecoder
		for i := range m.contexts {
			m.contexts[i] = mqState(0)
		}
		reg := m.start(append(data, mqSentinel...)[:len(data)])
		for i, d := range decisions {
			var bit uint32
			reg.a, reg.c, bit = m.decode(reg.a, reg.c, uint8(d.x))
			if bit != d.bit {
				t.Fatalf("decision %d of %d is %d, want %d", i, n, bit, d.bit)
			}
		}
		if m.past > 5 {
			t.Fatalf("read %d bytes past the end", m.past)
		}
	})
}

// The test sequence of T.88 H.2, an arithmetic coder shared with JBIG2: one
// context, 256 decisions.
func TestMQDecoderTestSequence(t *testing.T) {
	data := []byte{
		0x84, 0xc7, 0x3b, 0xfc, 0xe1, 0xa1, 0x43, 0x04, 0x02, 0x20, 0x00, 0x00, 0x41, 0x0d, 0xbb,
		0x86, 0xf4, 0x31, 0x7f, 0xff, 0x88, 0xff, 0x37, 0x47, 0x1a, 0xdb, 0x6a, 0xdf, 0xff, 0xac,
	}
	want := []byte{
		0x00, 0x02, 0x00, 0x51, 0x00, 0x00, 0x00, 0xc0, 0x03, 0x52, 0x87, 0x2a, 0xaa, 0xaa, 0xaa, 0xaa,
		0x82, 0xc0, 0x20, 0x00, 0xfc, 0xd7, 0x9e, 0xf6, 0xbf, 0x7f, 0xed, 0x90, 0x4f, 0x46, 0xa3, 0xbf,
	}
	var m mqDecoder
	for i := range m.contexts {
		m.contexts[i] = mqState(0)
	}
	reg := m.start(append(data, mqSentinel...)[:len(data)])
	for i := range want {
		got := byte(0)
		for range 8 {
			var bit uint32
			reg.a, reg.c, bit = m.decode(reg.a, reg.c, 0)
			got = got<<1 | byte(bit)
		}
		if got != want[i] {
			t.Fatalf("byte %d is %#02x, want %#02x", i, got, want[i])
		}
	}
}
