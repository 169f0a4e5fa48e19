package align

import (
	"fmt"
	"math"
)

// likeness is how far the fine structure of two pictures agrees once they lie
// in one frame.
type likeness struct {
	blocks int
	median float64 // of the blocks' correlation coefficients
	part   float64 // of the blocks that correlate by more than 0.4
	cover  float64 // part of the earlier picture that the later one shows
}

// fineBlock is the side of a block of the test of likeness, px of its
// resolution.
const fineBlock = 16

// compareFine measures the likeness of two pictures of one resolution through
// h. Slow changes of grey are taken away first, so that neither exposure nor
// the mere outline of a tooth counts: both pictures are reduced to what is
// finer than a quarter of a block.
func compareFine(before, after *picture, h *homography) likeness {
	warped := &picture{w: before.w, h: before.h, step: before.step, v: make([]float32, len(before.v))}
	limX, limY := float64(after.w-1), float64(after.h-1)
	in := 0
	for y := range before.h {
		for x := range before.w {
			o := y*before.w + x
			u, v, w := h.apply(float64(x), float64(y))
			if !(w > 0 && u >= 0 && v >= 0 && u < limX && v < limY) {
				warped.v[o] = nan32
				continue
			}
			in++
			warped.v[o] = after.linear(u, v)
		}
	}
	a, b := before.fine(), warped.fine()
	var l likeness
	l.cover = float64(in) / float64(len(before.v))
	var all []float64
	for y := 0; y+fineBlock <= before.h; y += fineBlock {
		for x := 0; x+fineBlock <= before.w; x += fineBlock {
			if c, ok := correlation(a, b, before.w, x, y); ok {
				all = append(all, c)
				if c > 0.4 {
					l.part++
				}
			}
		}
	}
	l.blocks = len(all)
	if l.blocks == 0 {
		return l
	}
	l.part /= float64(l.blocks)
	l.median = medianOf(all)
	return l
}

// fine is the picture less its mean over 9 × 9 pixels.
func (p *picture) fine() []float32 {
	const r = 4
	mean := boxMean(p.v, p.w, p.h, r)
	for i, v := range p.v {
		mean[i] = v - mean[i]
	}
	return mean
}

// boxMean is the mean over (2r+1)² pixels, fewer at the border; NaN where one
// of them is NaN.
func boxMean(v []float32, w, h, r int) []float32 {
	rows, out := make([]float32, len(v)), make([]float32, len(v))
	for y := range h {
		row, to := v[y*w:(y+1)*w], rows[y*w:(y+1)*w]
		for x := range to {
			s, from, end := float32(0), max(0, x-r), min(w, x+r+1)
			for _, q := range row[from:end] {
				s += q
			}
			to[x] = s / float32(end-from)
		}
	}
	for y := range h {
		from, end := max(0, y-r), min(h, y+r+1)
		to := out[y*w : (y+1)*w]
		for k := from; k < end; k++ {
			for x, q := range rows[k*w : (k+1)*w] {
				to[x] += q
			}
		}
		for x := range to {
			to[x] /= float32(end - from)
		}
	}
	return out
}

// correlation is the correlation coefficient of a block; not ok when less than
// half of it is known in both.
func correlation(a, b []float32, w, x0, y0 int) (float64, bool) {
	var n, sa, sb, aa, bb, ab float64
	for y := y0; y < y0+fineBlock; y++ {
		for x := x0; x < x0+fineBlock; x++ {
			p, q := float64(a[y*w+x]), float64(b[y*w+x])
			if p != p || q != q {
				continue
			}
			n++
			sa += p
			sb += q
			aa += p * p
			bb += q * q
			ab += p * q
		}
	}
	va, vb := aa-sa*sa/n, bb-sb*sb/n
	if n < fineBlock*fineBlock/2 || !(va > 0 && vb > 0) {
		return 0, false
	}
	return (ab - sa*sb/n) / math.Sqrt(va*vb), true
}

// Limits of what can be compared.
const (
	leastCover = 0.4 // part of the earlier picture that has to be seen in both; chosen
	// leastAlike is the part of the blocks whose fine structure has to agree.
	leastAlike = 0.45
	// leastSide is the shorter side of the smallest picture, px.
	leastSide = 4 * coarseSide // two resolutions at least
	// mostPerspective is the largest ratio of magnifications along one picture:
	// a detector of 40 mm seen from 200 mm, tilted by 40° more than the other
	// time, gives 1.14.
	mostPerspective = 1.25
	// mostStretch is the largest ratio of the scales in two directions: 1/cos 40°.
	mostStretch = 1.3
)

// oblique says why a map is too oblique, or nothing.
func oblique(h *homography, width, height float64) string {
	low, high, stretch := math.Inf(1), 0.0, 0.0
	for _, c := range [5][2]float64{{0, 0}, {width, 0}, {0, height}, {width, height}, {width / 2, height / 2}} {
		_, _, w := h.apply(c[0], c[1])
		low, high = math.Min(low, w), math.Max(high, w)
		large, small := singular(h.linear(c[0], c[1]))
		stretch = math.Max(stretch, large/small)
	}
	switch {
	case !(low > 0 && high/low < mostPerspective):
		return fmt.Sprintf("the beam's direction differs too much: the magnification changes by a factor of %.2f across the image, the limit is %.2f: compare images taken with a holder", high/low, mostPerspective)
	case !(stretch < mostStretch):
		return fmt.Sprintf("the beam's direction differs too much: one is stretched by a factor of %.2f against the other, the limit is %.2f: compare images taken with a holder", stretch, mostStretch)
	}
	return ""
}
