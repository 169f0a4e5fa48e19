package align

import (
	"fmt"
	"math"
)

// likeness is how far the fine structure of two pictures agrees once they lie
// in one frame.
type likeness struct {
	blocks int     // with structure in both
	part   float64 // of the blocks that agree best where the map puts them
	cover  float64 // part of the earlier picture that the later one shows
}

// Sizes of the test of likeness, px of its resolution.
const (
	fineSide  = 180 // least shorter side: blocks are then about a tenth of it
	fineBlock = 16
	fineShift = 5 // how far the map is moved for comparison
)

// compareFine measures the likeness of two pictures of one resolution through
// h: the earlier one is cut into blocks, and in each the directions of its
// gradients are compared with those of the later picture, where the map puts
// it and moved by a few pixels to all eight sides. Only where the pictures show
// the same thing does a block agree best in its place; otherwise one in nine
// does by chance, and those that hold an outline more often, since the map was
// fitted to outlines. Contrast and exposure do not matter.
func compareFine(before, after *picture, h *homography) likeness {
	warped, in := after.through(h, before)
	a, b := newDirections(before), newDirections(warped)
	l := likeness{cover: float64(in) / float64(len(before.v))}
	var blocks []fineScore
	for y := fineShift + 1; y+fineBlock < before.h-fineShift; y += fineBlock {
		for x := fineShift + 1; x+fineBlock < before.w-fineShift; x += fineBlock {
			if s, ok := a.score(b, x, y); ok {
				blocks = append(blocks, s)
			}
		}
	}
	sizes := make([]float64, len(blocks))
	for i, s := range blocks {
		sizes[i] = s.size
	}
	least := medianOf(sizes) / 3 // what has far less structure than others has only noise
	for _, s := range blocks {
		if s.size < least {
			continue
		}
		l.blocks++
		if s.best {
			l.part++
		}
	}
	if l.blocks > 0 {
		l.part /= float64(l.blocks)
	}
	return l
}

// through is the picture in the frame of another of the same resolution, NaN
// where it shows nothing, and the number of pixels that it shows.
func (p *picture) through(h *homography, frame *picture) (out *picture, shown int) {
	out = &picture{w: frame.w, h: frame.h, step: frame.step, v: make([]float32, len(frame.v))}
	limX, limY := float64(p.w-1), float64(p.h-1)
	for y := range out.h {
		for x := range out.w {
			o := y*out.w + x
			u, v, w := h.apply(float64(x), float64(y))
			if w > 0 && u >= 0 && v >= 0 && u < limX && v < limY {
				out.v[o] = p.linear(u, v)
				shown++
			} else {
				out.v[o] = nan32
			}
		}
	}
	return out, shown
}

// directions is a field of gradients of length near 1, and their true lengths.
type directions struct {
	w            int
	x, y, length []float32
}

func newDirections(p *picture) *directions {
	d := &directions{p.w, make([]float32, len(p.v)), make([]float32, len(p.v)), make([]float32, len(p.v))}
	var sample []float64
	for y := 1; y < p.h-1; y++ {
		for x := 1; x < p.w-1; x++ {
			o := y*p.w + x
			gx, gy := p.v[o+1]-p.v[o-1], p.v[o+p.w]-p.v[o-p.w]
			l := float32(math.Sqrt(float64(gx*gx + gy*gy)))
			d.x[o], d.y[o], d.length[o] = gx, gy, l
			if o%7 == 0 && l == l {
				sample = append(sample, float64(l))
			}
		}
	}
	floor := float32(medianOf(sample) / 2)
	for i, l := range d.length {
		k := 1 / float32(math.Sqrt(float64(l*l+floor*floor)))
		if !(k > 0) {
			k = 0
		}
		d.x[i], d.y[i] = d.x[i]*k, d.y[i]*k
	}
	return d
}

// fineScore is whether a block agrees best in its place, and how much structure
// it holds: the geometric mean of both pictures' mean gradients.
type fineScore struct {
	best bool
	size float64
}

// score compares the block whose first pixel is (x, y); not ok where it is not
// wholly known.
func (d *directions) score(o *directions, x, y int) (fineScore, bool) {
	const far, diagonal = fineShift, fineShift - 1
	var s fineScore
	var sizes [2]float64
	at := func(dx, dy int) (sum float64) {
		for j := y; j < y+fineBlock; j++ {
			p, q := j*d.w+x, (j+dy)*d.w+x+dx
			for k := range fineBlock {
				sum += float64(d.x[p+k]*o.x[q+k] + d.y[p+k]*o.y[q+k])
			}
		}
		return sum
	}
	for j := y; j < y+fineBlock; j++ {
		for k := j*d.w + x; k < j*d.w+x+fineBlock; k++ {
			sizes[0] += float64(d.length[k])
			sizes[1] += float64(o.length[k])
		}
	}
	s.size = math.Sqrt(sizes[0] * sizes[1])
	here := at(0, 0)
	if !(s.size > 0) || math.IsNaN(here) {
		return s, false
	}
	s.best = here > 0
	for _, m := range [8][2]int{{far, 0}, {-far, 0}, {0, far}, {0, -far}, {diagonal, diagonal}, {-diagonal, diagonal}, {diagonal, -diagonal}, {-diagonal, -diagonal}} {
		if at(m[0], m[1]) > here {
			s.best = false
		}
	}
	return s, true
}

// Limits of what can be compared.
const (
	leastCover = 0.4 // part of the earlier picture that has to be seen in both; chosen
	// leastAlike is the part of the blocks whose fine structure has to agree.
	leastAlike = 0.5
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
