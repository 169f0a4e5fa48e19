package jpeg2000

import (
	"errors"
	"testing"

	"pgregory.net/rapid"
	"rootrule/imaging/fault"
)

// A blockEncoder is a plain encoder of code-blocks after T.800 Annex D: one
// sample at a time, with contexts computed from the tables' wording.
type blockEncoder struct {
	mq          *mqEncoder
	w, h        int
	modes       byte
	value       []int // two's complement, row by row
	significant []bool
	refined     []bool
	visited     []bool
	plane       int
	segments    [][]byte
}

func (e *blockEncoder) reset() {
	e.mq.state, e.mq.mps = [numContexts]int{}, [numContexts]uint32{}
	e.mq.state[0], e.mq.state[ctxRun], e.mq.state[ctxUniform] = 4, 3, 46 // Table D.7
}

// sigma is the significance of a sample as seen from row y.
func (e *blockEncoder) sigma(x, y, from int) int {
	if x < 0 || y < 0 || x >= e.w || y >= e.h || !e.significant[y*e.w+x] {
		return 0
	}
	if e.modes&modeCausal != 0 && y/4 > from/4 {
		return 0
	}
	return 1
}

// neighbours counts those of (x, y): horizontal, vertical, diagonal.
func (e *blockEncoder) neighbours(x, y int) (h, v, d int) {
	for _, s := range []int{-1, 1} {
		h += e.sigma(x+s, y, y)
		v += e.sigma(x, y+s, y)
		d += e.sigma(x+s, y-1, y) + e.sigma(x+s, y+1, y)
	}
	return h, v, d
}

func (e *blockEncoder) sign(x, y, from int) int {
	if e.sigma(x, y, from) == 0 {
		return 0
	}
	if e.value[y*e.w+x] < 0 {
		return -1
	}
	return 1
}

// bit is the bit of a sample in the current plane.
func (e *blockEncoder) bit(x, y int) uint32 {
	v := e.value[y*e.w+x]
	return uint32(max(v, -v)>>e.plane) & 1
}

// codeSign is T.800 D.3.2 with Tables D.2 and D.3.
func (e *blockEncoder) codeSign(x, y int) {
	h := min(max(e.sign(x-1, y, y)+e.sign(x+1, y, y), -1), 1)
	v := min(max(e.sign(x, y-1, y)+e.sign(x, y+1, y), -1), 1)
	flip := uint32(0)
	if h < 0 || h == 0 && v < 0 {
		h, v, flip = -h, -v, 1
	}
	label := map[[2]int]int{{1, 1}: 13, {1, 0}: 12, {1, -1}: 11, {0, 1}: 10, {0, 0}: 9}[[2]int{h, v}]
	s := uint32(0)
	if e.value[y*e.w+x] < 0 {
		s = 1
	}
	e.mq.encode(label, s^flip)
	e.significant[y*e.w+x] = true
}

// codeZero is T.800 D.3.1 with Table D.1's column for LL.
func (e *blockEncoder) codeZero(x, y int) {
	h, v, d := e.neighbours(x, y)
	e.mq.encode(int(zeroContextLow(h, v, d)), e.bit(x, y))
	if e.bit(x, y) == 1 {
		e.codeSign(x, y)
	}
}

// each calls f for all samples in the order of T.800 D.1.
func (e *blockEncoder) each(f func(x, y int)) {
	for top := 0; top < e.h; top += 4 {
		for x := range e.w {
			for y := top; y < min(top+4, e.h); y++ {
				f(x, y)
			}
		}
	}
}

func (e *blockEncoder) significancePass() {
	e.each(func(x, y int) {
		if h, v, d := e.neighbours(x, y); !e.significant[y*e.w+x] && h+v+d > 0 {
			e.codeZero(x, y)
			e.visited[y*e.w+x] = true
		}
	})
}

func (e *blockEncoder) refinementPass() {
	e.each(func(x, y int) {
		i := y*e.w + x
		if !e.significant[i] || e.visited[i] {
			return
		}
		label := 16 // Table D.4
		if h, v, d := e.neighbours(x, y); !e.refined[i] {
			label = 14 + min(h+v+d, 1)
		}
		e.mq.encode(label, e.bit(x, y))
		e.refined[i] = true
	})
}

func (e *blockEncoder) cleanupPass() {
	skip := 0 // samples of a column that run-length coding has dealt with
	e.each(func(x, y int) {
		if skip > 0 {
			skip--
			return
		}
		if y%4 == 0 && y+4 <= e.h && e.quiet(x, y) {
			run := 0
			for run < 4 && e.bit(x, y+run) == 0 {
				run++
			}
			skip = min(run, 3)
			if run == 4 {
				e.mq.encode(ctxRun, 0)
				return
			}
			e.mq.encode(ctxRun, 1)
			e.mq.encode(ctxUniform, uint32(run>>1))
			e.mq.encode(ctxUniform, uint32(run&1))
			e.codeSign(x, y+run)
			return
		}
		if i := y*e.w + x; !e.significant[i] && !e.visited[i] {
			e.codeZero(x, y)
		}
	})
	clear(e.visited)
	if e.modes&modeSegSymbols != 0 {
		for _, b := range []uint32{1, 0, 1, 0} {
			e.mq.encode(ctxUniform, b)
		}
	}
}

