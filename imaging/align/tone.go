package align

import "math"

// histogram counts grey values of 0–65535 in steps of 16.
type histogram struct {
	n    [4096]int
	size int
}

func (h *histogram) count(v float32) {
	h.n[min(max(int(v)/16, 0), len(h.n)-1)]++
	h.size++
}

// quantiles are the grey values below which each of the parts lies.
func (h *histogram) quantiles(parts []float64) []float64 {
	out := make([]float64, len(parts))
	k, below := 0, 0
	for i, n := range h.n {
		for k < len(parts) && float64(below+n) >= parts[k]*float64(h.size) {
			inside := 0.5
			if n > 0 {
				inside = (parts[k]*float64(h.size) - float64(below)) / float64(n)
			}
			out[k] = 16 * (float64(i) + inside)
			k++
		}
		below += n
	}
	return out
}

// toneCurve takes grey values of one picture to those of another: straight
// between knots, and straight on beyond them.
type toneCurve struct{ from, to []float64 }

// sameTone changes nothing.
var sameTone = toneCurve{[]float64{0, 1}, []float64{0, 1}}

// knotParts are the parts of a distribution whose grey values are matched: 512
// in equal steps, and finer ones towards both ends, where the densest enamel
// and the open beam are a small part of the picture.
func knotParts() []float64 {
	const knots = 512
	parts := []float64{0.0002, 0.0005}
	for i := range knots {
		parts = append(parts, (float64(i)+0.5)/knots)
	}
	return append(parts, 0.9995, 0.9998)
}

// matchCurve makes the distribution of one histogram that of another.
func matchCurve(from, to *histogram) toneCurve {
	parts := knotParts()
	a, b := from.quantiles(parts), to.quantiles(parts)
	step := (a[len(a)-1] - a[0]) / 100 // knots nearer than that would follow noise
	var c toneCurve
	for i := range a {
		if n := len(c.from); n == 0 || a[i] > c.from[n-1]+step {
			c.from, c.to = append(c.from, a[i]), append(c.to, b[i])
		}
	}
	if len(c.from) < 2 {
		return sameTone
	}
	return c
}

// at returns the grey value that v becomes.
func (c toneCurve) at(v float32) float32 {
	x, lo, hi := float64(v), 0, len(c.from)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; c.from[mid] <= x {
			lo = mid
		} else {
			hi = mid
		}
	}
	t := (x - c.from[lo]) / (c.from[hi] - c.from[lo])
	return float32(c.to[lo] + t*(c.to[hi]-c.to[lo]))
}

// levelPoint is a value at a place.
type levelPoint struct{ x, y, v float64 }

// bow is a surface of the second degree about a middle.
type bow struct {
	cx, cy float64
	k      []float64
}

func (b bow) rows(x, y float64) [6]float64 {
	u, v := (x-b.cx)/max(b.cx, b.cy), (y-b.cy)/max(b.cx, b.cy)
	return [6]float64{1, u, v, u * u, u * v, v * v}
}

func (b bow) at(x, y float64) (s float64) {
	for i, r := range b.rows(x, y) {
		if i < len(b.k) {
			s += b.k[i] * r
		}
	}
	return s
}

// fitBow fits the surface by reweighted least squares.
func fitBow(points []levelPoint, cx, cy float64) bow {
	b := bow{cx: cx, cy: cy}
	if len(points) < 12 { // twice the parameters
		return b
	}
	weight, off := make([]float64, len(points)), make([]float64, len(points))
	for i := range weight {
		weight[i] = 1
	}
	for range 6 {
		f := newLeastSquares(6)
		for i, p := range points {
			r := b.rows(p.x, p.y)
			f.add(r[:], p.v, weight[i])
		}
		k, ok := f.solve()
		if !ok {
			return bow{cx: cx, cy: cy}
		}
		b.k = k
		for i, p := range points {
			off[i] = math.Abs(p.v - b.at(p.x, p.y))
		}
		biweights(weight, off)
	}
	return b
}

// noiseBins sort pixels by grey value and steepness.
type noiseBins struct {
	s      *subtraction
	edges  [greyBins - 1]float32
	steep  [steepBins - 1]float32
	grad   []float32
	values [greyBins * steepBins][]float64
	sd     [greyBins * steepBins]float32
}

const (
	greyBins  = 12
	steepBins = 8
)

func newNoiseBins(s *subtraction) *noiseBins {
	b := &noiseBins{s: s, grad: make([]float32, len(s.before))}
	soft := boxMean(s.before, s.w, s.h, 2)
	for y := 1; y < s.h-1; y++ {
		for x := 1; x < s.w-1; x++ {
			i := y*s.w + x
			dx, dy := soft[i+1]-soft[i-1], soft[i+s.w]-soft[i-s.w]
			b.grad[i] = float32(math.Sqrt(float64(dx*dx + dy*dy)))
		}
	}
	var grey, steep []float64
	for i := 0; i < len(s.before); i += 11 {
		if s.still[i] {
			grey, steep = append(grey, float64(s.before[i])), append(steep, float64(b.grad[i]))
		}
	}
	medianOf(grey) // sorts
	medianOf(steep)
	for k := range b.edges {
		b.edges[k] = float32(grey[(k+1)*len(grey)/greyBins])
	}
	for k, part := range [steepBins - 1]float64{0.5, 0.8, 0.92, 0.97, 0.99, 0.996, 0.999} { // finer where few pixels are steep
		b.steep[k] = float32(steep[int(part*float64(len(steep)-1))])
	}
	return b
}

func (b *noiseBins) of(i int) int {
	g, s := 0, 0
	for g < len(b.edges) && b.s.before[i] >= b.edges[g] {
		g++
	}
	for s < len(b.steep) && b.grad[i] >= b.steep[s] {
		s++
	}
	return s*greyBins + g
}

// normalTenth is what one in ten |x| goes beyond, for a standard normal x.
const normalTenth = 1.645

// close turns the collected values into standard deviations; a bin with few of
// them takes that of all.
func (b *noiseBins) close() {
	var all []float64
	for _, v := range b.values {
		all = append(all, v...)
	}
	usual := medianOf(all) / normalMedian
	for i, v := range b.values {
		b.sd[i] = float32(usual)
		if len(v) >= 100 {
			mid := medianOf(v) / normalMedian
			b.sd[i] = float32(max(mid, v[len(v)*9/10]/normalTenth, 0.3*usual))
		}
	}
}
