package trace

import "math"

// blocks divide the places of a line into stretches short enough that the line
// is straight over each, and long enough that the noise of one is nearly
// independent of the next.
type blocks struct{ places, n int }

// blockLength is the length of a block in px; on short lines less, so that
// there are a dozen. Detectors and films blur noise over 1–3 px.
const blockLength = 8

func newBlocks(places int) blocks {
	length := min(max(places/12, 1), blockLength)
	return blocks{places, max((places+length/2)/length, 1)}
}

// length returns the mean length of a block in places.
func (b blocks) length() float64 { return float64(b.places) / float64(b.n) }

// rows returns the places from first to before last of block k.
func (b blocks) rows(k int) (first, last int) { return k * b.places / b.n, (k + 1) * b.places / b.n }

// holding returns the block that holds a place.
func (b blocks) holding(place int) int { return min(int(float64(place)/b.length()), b.n-1) }

// mean returns the means of values over each block.
func (b blocks) mean(v []float64) []float64 {
	out := make([]float64, b.n)
	for k := range out {
		first, last := b.rows(k)
		for _, x := range v[first:last] {
			out[k] += x / float64(last-first)
		}
	}
	return out
}

// spread returns values at each place from those of the blocks.
func (b blocks) spread(v []float64) []float64 {
	out := make([]float64, b.places)
	for i := range out {
		out[i] = b.between(v, i)
	}
	return out
}

// between returns the value at a place from values at the middles of blocks.
func (b blocks) between(v []float64, place int) float64 {
	return cubic(v, (float64(place)+0.5)/b.length()-0.5)
}

// cubic returns the value between evenly spaced ones at index x, by cubics
// through neighbours (Catmull & Rom 1974); beyond the ends, straight on.
func cubic(v []float64, x float64) float64 {
	n := len(v)
	if n == 1 {
		return v[0]
	}
	i := min(max(int(math.Floor(x)), 0), n-2)
	t := x - float64(i)
	if t < 0 || t > 1 {
		return v[i] + t*(v[i+1]-v[i])
	}
	before, after := 2*v[i]-v[i+1], 2*v[i+1]-v[i]
	if i > 0 {
		before = v[i-1]
	}
	if i < n-2 {
		after = v[i+2]
	}
	d0, d1 := (v[i+1]-before)/2, (after-v[i])/2
	u := 1 - t
	return v[i]*u*u*(1+2*t) + v[i+1]*t*t*(3-2*t) + d0*t*u*u - d1*t*t*u
}

// measured is what the blocks of a line say about its ridge.
type measured struct {
	offset []float64 // of the axis from the line, px
	weight []float64 // inverse variance of offset, up to a common factor
	half   []float64 // half-width of the ridge, px
	ridge  []float64 // strength of the ridge, in units of the background
}

func newMeasured(n int) measured {
	return measured{make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)}
}

// set records block i: the answer of the odd filter, what a pixel of offset
// would make it, and its noise. A block without a ridge has no weight. An
// offset beyond half the half-width is none of this ridge and cut to that.
func (m measured) set(i int, odd, perPixel, noise float64) {
	if perPixel <= 0 {
		return
	}
	far := m.half[i] / 2
	m.offset[i] = min(max(odd/perPixel, -far), far)
	m.weight[i] = perPixel * perPixel / (noise * noise)
}

// smoothed fits a smoothing spline to the offsets counted from the line base,
// with less weight for those far off the rest (Huber 1964, Ann Math Stat
// 35:73–101, at 2 standard deviations).
func (m measured) smoothed(base []float64, b blocks) smooth {
	y := make([]float64, b.n)
	for i := range y {
		y[i] = base[i] + m.offset[i]
	}
	seen := 0
	for _, w := range m.weight {
		if w > 0 {
			seen++
		}
	}
	if seen <= order+2 {
		return m.unbent(y)
	}
	least, most := max(windings*m.meanHalf()/b.length(), 2), float64(b.n)
	s := smoothed(y, m.weight, least, most)
	w := append([]float64(nil), m.weight...)
	for i := range w {
		if z := math.Abs(y[i]-s.value[i]) * math.Sqrt(w[i]/s.scale); z > 2 {
			w[i] *= 2 / z
		}
	}
	s = smoothed(y, w, least, most)
	k := followed * followed * shared(y, s.value, m.weight)
	for i := range s.variance {
		s.variance[i] *= k
	}
	return s
}

// windings is the least length that a line averages over, in half-widths of
// the ridge: no canal winds within twice its own width, though texture makes it
// seem so.
const windings = 4.0

func (m measured) meanHalf() float64 {
	sum := 0.0
	for _, h := range m.half {
		sum += h / float64(len(m.half))
	}
	return sum
}

// followed makes up for noise that neighbouring blocks share and the line
// follows, so that it is missing from its scatter: on phantoms with bone
// texture of 0–10 % the standard uncertainty would else cover 89 % at k = 2
// (by trial).
const followed = 1.3

// unbent is the fit where too little is seen of a ridge to bend a line: it
// stays as it is, known to about the ridge's half-width.
func (m measured) unbent(y []float64) smooth {
	s := smooth{value: y, variance: make([]float64, len(y)), reach: float64(len(y)), scale: 1}
	for i, h := range m.half {
		s.variance[i] = h * h
	}
	return s
}

// shared is how much larger variances are when neighbouring blocks share some
// of their noise: (1+r)/(1−r) for a first-order process with correlation r of
// neighbours (Bartlett 1946, J R Stat Soc Suppl 8:27–41).
func shared(y, fit, w []float64) float64 {
	var same, next, last float64
	for i := range y {
		r := (y[i] - fit[i]) * math.Sqrt(w[i])
		same += r * r
		next += r * last
		last = r
	}
	r := min(max(next/max(same, 1e-300), 0), 0.6)
	return (1 + r) / (1 - r)
}

// confidence says for each block how plainly there is a ridge: z²/(z²+9) of
// the mean strength around in units of its standard error. It is ½ at three
// standard errors; without a ridge, or with one of the wrong sign, near 0.
func (m measured) confidence() []float64 {
	mean := averaged(m.ridge, 2)
	scatter := 0.0
	for i, v := range mean {
		scatter += (m.ridge[i] - v) * (m.ridge[i] - v) / float64(len(mean))
	}
	// a Gaussian of 2 blocks averages over 2·√π·2 = 7.1 of them, and takes a
	// fifth of a block's own scatter with it
	unit := math.Sqrt(scatter/0.8/7.1) + 1e-12
	out := make([]float64, len(mean))
	for i, v := range mean {
		z := max(v/unit, 0)
		out[i] = z * z / (z*z + 9)
	}
	return out
}
