package align

import (
	"image"
	"math"
)

// regionSide is the number of regions along the longer side of a picture.
const regionSide = 4

const (
	// mostRegionNoise is the variance, in px², of a region's mean move from which on
	// the region says nothing: open beam, or next to nothing in common.
	mostRegionNoise = 0.25
	// significantPull is the 99 % quantile of chi-square with two degrees of
	// freedom: a smaller mean move is noise, which the map's covariance has in it.
	significantPull = 9.21
)

// regions says for each part of the picture by how much the map is thought to
// miss there: the uncertainty of the map, and what the blocks of the part say
// together beyond the noise of their mean.
func (r *Result) regions(moves []move) []Region {
	nx, ny := regionSide, max(1, (regionSide*r.height+r.width/2)/r.width)
	if r.height > r.width {
		nx, ny = max(1, (regionSide*r.width+r.height/2)/r.height), regionSide
	}
	var out []Region
	for j := range ny {
		for i := range nx {
			rect := image.Rect(i*r.width/nx, j*r.height/ny, (i+1)*r.width/nx, (j+1)*r.height/ny)
			out = append(out, r.region(rect, moves))
		}
	}
	return out
}

func (r *Result) region(rect image.Rectangle, moves []move) Region {
	var a, b, c, p, q, pull float64
	g := Region{Rect: rect}
	for i := range moves {
		m := &moves[i]
		if !image.Pt(int(m.x*r.step), int(m.y*r.step)).In(rect) || m.weight*m.prior < 0.3 {
			continue
		}
		g.Blocks++
		u, v, _ := r.fit.variances(m)
		wu, wv := m.weight*m.prior/u, m.weight*m.prior/v
		rx, ry := m.dx-m.fitX, m.dy-m.fitY
		a += wu*m.cos*m.cos + wv*m.sin*m.sin
		b += (wu - wv) * m.cos * m.sin
		c += wu*m.sin*m.sin + wv*m.cos*m.cos
		ru, rv := wu*(m.cos*rx+m.sin*ry), wv*(m.cos*ry-m.sin*rx)
		p += m.cos*ru - m.sin*rv
		q += m.sin*ru + m.cos*rv
	}
	if det := a*c - b*b; g.Blocks >= 3 && det > 0 { // fewer say nothing together
		mx, my, noise := (c*p-b*q)/det, (a*q-b*p)/det, (a+c)/det
		if noise*r.step*r.step < mostRegionNoise && a*mx*mx+2*b*mx*my+c*my*my > significantPull {
			pull = max(0, mx*mx+my*my-noise) * r.step * r.step
		}
	}
	mid := rect.Min.Add(rect.Max).Div(2)
	g.Residual = math.Sqrt(2*r.variance(float64(mid.X), float64(mid.Y)) + pull)
	return g
}

// residual is the root mean square of the regions' residuals.
func (r *Result) residual() float64 {
	s, n := 0.0, 0.0
	for _, g := range r.Regions {
		s += g.Residual * g.Residual
		n++
	}
	return math.Sqrt(s / n)
}

// changed are the places whose blocks do not fit in with the others: what is
// left after the best move is far above the noise of most blocks, or they ask
// for a move of their own. Touching blocks make one rectangle.
func (r *Result) changed(t *template, moves []move) []image.Rectangle {
	noise := make([]float64, len(moves))
	for i := range moves {
		noise[i] = moves[i].noise
	}
	usual := medianOf(noise)
	var out []image.Rectangle
	half := float64(t.side) / 2 * t.step
	for i := range moves {
		m := &moves[i]
		if m.noise < 2.5*usual && m.apart < 5 { // standard deviations; chosen by trials
			continue
		}
		x, y := m.x*t.step, m.y*t.step
		out = append(out, image.Rect(int(x-half), int(y-half), int(math.Ceil(x+half)), int(math.Ceil(y+half))))
	}
	return joined(out)
}

// joined unites cells side by side, then rows of them that span the same
// columns: the rectangles cover the cells and no more.
func joined(cells []image.Rectangle) []image.Rectangle {
	beside := func(a, b image.Rectangle) bool {
		return a.Min.Y == b.Min.Y && a.Max.Y == b.Max.Y && b.Min.X <= a.Max.X && b.Max.X >= a.Max.X
	}
	under := func(a, b image.Rectangle) bool {
		return a.Min.X == b.Min.X && a.Max.X == b.Max.X && b.Min.Y <= a.Max.Y && b.Max.Y >= a.Max.Y
	}
	return united(united(cells, beside), under)
}

// united joins each rectangle with the first one that it follows.
func united(rects []image.Rectangle, follows func(a, b image.Rectangle) bool) (out []image.Rectangle) {
next:
	for _, r := range rects {
		for i := range out {
			if follows(out[i], r) {
				out[i] = out[i].Union(r)
				continue next
			}
		}
		out = append(out, r)
	}
	return out
}
