package align

import (
	"cmp"
	"math"
	"slices"
)

// The search without marks: turns, scales and shifts that are tried. They go
// beyond what two exposures with a holder differ by; marks help beyond.
const (
	turnReach  = 12.0 // degrees
	turnStep   = 4.0
	scaleReach = 0.16
	scaleStep  = 0.08
	shiftReach = 0.25 // of the longer side
	sparse     = 220  // edge points of the later picture
	kept       = 5    // best starts that are refined at first
	keptLater  = 15   // and where none of these leads to a match
)

// edges is a picture's field of edge directions: the gradient divided by its
// length, so that contrast does not matter (normalised gradients, Haber &
// Modersitzki 2006, MICCAI, LNCS 4191:726–733), surrounded by a border of zeros.
type edges struct {
	w, h, pad int
	gx, gy    []float32
	size      []float32 // length of the gradient, without the border
}

func newEdges(p *picture, pad int) *edges {
	e := &edges{w: p.w + 2*pad, h: p.h + 2*pad, pad: pad}
	e.gx, e.gy = make([]float32, e.w*e.h), make([]float32, e.w*e.h)
	e.size = make([]float32, p.w*p.h)
	sum, n := 0.0, 0
	for y := 1; y < p.h-1; y++ {
		for x := 1; x < p.w-1; x++ {
			o := y*p.w + x
			dx, dy := p.v[o+1]-p.v[o-1], p.v[o+p.w]-p.v[o-p.w]
			s := float32(math.Hypot(float64(dx), float64(dy)))
			if s != s {
				continue
			}
			e.size[o] = s
			i := (y+pad)*e.w + x + pad
			e.gx[i], e.gy[i] = dx, dy
			sum += float64(s)
			n++
		}
	}
	floor := float32(0.5 * sum / float64(max(n, 1))) // half the mean: below it is mostly texture
	for i := range e.gx {
		if k := e.gx[i]*e.gx[i] + e.gy[i]*e.gy[i]; k > 0 {
			l := 1 / float32(math.Sqrt(float64(k+floor*floor)))
			e.gx[i] *= l
			e.gy[i] *= l
		}
	}
	return e
}

// edgePoint is a place with its direction.
type edgePoint struct{ x, y, gx, gy float64 }

// points are the strongest edges, spread over the picture: the best of each
// cell first, then the second best of each, and so on.
func (e *edges) points(w, h int) []edgePoint {
	const cell = 6 // px
	type ranked struct {
		rank int
		size float32
		at   int
	}
	var all []ranked
	for cy := 0; cy < h; cy += cell {
		for cx := 0; cx < w; cx += cell {
			var in []ranked
			for y := cy; y < min(cy+cell, h); y++ {
				for x := cx; x < min(cx+cell, w); x++ {
					if s := e.size[y*w+x]; s > 0 {
						in = append(in, ranked{0, s, y*w + x})
					}
				}
			}
			slices.SortFunc(in, func(a, b ranked) int { return cmp.Compare(b.size, a.size) })
			for i := range in[:min(3, len(in))] {
				in[i].rank = i
				all = append(all, in[i])
			}
		}
	}
	slices.SortStableFunc(all, func(a, b ranked) int { return cmp.Compare(b.size, a.size) })
	out := make([]edgePoint, 0, sparse)
	for _, r := range all[:min(sparse, len(all))] {
		x, y := r.at%w, r.at/w
		i := (y+e.pad)*e.w + x + e.pad
		out = append(out, edgePoint{float64(x), float64(y), float64(e.gx[i]), float64(e.gy[i])})
	}
	return out
}

// start is a map from the earlier to the later picture, at one resolution,
// and how well the edges agree.
type start struct {
	h     homography
	score float64
}

// search finds the best starts, best first, between pictures at their coarsest
// resolution, about a scale that takes sizes after to sizes before.
func search(before, after *picture, about float64) []start {
	reach := int(shiftReach * float64(max(before.w, before.h)))
	pad := reach + int(about*0.25*float64(max(after.w, after.h)))
	field := newEdges(before, pad)
	points := newEdges(after, 0).points(after.w, after.h)
	var all []start
	for turn := -turnReach; turn <= turnReach; turn += turnStep {
		for scale := 1 - scaleReach; scale < 1+scaleReach+1e-9; scale += scaleStep {
			all = append(all, field.shifts(before, after, points, turn*math.Pi/180, about*scale, reach)...)
		}
	}
	slices.SortFunc(all, func(a, b start) int { return cmp.Compare(b.score, a.score) })
	return all[:min(kept+keptLater, len(all))]
}

// shifts tries all shifts of one turn and scale, and returns the best one.
func (e *edges) shifts(before, after *picture, points []edgePoint, turn, scale float64, reach int) []start {
	sin, cos := math.Sincos(turn)
	a := homography{{scale * cos, -scale * sin, 0}, {scale * sin, scale * cos, 0}, {0, 0, 1}}
	cx, cy := float64(after.w-1)/2, float64(after.h-1)/2
	bx, by := float64(before.w-1)/2, float64(before.h-1)/2
	a[0][2], a[1][2] = bx-a[0][0]*cx-a[0][1]*cy, by-a[1][0]*cx-a[1][1]*cy
	at := make([]int, 0, len(points))
	gx, gy := make([]float32, 0, len(points)), make([]float32, 0, len(points))
	for _, p := range points {
		u, v, _ := a.apply(p.x, p.y)
		i, j := int(math.Round(u))+e.pad, int(math.Round(v))+e.pad
		if i < reach || j < reach || i >= e.w-reach || j >= e.h-reach {
			continue
		}
		at = append(at, j*e.w+i)
		gx, gy = append(gx, float32(cos*p.gx-sin*p.gy)), append(gy, float32(sin*p.gx+cos*p.gy))
	}
	sum := func(dx, dy int) float32 {
		o, s := dy*e.w+dx, float32(0)
		for k, i := range at {
			s += e.gx[i+o]*gx[k] + e.gy[i+o]*gy[k]
		}
		return s
	}
	best, mx, my := float32(-1), 0, 0
	for dy := -reach; dy <= reach; dy += 2 {
		for dx := -reach; dx <= reach; dx += 2 {
			if s := sum(dx, dy); s > best {
				best, mx, my = s, dx, dy
			}
		}
	}
	ox, oy := mx, my
	for dy := oy - 1; dy <= oy+1; dy++ {
		for dx := ox - 1; dx <= ox+1; dx++ {
			if dx < -reach || dy < -reach || dx > reach || dy > reach {
				continue
			}
			if s := sum(dx, dy); s > best {
				best, mx, my = s, dx, dy
			}
		}
	}
	a[0][2] += float64(mx)
	a[1][2] += float64(my)
	return []start{{a.inverse(), float64(best)}}
}
