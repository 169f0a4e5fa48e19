package trace

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// pair is what the profile across a line says of two canals that overlap: how
// far apart their axes would lie, and how much better two canals fit the
// profile than one does.
type pair struct {
	apart float64 // px
	gain  float64 // ratio of mean squares (F)
}

// pairBins is about the number of columns a half-width is divided into.
const pairBins = 5.0

const (
	// pairShape is the part of a canal's profile that is none of a cylinder's,
	// root mean square: canals are oval, files are conical (by trial).
	pairShape = 0.05
	// fileShape is the same of a file, which lies in a canal of its own.
	fileShape = 0.15
	// closest is the least distance of two axes that can be told from one, in
	// standard deviations of the detector's blur (by trial).
	closest = 2.7
)

// pairs fits one canal and two to the profile at every few blocks.
func (f *follower) pairs(every int) []pair {
	most := slices.Max(f.seen.half)
	bin := max(int(math.Round(most/pairBins)), 1)
	fine := f.strip(2.8*most + 2*float64(bin) + 4)
	s := fine.binned(bin)
	cov, shape := newBackground(s, s.half), pairShape
	if f.t.bright {
		shape = fileShape
	}
	out := make([]pair, (s.rows+every-1)/every)
	inBands(len(out), 1, func(from, to int) {
		for k := from; k < to; k++ {
			out[k] = s.pairAt(k*every, f.seen.half[min(k*every, s.rows-1)]/float64(bin), cov, detectorBlur/float64(bin), shape)
			out[k].apart *= float64(bin)
		}
	})
	return out
}

// binned averages columns by bin.
func (s *strip) binned(bin int) *strip {
	half := (s.half - bin/2) / bin
	out := newStrip(s.rows, half)
	for b := range s.rows {
		in, row := s.row(b), out.row(b)
		for k := range row {
			first := s.half + (k-half)*bin - bin/2
			for _, v := range in[first : first+bin] {
				row[k] += v / float32(bin)
			}
		}
	}
	return out
}

// pairAt compares one canal and two around block b.
func (s *strip) pairAt(b int, half float64, cov background, blur, shape float64) pair {
	reach := min(int(2.6*half+2*blur)+1, s.half)
	n := 2*reach + 1
	y := make([]float64, n)
	total := 0.0
	for d := -4; d <= 4; d++ { // a Gaussian of 2 blocks
		if b+d < 0 || b+d >= s.rows {
			continue
		}
		w := math.Exp(-float64(d*d) / 8)
		total += w
		for k := range y {
			y[k] += w * float64(s.row(b + d)[s.half-reach+k])
		}
	}
	for k := range y {
		y[k] /= total
	}
	w, ok := cov.whitener(n)
	if !ok {
		return pair{}
	}
	p := pairing{w: w.lower(), reach: reach, blur: blur, shape: shape}
	p.y = p.whiten(y)
	for j := range 3 {
		base := make([]float64, n)
		for i := range base {
			base[i] = math.Pow(float64(i-reach)/float64(reach), float64(j))
		}
		b := p.without(p.whiten(base))
		k := 1 / math.Sqrt(dot(b, b))
		for i := range b {
			b[i] *= k
		}
		p.base = append(p.base, b)
	}
	return p.compare(half)
}

// lower is the Cholesky factor.
func (w *whitener) lower() *mat.TriDense {
	var l mat.TriDense
	w.chol.LTo(&l)
	return &l
}

// pairing fits canals to one profile.
type pairing struct {
	w     *mat.TriDense
	reach int
	blur  float64
	shape float64 // see pairShape
	y     []float64
	base  [][]float64
}

func (p *pairing) whiten(v []float64) []float64 {
	out := slices.Clone(v)
	for i := range out {
		for j := range i {
			out[i] -= p.w.At(i, j) * out[j]
		}
		out[i] /= p.w.At(i, i)
	}
	return out
}

// canals returns whitened profiles of canals of a half-width at places across,
// with what a background could take of them taken off.
func (p *pairing) canals(half, blur float64, places []float64) [][]float64 {
	out := make([][]float64, len(places))
	for k, at := range places {
		v := make([]float64, 2*p.reach+1)
		for i := range v {
			v[i] = chordBlurred(float64(i-p.reach)-at, half, blur)
		}
		out[k] = p.without(p.whiten(v))
	}
	return out
}

// without takes off v what the base explains.
func (p *pairing) without(v []float64) []float64 {
	for _, b := range p.base {
		k := -dot(v, b)
		for i := range v {
			v[i] += k * b[i]
		}
	}
	return v
}

// compare fits one canal of any width near half, and two of any distance.
func (p *pairing) compare(half float64) pair {
	y := p.without(slices.Clone(p.y))
	total := dot(y, y)
	one, two, apart := total, total, 0.0
	for _, blur := range []float64{0.5, 1, 1.4} {
		for h := 0.6; h < 1.5; h *= 1.08 {
			for _, c := range p.canals(h*half, blur*p.blur, steps(-0.4*half, 0.4*half, 0.1*half)) {
				if a := dot(y, c); a > 0 {
					one = min(one, total-a*a/dot(c, c))
				}
			}
		}
		for h := 0.45; h < 1.06; h *= 1.15 {
			at := steps(-1.4*half, 1.4*half, 0.1*half)
			c := p.canals(h*half, blur*p.blur, at)
			for i := range c {
				for j := i + 1; j < len(c); j++ {
					if at[j]-at[i] < max(0.7*half, closest*p.blur) {
						continue
					}
					if rss := together(y, c[i], c[j], total); rss < two {
						two, apart = rss, at[j]-at[i]
					}
				}
			}
		}
	}
	if two >= one {
		return pair{}
	}
	unlike := p.shape * p.shape * total
	return pair{apart: apart, gain: float64(len(y)) / 2 * math.Log((one+unlike)/(two+unlike))}
}

// together is what two canals leave of y, whose square is total; all of it
// when one of them were less than a third of the other.
func together(y, a, b []float64, total float64) float64 {
	aa, bb, ab, ya, yb := dot(a, a), dot(b, b), dot(a, b), dot(y, a), dot(y, b)
	det := aa*bb - ab*ab
	if det <= 1e-9*aa*bb {
		return total
	}
	u, v := (ya*bb-yb*ab)/det, (yb*aa-ya*ab)/det
	if u <= 0 || v <= 0 || u < v/3 || v < u/3 {
		return total
	}
	return total - u*ya - v*yb
}

// steps returns numbers from one to another.
func steps(from, to, by float64) []float64 {
	var out []float64
	for v := from; v < to+by/2; v += by {
		out = append(out, v)
	}
	return out
}
