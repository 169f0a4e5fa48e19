package align

import (
	"math"
	"slices"
)

// toned is the picture with grey values through a curve.
func (p *picture) toned(c toneCurve) *picture {
	out := &picture{w: p.w, h: p.h, step: p.step, v: make([]float32, len(p.v))}
	for i, v := range p.v {
		out.v[i] = c.at(v)
	}
	return out
}

// greyPair is the mean grey value of a small square in both pictures.
type greyPair struct{ t, z float64 }

// pairCell is the side of these squares, px: small against any change.
const pairCell = 4

// greyPairs collects the squares of the blocks that agree and that are flat
// against the rest, where neither blur nor a small error of the map matters.
func greyPairs(t *template, other *picture, r *refined) []greyPair {
	var out []greyPair
	var steep []float64
	limX, limY := float64(other.w-1), float64(other.h-1)
	for i := range r.moves {
		m := &r.moves[i]
		if m.weight < 0.3 {
			continue
		}
		x0, y0 := max(1, int(m.x)-t.side/2), max(1, int(m.y)-t.side/2)
		for y := y0; y+pairCell <= min(y0+t.side, t.h-1); y += pairCell {
			for x := x0; x+pairCell <= min(x0+t.side, t.w-1); x += pairCell {
				u, v, _ := r.h.apply(float64(x)+pairCell/2, float64(y)+pairCell/2)
				if !(u >= pairCell && v >= pairCell && u < limX-pairCell && v < limY-pairCell) {
					continue
				}
				var p greyPair
				var g float64
				for j := range pairCell {
					for k := range pairCell {
						o := (y+j)*t.w + x + k
						u, v, _ := r.h.apply(float64(x+k), float64(y+j))
						p.t += float64(t.v[o])
						p.z += float64(other.linear(u, v))
						g += float64(t.dx[o]*t.dx[o] + t.dy[o]*t.dy[o])
					}
				}
				if q := p.t + p.z + g; q == q {
					p.t /= pairCell * pairCell
					p.z /= pairCell * pairCell
					out, steep = append(out, p), append(steep, g)
				}
			}
		}
	}
	if len(out) == 0 {
		return nil
	}
	ordered := slices.Clone(steep)
	slices.Sort(ordered)
	limit := ordered[len(ordered)*8/10]
	flat := out[:0]
	for i, p := range out {
		if steep[i] <= limit {
			flat = append(flat, p)
		}
	}
	return flat
}

// toneBetween is the curve from the grey values of the template to those of
// the other picture of the same resolution: a robust polynomial first, which
// throws out what changed, then what it leaves, in steps.
func toneBetween(t *template, other *picture, r *refined) toneCurve {
	pairs := greyPairs(t, other, r)
	if len(pairs) < 200 { // too few to say anything
		return sameTone
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range pairs {
		low, high = min(low, p.t), max(high, p.t)
	}
	if !(high > low) {
		return sameTone
	}
	poly, weight := robustPolynomial(pairs, low, high)
	const bins = 48
	var sum, left, at [bins]float64
	for i, p := range pairs {
		k := min(int(bins*(p.t-low)/(high-low)), bins-1)
		sum[k] += weight[i]
		left[k] += weight[i] * (p.z - poly.at(p.t))
		at[k] += weight[i] * p.t
	}
	var rest toneCurve // what the polynomial leaves
	for k := range bins {
		if sum[k] < 8 {
			continue
		}
		x := at[k] / sum[k]
		if n := len(rest.from); n == 0 || x > rest.from[n-1]+1 {
			rest.from, rest.to = append(rest.from, x), append(rest.to, left[k]/sum[k])
		}
	}
	if len(rest.from) < 2 {
		return sameTone
	}
	return poly.curve(low, high, rest)
}

// curve is the polynomial with a correction, which keeps its last value beyond
// its ends, from low to high.
func (p *polynomial) curve(low, high float64, rest toneCurve) (c toneCurve) {
	const knots = 96
	first, last := rest.from[0], rest.from[len(rest.from)-1]
	for k := range knots + 1 {
		x := low + (high-low)*float64(k)/knots
		y := p.at(x) + float64(rest.at(float32(min(max(x, first), last))))
		if n := len(c.from); n > 0 && !(y > c.to[n-1]) {
			continue
		}
		c.from, c.to = append(c.from, x), append(c.to, y)
	}
	return c
}

// polynomial is one of the third degree about the middle of a range.
type polynomial struct {
	mid, half float64
	k         [4]float64
}

func (p *polynomial) rows(x float64) [4]float64 {
	u := (x - p.mid) / p.half
	return [4]float64{1, u, u * u, u * u * u}
}

func (p *polynomial) at(x float64) (s float64) {
	for i, r := range p.rows(x) {
		s += p.k[i] * r
	}
	return s
}

// robustPolynomial fits z to t by reweighted least squares (Tukey's biweight).
func robustPolynomial(pairs []greyPair, low, high float64) (*polynomial, []float64) {
	p := &polynomial{mid: (low + high) / 2, half: (high - low) / 2}
	weight, off := make([]float64, len(pairs)), make([]float64, len(pairs))
	for i := range weight {
		weight[i] = 1
	}
	for range 8 {
		f := newLeastSquares(4)
		for i, q := range pairs {
			r := p.rows(q.t)
			f.add(r[:], q.z, weight[i])
		}
		k, ok := f.solve()
		if !ok {
			break
		}
		copy(p.k[:], k)
		for i, q := range pairs {
			off[i] = math.Abs(q.z - p.at(q.t))
		}
		biweights(weight, off)
	}
	return p, weight
}

// biweights sets Tukey's biweights of residuals, cut at 4.685 robust standard
// deviations (95 % efficiency for normal ones).
func biweights(weight, off []float64) {
	scale := 4.685 * medianOf(append([]float64{}, off...)) / normalMedian
	for i, v := range off {
		q := v / scale
		weight[i] = 0
		if q < 1 {
			weight[i] = (1 - q*q) * (1 - q*q)
		}
	}
}

// normalMedian is the median of |x| for a standard normal x.
const normalMedian = 0.6745