// quiet says that a column's four samples are to be coded and have no
// significant neighbour.
func (e *blockEncoder) quiet(x, y int) bool {
	for i := range 4 {
		if h, v, d := e.neighbours(x, y+i); h+v+d > 0 || e.significant[(y+i)*e.w+x] || e.visited[(y+i)*e.w+x] {
			return false
		}
	}
	return true
}

// encode runs all passes of planes bit-planes.
func (e *blockEncoder) encode(planes int) (passes int) {
	e.mq = newMQEncoder()
	e.reset()
	n := e.w * e.h
	e.significant, e.refined, e.visited = make([]bool, n), make([]bool, n), make([]bool, n)
	for e.plane = planes - 1; e.plane >= 0; e.plane-- {
		all := []func(){e.significancePass, e.refinementPass, e.cleanupPass}
		if e.plane == planes-1 {
			all = all[2:]
		}
		for _, pass := range all {
			pass()
			passes++
			if e.modes&modeReset != 0 {
				e.reset()
			}
			if last := e.plane == 0 && passes == 3*planes-2; last || e.modes&modeTermAll != 0 {
				state, mps := e.mq.state, e.mq.mps
				e.segments = append(e.segments, e.mq.flush())
				e.mq = newMQEncoder()
				e.mq.state, e.mq.mps = state, mps
			}
		}
	}
	return passes
}

// Whatever coefficients a block has, in every style that changes contexts or
// segments, they come back.
func TestBlockRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := blockStream{
			width:  rapid.IntRange(1, 64).Draw(t, "width"),
			height: rapid.IntRange(1, 64).Draw(t, "height"),
			bits:   12, guard: 2, exponent: 12,
			modes: byte(rapid.SampledFrom([]int{0, modeReset, modeTermAll, modeCausal, modeSegSymbols, modeReset | modeTermAll | modeCausal | modeSegSymbols}).Draw(t, "modes")),
		}
		planes := rapid.IntRange(1, 11).Draw(t, "planes")
		density := rapid.Uint32Range(1, 100).Draw(t, "density")
		seed := rapid.Uint32().Draw(t, "seed")
		next := func() uint32 { seed = seed*1664525 + 1013904223; return seed >> 12 }
		e := &blockEncoder{w: s.width, h: s.height, modes: s.modes, value: make([]int, s.width*s.height)}
		for i := range e.value {
			if next()%100 < density {
				e.value[i] = int(next()) % (1 << planes)
				if next()&1 == 1 {
					e.value[i] *= -1
				}
			}
		}
		s.passes = e.encode(planes)
		s.zeros = s.guard + s.exponent - 1 - planes
		s.segments = e.segments
		for range s.segments {
			s.counts = append(s.counts, s.passes/len(s.segments))
		}
		got, err := Decode(s.encode())
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range e.value {
			if want := min(max(v+2048, 0), 4095); int(got.Pix[i]) != want {
				t.Fatalf("sample %d is %d, want %d", i, got.Pix[i], want)
			}
		}
	})
}

// cutBlock is a block of noise with one in n of its bytes.
func cutBlock(n int) []byte {
	e := &blockEncoder{w: 64, h: 64, value: make([]int, 64*64)}
	for i := range e.value {
		e.value[i] = int(uint32(i)*2654435761>>22) - 512
	}
	s := blockStream{width: e.w, height: e.h, bits: 12, guard: 2, exponent: 12, zeros: 3}
	s.passes = e.encode(10)
	s.segments, s.counts = [][]byte{e.segments[0][:len(e.segments[0])/n]}, []int{s.passes}
	return s.encode()
}

func TestBlockErrors(t *testing.T) {
	block := func(modes byte, zeros, passes int, segment ...byte) []byte {
		return blockStream{width: 64, height: 64, bits: 8, guard: 2, exponent: 8, modes: modes, zeros: zeros,
			passes: passes, segments: [][]byte{segment}, counts: []int{passes}}.encode()
	}
	cases := []struct {
		name string
		data []byte
		want error
	}{
		{"more passes than bit-planes", block(0, 8, 2, 1, 2, 3), fault.ErrMalformed},
		{"more missing bit-planes than there are", block(0, 10, 1, 1, 2, 3), fault.ErrMalformed},
		{"wrong segmentation symbol", block(modeSegSymbols, 8, 1, 0x12, 0x34, 0x56), fault.ErrMalformed},
		{"a tenth of the bytes for all passes", cutBlock(10), fault.ErrMalformed},
		{"high-throughput suffix longer than the segment", block(modeHT, 8, 1, 0, 0xff), fault.ErrMalformed},
		{"high-throughput suffix of one byte", block(modeHT, 8, 1, 1, 0), fault.ErrMalformed},
		{"high-throughput segment of one byte", block(modeHT, 8, 1, 1), fault.ErrMalformed},
		{"mixed blocks", block(modeHT|modeHTMixed, 8, 1, 0, 0, 2), fault.ErrUnsupported},
	}
	for _, c := range cases {
		if r, err := Decode(c.data); r != nil || !errors.Is(err, c.want) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}
