package jpegls

import (
	"encoding/binary"
	"math"
	"math/rand/v2"

	"rootrule/imaging/dicomfile/codec"
)

// The encoder of the tests: T.87 Annex A read from the encoder's side. It
// shares contexts and parameters with the decoder; when it was written, CharLS
// 2.4.1 found the same pixels in 200 of its streams, of all choices but a preset
// MAXVAL. Streams of other encoders are in testdata.

// settings are the choices of an encoder.
type settings struct {
	near       int
	interleave Interleave
	preset     preset
	restart    int // lines
	fill       int // 0xFF bytes before each marker
}

// bitWriter stuffs a zero bit behind 0xFF (T.87 A.1).
type bitWriter struct {
	out  []byte
	acc  uint32
	free uint // bits free in the byte being made
}

func newBitWriter(out []byte) *bitWriter { return &bitWriter{out: out, free: 8} }

func (w *bitWriter) put(v uint32, n uint) {
	for ; n > 0; n-- {
		w.acc = w.acc<<1 | v>>(n-1)&1
		if w.free--; w.free == 0 {
			w.flushByte()
		}
	}
}

func (w *bitWriter) flushByte() {
	w.out = append(w.out, byte(w.acc))
	w.free = 8
	if byte(w.acc) == 0xFF {
		w.free = 7
	}
	w.acc = 0
}

// close fills the last byte up with zeros.
func (w *bitWriter) close() []byte {
	whole := uint(8)
	if len(w.out) > 0 && w.out[len(w.out)-1] == 0xFF {
		whole = 7
	}
	if w.free < whole || whole == 7 {
		w.put(0, w.free)
	}
	return w.out
}

// golomb writes a number in the limited-length code (T.87 A.5.3).
func (w *bitWriter) golomb(v uint32, k, longest, qbpp uint) {
	if zeros := uint(v >> k); zeros < longest {
		w.put(0, zeros)
		w.put(1, 1)
		w.put(v&(1<<k-1), k)
		return
	}
	w.put(0, longest)
	w.put(1, 1)
	w.put(v-1, qbpp)
}

// encode returns the stream of a raster.
func encode(r *codec.Raster, set settings) []byte {
	out := []byte{0xFF, markerSOI}
	frame := []byte{byte(r.Bits), byte(r.Height >> 8), byte(r.Height), byte(r.Width >> 8), byte(r.Width), byte(r.Components)}
	for c := range r.Components {
		frame = append(frame, byte(c+1), 0x11, 0)
	}
	out = segment(out, set.fill, markerSOF55, frame)
	if set.preset != (preset{}) {
		lse := []byte{1}
		for _, v := range []int{set.preset.maxVal, set.preset.t1, set.preset.t2, set.preset.t3, set.preset.reset} {
			lse = binary.BigEndian.AppendUint16(lse, uint16(v))
		}
		out = segment(out, set.fill, markerLSE, lse)
	}
	if set.restart > 0 {
		out = segment(out, set.fill, markerDRI, []byte{byte(set.restart >> 8), byte(set.restart)})
	}
	if set.interleave == None {
		for c := range r.Components {
			out = encodeScan(out, r, set, []int{c})
		}
	} else {
		out = encodeScan(out, r, set, []int{0, 1, 2})
	}
	return append(out, 0xFF, markerEOI)
}

func segment(out []byte, fill int, marker byte, payload []byte) []byte {
	for range fill {
		out = append(out, 0xFF)
	}
	out = append(out, 0xFF, marker)
	out = binary.BigEndian.AppendUint16(out, uint16(len(payload)+2))
	return append(out, payload...)
}

// scanEncoder keeps the same state as the decoder's scan.
type scanEncoder struct {
	scan
	w *bitWriter
}

func encodeScan(out []byte, r *codec.Raster, set settings, components []int) []byte {
	header := []byte{byte(len(components))}
	for _, c := range components {
		header = append(header, byte(c+1), 0)
	}
	out = segment(out, set.fill, markerSOS, append(header, byte(set.near), byte(set.interleave), 0))
	q, err := newParams(r.Bits, set.near, set.preset)
	if err != nil {
		panic(err)
	}
	n := len(components)
	e := &scanEncoder{w: newBitWriter(out)}
	e.scan = scan{
		params: q, gradients: q.gradients(), width: r.Width, stride: 1, runIndex: make([]int, n),
		above: make([]uint16, n*(r.Width+2)), line: make([]uint16, n*(r.Width+2)),
	}
	if set.interleave == BySample {
		e.stride = n
	}
	e.begin()
	for y := range r.Height {
		if set.restart > 0 && y > 0 && y%set.restart == 0 {
			e.w = newBitWriter(append(e.w.close(), 0xFF, markerRST0+e.number))
			e.number = (e.number + 1) & 7
			e.begin()
		}
		e.lineOf(r, components, y)
		e.above, e.line = e.line, e.above
	}
	return e.w.close()
}

// lineOf encodes one line of the given components and leaves what a decoder
// will see of it in line.
func (e *scanEncoder) lineOf(r *codec.Raster, components []int, y int) {
	row := r.Pix[y*r.Width*r.Components:][:r.Width*r.Components]
	if e.stride > 1 {
		copy(e.line[3:], row)
		e.mixed(e.above, e.line)
		return
	}
	size := r.Width + 2
	for i, c := range components {
		line := e.line[i*size:][:size]
		for x := range r.Width {
			line[x+1] = row[x*r.Components+c]
		}
		e.plain(e.above[i*size:][:size], line, &e.runIndex[i])
	}
}

