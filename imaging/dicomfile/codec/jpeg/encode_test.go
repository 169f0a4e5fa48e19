package jpeg

import (
	"encoding/binary"
	"math"
	mathbits "math/bits"
	"math/rand/v2"
	"sort"

	"rootrule/imaging/dicomfile/codec"
)

// The encoder of the tests: lossless and sequential DCT pictures with every
// choice that the standard leaves to an encoder. When it was written, dcmtk
// 3.6.7 found the same pixels in 160 of its streams, of all these choices but a
// late number of lines; streams of other encoders are in testdata.

// settings are the choices of an encoder.
type settings struct {
	process   Process
	predictor int     // lossless
	point     uint    // lossless: point transform
	quant     [64]int // DCT, natural order
	scans     [][]int // components of each scan; nil: all in one
	restart   int     // units; lossless: a multiple of the width
	lateLines bool    // the number of lines comes in a DNL segment
	fill      int     // 0xFF bytes before each marker
}

// token is a Huffman symbol with the bits that follow it.
type token struct {
	class  int
	symbol byte
	extra  uint32
	bits   uint
}

// magnitude returns the category of v and its extra bits (T.81 F.1.2.1).
func magnitude(v int) (category byte, extra uint32) {
	n := mathbits.Len(uint(max(v, -v)))
	if v < 0 {
		v += 1<<n - 1
	}
	return byte(n), uint32(v)
}

// table gives every symbol of a set of tokens a code, short for frequent ones
// (T.81 Annex K.2).
type table struct {
	counts  [16]byte
	symbols []byte
	code    map[byte]uint32
	length  map[byte]uint
}

func newTable(intervals [][]token, class int) table {
	freq := map[byte]int{}
	for _, tokens := range intervals {
		for _, t := range tokens {
			if t.class == class {
				freq[t.symbol]++
			}
		}
	}
	t := table{code: map[byte]uint32{}, length: map[byte]uint{}}
	lengths := codeLengths(freq)
	for s := range lengths {
		t.symbols = append(t.symbols, s)
	}
	sort.Slice(t.symbols, func(i, j int) bool {
		a, b := t.symbols[i], t.symbols[j]
		return lengths[a] < lengths[b] || lengths[a] == lengths[b] && a < b
	})
	next, last := uint32(0), 0
	for _, s := range t.symbols {
		next <<= lengths[s] - last
		last = lengths[s]
		t.code[s], t.length[s] = next, uint(last)
		t.counts[last-1]++
		next++
	}
	return t
}

// codeLengths is Huffman's method, with rare symbols counted more often until
// no code is longer than 16 bits. A reserved symbol keeps the code of all ones
// free.
func codeLengths(freq map[byte]int) map[byte]int {
	type node struct {
		weight int
		leaves []int
	}
	for least := 1; ; least *= 2 {
		nodes := []node{{0, []int{-1}}}
		for s, n := range freq {
			nodes = append(nodes, node{max(n, least), []int{int(s)}})
		}
		depth := map[int]int{}
		for len(nodes) > 1 {
			sort.Slice(nodes, func(i, j int) bool {
				return nodes[i].weight < nodes[j].weight ||
					nodes[i].weight == nodes[j].weight && nodes[i].leaves[0] < nodes[j].leaves[0]
			})
			both := node{nodes[0].weight + nodes[1].weight, append(append([]int{}, nodes[0].leaves...), nodes[1].leaves...)}
			for _, s := range both.leaves {
				depth[s]++
			}
			nodes = append([]node{both}, nodes[2:]...)
		}
		lengths, longest := map[byte]int{}, 0
		for s := range freq {
			lengths[s] = depth[int(s)]
			longest = max(longest, depth[int(s)])
		}
		if longest <= 16 {
			return lengths
		}
	}
}

// writer makes a stream.
type writer struct {
	out  []byte
	fill int
	acc  uint64
	n    uint
}

func (w *writer) segment(marker byte, payload []byte) {
	w.marker(marker)
	w.out = binary.BigEndian.AppendUint16(w.out, uint16(len(payload)+2))
	w.out = append(w.out, payload...)
}

func (w *writer) marker(marker byte) {
	for range w.fill {
		w.out = append(w.out, 0xFF)
	}
	w.out = append(w.out, 0xFF, marker)
}

func (w *writer) put(v uint32, n uint) {
	w.acc = w.acc<<n | uint64(v)
	for w.n += n; w.n >= 8; w.n -= 8 {
		b := byte(w.acc >> (w.n - 8))
		if w.out = append(w.out, b); b == 0xFF {
			w.out = append(w.out, 0)
		}
	}
}

// align fills the last byte up with ones (T.81 F.1.2.3).
func (w *writer) align() {
	if w.n > 0 {
		w.put(1<<(8-w.n)-1, 8-w.n)
	}
}

// encode returns the stream of a raster.
func encode(r *codec.Raster, set settings) []byte {
	w := &writer{fill: set.fill}
	w.out = append(w.out, 0xFF, markerSOI)
	if set.process != Lossless {
		w.quantTable(set.quant)
	}
	lines := r.Height
	if set.lateLines {
		lines = 0
	}
	frame := []byte{byte(r.Bits), byte(lines >> 8), byte(lines), byte(r.Width >> 8), byte(r.Width), byte(r.Components)}
	for c := range r.Components {
		frame = append(frame, byte(c+1), 0x11, 0)
	}
	w.segment(markerSOF0+byte(set.process), frame)
	if set.restart > 0 {
		w.segment(markerDRI, []byte{byte(set.restart >> 8), byte(set.restart)})
	}
	scans := set.scans
	if scans == nil {
		scans = [][]int{[]int{0, 1, 2}[:r.Components]}
	}
	for i, components := range scans {
		w.scan(r, set, components)
		if i == 0 && set.lateLines {
			w.segment(markerDNL, []byte{byte(r.Height >> 8), byte(r.Height)})
		}
	}
	w.marker(markerEOI)
	return w.out
}

// quantTable writes table 0, in 16 bits where 8 do not do.
func (w *writer) quantTable(quant [64]int) {
	wide := byte(0)
	for _, q := range quant {
		if q > 255 {
			wide = 1
		}
	}
	dqt := []byte{wide << 4}
	for _, place := range zigzag {
		if wide == 1 {
			dqt = append(dqt, byte(quant[place]>>8))
		}
		dqt = append(dqt, byte(quant[place]))
	}
	w.segment(markerDQT, dqt)
}

// scan writes the tables, the header and the data of one scan.
func (w *writer) scan(r *codec.Raster, set settings, components []int) {
	var intervals [][]token
	last := []byte{0, 63, 0}
	if set.process == Lossless {
		intervals = losslessTokens(r, set, components)
		last = []byte{byte(set.predictor), 0, byte(set.point)}
	} else {
		intervals = dctTokens(r, set, components)
	}
	tables := [2]table{newTable(intervals, classDC), newTable(intervals, classAC)}
	for class, t := range tables {
		if len(t.symbols) > 0 {
			dht := append([]byte{byte(class << 4)}, t.counts[:]...)
			w.segment(markerDHT, append(dht, t.symbols...))
		}
	}
	header := []byte{byte(len(components))}
	for _, c := range components {
		header = append(header, byte(c+1), 0)
	}
	w.segment(markerSOS, append(header, last...))
	for i, tokens := range intervals {
		if i > 0 {
			w.marker(markerRST0 + byte(i-1)&7)
		}
		for _, t := range tokens {
			w.put(tables[t.class].code[t.symbol], tables[t.class].length[t.symbol])
			w.put(t.extra, t.bits)
		}
		w.align()
	}
}

// losslessTokens codes the differences of a scan (T.81 H.1.2), one slice for
// each restart interval.
func losslessTokens(r *codec.Raster, set settings, components []int) [][]token {
	lines := r.Height
	if set.restart > 0 {
		lines = set.restart / r.Width
	}
	at := func(x, y, c int) int { return int(r.Pix[(y*r.Width+x)*r.Components+c] >> set.point) }
	var intervals [][]token
	for y := range r.Height {
		if y%lines == 0 {
			intervals = append(intervals, nil)
		}
		for x := range r.Width {
			for _, c := range components {
				var p int
				switch {
				case x == 0 && y%lines == 0:
					p = 1 << (r.Bits - int(set.point) - 1)
				case y%lines == 0:
					p = at(x-1, y, c)
				case x == 0:
					p = at(x, y-1, c)
				default:
					p = prediction(set.predictor, at(x-1, y, c), at(x, y-1, c), at(x-1, y-1, c))
				}
				t := lossless(at(x, y, c) - p)
				intervals[len(intervals)-1] = append(intervals[len(intervals)-1], t)
			}
		}
	}
	return intervals
}