func (e *scanEncoder) plain(above, line []uint16, runIndex *int) {
	w := e.width
	above[w+1], line[0] = above[w], above[1]
	for x := 1; x <= w; x++ {
		ra, rb, rc, rd := int32(line[x-1]), int32(above[x]), int32(above[x-1]), int32(above[x+1])
		q := e.gradients.of(rd-rb)*81 + e.gradients.of(rb-rc)*9 + e.gradients.of(rc-ra)
		if q != 0 {
			line[x] = uint16(e.encodeSample(q, ra, rb, rc, int32(line[x])))
			continue
		}
		n := 0
		for x+n <= w && e.alike(int32(line[x+n]), ra) {
			line[x+n] = uint16(ra)
			n++
		}
		e.encodeRun(n, x+n > w, runIndex)
		if x += n; x > w {
			return
		}
		rb = int32(above[x])
		kind := 0
		if e.alike(ra, rb) {
			kind = 1
		}
		line[x] = uint16(e.encodeEnd(kind, ra, rb, int32(line[x]), *runIndex))
		*runIndex = max(*runIndex-1, 0)
	}
}

func (e *scanEncoder) mixed(above, line []uint16) {
	w := e.width
	for c := range 3 {
		above[3*(w+1)+c], line[c] = above[3*w+c], above[3+c]
	}
	for x := 1; x <= w; x++ {
		q := [3]int32{e.mixedContext(above, line, 3*x), e.mixedContext(above, line, 3*x+1), e.mixedContext(above, line, 3*x+2)}
		if q != [3]int32{} {
			for c, q := range q {
				i := 3*x + c
				line[i] = uint16(e.encodeSample(q, int32(line[i-3]), int32(above[i]), int32(above[i-3]), int32(line[i])))
			}
			continue
		}
		n := 0
		for x+n <= w && e.pixelAlike(line, 3*(x+n), 3*(x-1)) {
			copy(line[3*(x+n):3*(x+n)+3], line[3*(x-1):])
			n++
		}
		e.encodeRun(n, x+n > w, &e.runIndex[0])
		if x += n; x > w {
			return
		}
		for i := 3 * x; i < 3*x+3; i++ {
			line[i] = uint16(e.encodeEnd(0, int32(line[i-3]), int32(above[i]), int32(line[i]), e.runIndex[0]))
		}
		e.runIndex[0] = max(e.runIndex[0]-1, 0)
	}
}

func (e *scanEncoder) alike(a, b int32) bool { return a-b <= e.near && b-a <= e.near }

func (e *scanEncoder) pixelAlike(line []uint16, i, j int) bool {
	for c := range 3 {
		if !e.alike(int32(line[i+c]), int32(line[j+c])) {
			return false
		}
	}
	return true
}

// quantise turns a prediction error into steps and brings it into the range of
// RANGE values (T.87 A.4.4, A.4.5).
func (e *scanEncoder) quantise(err int32) int32 {
	if err > 0 {
		err = (err + e.near) / e.step
	} else {
		err = -(e.near - err) / e.step
	}
	if err < 0 {
		err += e.span
	}
	if err >= (e.span+1)/2 {
		err -= e.span
	}
	return err
}

// encodeSample encodes v in regular mode and returns what a decoder sees.
func (e *scanEncoder) encodeSample(q, ra, rb, rc, v int32) int32 {
	sign := q >> 31
	x := &e.regular[(q^sign)-sign]
	k := golombParameter(x.a, x.n)
	var px int32
	switch { // Code segment A.5
	case rc >= max(ra, rb):
		px = min(ra, rb)
	case rc <= min(ra, rb):
		px = max(ra, rb)
	default:
		px = ra + rb - rc
	}
	px = min(max(px+(x.c^sign)-sign, 0), e.maxVal)
	err := e.quantise(((v - px) ^ sign) - sign)
	var coded int32 // Code segment A.11
	switch special := e.near == 0 && k == 0 && 2*x.b <= -x.n; {
	case special && err >= 0:
		coded = 2*err + 1
	case special:
		coded = -2 * (err + 1)
	case err >= 0:
		coded = 2 * err
	default:
		coded = -2*err - 1
	}
	e.w.golomb(uint32(coded), k, e.limit-e.qbpp-1, e.qbpp)
	x.update(err, e.step, e.reset)
	return e.reconstruct(px, (err^sign)-sign)
}

// encodeRun encodes a run of n samples (T.87 A.7.1.2, Code segments A.15, A.16).
func (e *scanEncoder) encodeRun(n int, endOfLine bool, runIndex *int) {
	for n >= 1<<runLengths[*runIndex] {
		e.w.put(1, 1)
		n -= 1 << runLengths[*runIndex]
		*runIndex = min(*runIndex+1, 31)
	}
	if !endOfLine {
		e.w.put(0, 1)
		e.w.put(uint32(n), uint(runLengths[*runIndex]))
	} else if n > 0 {
		e.w.put(1, 1)
	}
}

// encodeEnd encodes the sample that ends a run (T.87 A.7.2).
func (e *scanEncoder) encodeEnd(kind int, ra, rb, v int32, runIndex int) int32 {
	x := &e.run[kind]
	px, sign := rb, int32(0)
	if kind == 1 {
		px = ra
	} else if ra > rb {
		sign = -1
	}
	err := e.quantise(((v - px) ^ sign) - sign)
	k := x.golombParameter()
	odd := int32(0) // Code segment A.21
	switch {
	case k == 0 && err > 0 && 2*x.negative < x.n,
		err < 0 && 2*x.negative >= x.n,
		err < 0 && k != 0:
		odd = 1
	}
	coded := 2*max(err, -err) - x.kind - odd
	e.w.golomb(uint32(coded), k, e.limit-uint(runLengths[runIndex])-1-e.qbpp-1, e.qbpp)
	x.update(err, coded, e.reset)
	return e.reconstruct(px, (err^sign)-sign)
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