func prediction(predictor, a, b, c int) int {
	return [8]int{0, a, b, c, a + b - c, a + (b-c)>>1, b + (a-c)>>1, (a + b) >> 1}[predictor]
}

// lossless codes a difference modulo 2^16 (T.81 H.1.2.1, H.1.2.2).
func lossless(diff int) token {
	diff = int(int16(diff))
	if diff == -32768 {
		return token{symbol: 16}
	}
	category, extra := magnitude(diff)
	return token{symbol: category, extra: extra, bits: uint(category)}
}

// dctTokens codes the blocks of a scan (T.81 F.1.2), one slice for each restart
// interval. All sampling factors are 1, so a unit is a block of each component.
func dctTokens(r *codec.Raster, set settings, components []int) [][]token {
	intervals := [][]token{nil}
	dc := make([]int, r.Components)
	units := 0
	for by := 0; by < r.Height; by += 8 {
		for bx := 0; bx < r.Width; bx += 8 {
			if set.restart > 0 && units > 0 && units%set.restart == 0 {
				intervals = append(intervals, nil)
				clear(dc)
			}
			units++
			for _, c := range components {
				block := forward(r, bx, by, c, set.quant)
				last := len(intervals) - 1
				intervals[last] = appendBlock(intervals[last], block, &dc[c])
			}
		}
	}
	return intervals
}

func appendBlock(tokens []token, block [64]int, dc *int) []token {
	category, extra := magnitude(block[0] - *dc)
	*dc = block[0]
	tokens = append(tokens, token{classDC, category, extra, uint(category)})
	run := 0
	for _, place := range zigzag[1:] {
		if block[place] == 0 {
			run++
			continue
		}
		for ; run > 15; run -= 16 {
			tokens = append(tokens, token{class: classAC, symbol: 0xF0})
		}
		category, extra := magnitude(block[place])
		tokens = append(tokens, token{classAC, byte(run)<<4 | category, extra, uint(category)})
		run = 0
	}
	if run > 0 {
		tokens = append(tokens, token{class: classAC})
	}
	return tokens
}

// cosines[u][x] is the kernel of the forward DCT (T.81 A.3.3).
var cosines = func() (k [8][8]float64) {
	for u := range 8 {
		for x := range 8 {
			k[u][x] = math.Cos(float64(2*x+1)*float64(u)*math.Pi/16) / 2
			if u == 0 {
				k[u][x] /= math.Sqrt2
			}
		}
	}
	return k
}()

// forward transforms and quantises a block; what lies beyond the edge repeats
// it.
func forward(r *codec.Raster, bx, by, c int, quant [64]int) (out [64]int) {
	var rows [8][8]float64
	for y := range 8 {
		for x := range 8 {
			px, py := min(bx+x, r.Width-1), min(by+y, r.Height-1)
			v := float64(r.Pix[(py*r.Width+px)*r.Components+c]) - float64(int(1)<<(r.Bits-1))
			for u := range 8 {
				rows[y][u] += v * cosines[u][x]
			}
		}
	}
	for v := range 8 {
		for u := range 8 {
			sum := 0.0
			for y := range 8 {
				sum += rows[y][u] * cosines[v][y]
			}
			out[8*v+u] = int(math.Round(sum / float64(quant[8*v+u])))
		}
	}
	return out
}

// flatQuant is a quantisation table of one value.
func flatQuant(q int) (t [64]int) {
	for i := range t {
		t[i] = q
	}
	return t
}

// texture is a picture with smooth shading, edges, flat parts and noise, seeded.
func texture(seed uint64, width, height, components, bits int) *codec.Raster {
	rng := rand.New(rand.NewPCG(seed, 1))
	r := &codec.Raster{Width: width, Height: height, Components: components, Bits: bits, Pix: make([]uint16, width*height*components)}
	top := float64(int(1)<<bits - 1)
	for i := range r.Pix {
		c, x, y := i%components, i/components%width, i/components/width
		v := 0.45 + 0.25*math.Sin(float64(x)/37+float64(c))*math.Cos(float64(y)/53) + 0.004*rng.NormFloat64()
		switch {
		case x > width/3 && x < width/2 && y > height/4:
			v = 0.7 // a flat part
		case (x-width/2)*(x-width/2)+y*y < height*height/9:
			v += 0.2
		}
		r.Pix[i] = uint16(math.Round(min(max(v, 0), 1) * top))
	}
	return r
}
