package outline

import "math"

// traced is a candidate followed up to a contour at the steepest edge.
type traced struct {
	found
	contour
	edges
	shape  series        // of the offset still to go, relative to the radius on each ray
	weight [rays]float64 // of each ray in the last fit, 0–1
	spread float64       // robust standard deviation of the offsets about the contour, px
}

// approach turns an ellipse into a contour by least-cost paths in narrowing
// rings, the last ones on a finer level. It reports whether there is one.
func (p *pyramid) approach(f found) (t traced, ok bool) {
	t = traced{found: f, contour: newContour(f.ellipse)}
	for i, r := range []ring{{0.6, 1.6}, {0.7, 1.4}, {0.8, 1.25}} {
		pl := &p.planes[max(f.level-min(i, 1), 0)]
		size := int(1.8*math.Max(t.frame.a.norm(), t.frame.b.norm())/pl.step) + 8
		s := newSlopes(pl.around(t.frame.c.x, t.frame.c.y, size))
		if !t.smoothTo(s.path(t.contour, r, s.typical(&t.contour))) {
			return t, false
		}
	}
	return t, true
}

// settle moves a contour to the steepest edge by edge models. It says what is
// wrong where that fails.
func (p *pyramid) settle(t *traced) (problem string) {
	for i := range 6 {
		before := &t.edges
		if i == 0 || i == 3 { // once more, from the better contour
			before = nil
		}
		t.edges = p.levelFor(t.frame.minor()).measureEdges(&t.contour, before)
		if t.missing > rays/6 {
			return "the dark region is open to the border of the picture"
		}
		if !t.adjust(nil) {
			return noLine
		}
	}
	return ""
}

const noLine = "the edges around it make no closed line"

// levelFor is the plane on which a contour of that radius is measured.
func (p *pyramid) levelFor(minor float64) *plane {
	l := 0
	for l+1 < levels && minor/p.planes[l+1].step >= 24 {
		l++
	}
	return &p.planes[l]
}

// typical is the slope that counts as a full edge on a contour: the mean of
// the middle part, as in the search.
func (s *slopes) typical(c *contour) float64 {
	var g [rays]float64
	for k, n := range c.normals() {
		p := c.point(k)
		g[k] = s.along(p.x, p.y, n.x, n.y)
	}
	insertionSort(g[:])
	sum := 0.0
	for _, v := range g[rays/6 : rays*5/8] {
		sum += v
	}
	return math.Max(sum/(rays*5/8-rays/6), 1e-6)
}

// smoothTo replaces the contour by a smooth one through a path.
func (t *traced) smoothTo(rho [rays]float64) bool {
	var w [rays]float64
	fit := t.rho
	for range 4 {
		res := make([]float64, rays)
		for k := range res {
			res[k] = rho[k] - fit[k]
		}
		spread := math.Max(1.4826*medianDistance(res, 0), 0.02)
		for k := range w {
			w[k] = tukey(res[k]/(4*spread)) / (8 * spread * spread)
		}
		s := fitSeries(rho[:], w[:], 6, prior{0.06, 2})
		fit = s.all()
	}
	return t.reshape(fit)
}

// reshape takes on new distances and moves the frame along.
func (t *traced) reshape(rho [rays]float64) bool {
	for _, r := range rho {
		if !(r > 0.2 && r < 4) {
			return false
		}
	}
	t.rho = rho
	c, ok := reframed(t.dense(4))
	if !ok || c.frame.minor() < 2 || c.frame.radius() > 1.3*largest {
		return false
	}
	t.contour = c
	return true
}

// adjust moves the contour to the edges just measured, as far as they agree on
// a smooth line, and through the pins, if any.
func (t *traced) adjust(pins []vec) bool {
	var y, w, fit [rays]float64
	lean := make([]float64, rays) // px of offset per unit of rho
	for k := range lean {
		lean[k] = t.ray(k).dot(t.normal[k])
		y[k] = t.rho[k] + t.offset[k]/lean[k]
		fit[k] = 1
	}
	t.chain = math.Max(t.chain, 1)
	for pass := range passes {
		res := make([]float64, 0, rays)
		for k := range y {
			if !t.lost[k] {
				res = append(res, (y[k]-fit[k])*lean[k])
			}
		}
		t.spread = math.Max(1.4826*medianDistance(res, 0), 0.02*t.step)
		limit := limitOf(t.spread, t.texture, pass, passes)
		for k := range w {
			t.weight[k] = 0
			if !t.lost[k] {
				t.weight[k] = tukey((y[k]-fit[k])*lean[k]/limit) * plausible(t.contrast[k]/t.steady[k])
			}
		}
		for k := range w {
			u := math.Max(t.texture, math.Min(t.spread, 2*t.texture)) / lean[k]
			w[k] = t.weight[k] / (u * u * t.chain)
		}
		t.pinned(pins, &y, &w)
		if pass < passes-3 { // first against an ellipse, so that a spur stands out
			t.shape = fitSeries(y[:], w[:], order, shapes[0])
		} else {
			t.shape = fitShape(y[:], w[:])
		}
		fit = t.shape.all()
	}
	t.through(pins, &fit)
	return t.reshape(fit)
}

// passes is how often a contour's fit is repeated with new weights.
const passes = 7

// limitOf is how far from the line, in px, an edge still counts: 3.5 standard
// deviations of the edges about it, or of what the texture makes of them, at
// the last pass, and up to three times as far before, so that a dent of the
// lesion isn't taken for something foreign while the line is still too round.
func limitOf(spread, texture float64, pass, passes int) float64 {
	return 3.5 * math.Max(spread, texture) * (1 + 2*float64(passes-1-pass)/float64(passes-1))
}

// plausible is the weight of an edge by its contrast over that of the others:
// a root's or a filling's edge is stronger, one that is hidden is weaker.
func plausible(q float64) float64 {
	return tukey((math.Max(q, 1)-1)/2) * math.Min(math.Max(q, 0), 1)
}

// chain returns 1 + 2 Σ r, the r being the autocorrelations of the residuals up
// to the first that is not positive: so many neighbouring rays count as one
// (Bartlett's formula for the variance of a mean of correlated values).
func chain(y, fit, w [rays]float64) float64 {
	at := func(lag int) (sum float64) {
		for k := range y {
			j := (k + lag) % rays
			sum += w[k] * w[j] * (y[k] - fit[k]) * (y[j] - fit[j])
		}
		return sum
	}
	zero := at(0)
	if zero == 0 {
		return 1
	}
	sum := 1.0
	for lag := 1; lag < rays/6; lag++ {
		r := at(lag) / zero
		if r <= 0 {
			break
		}
		sum += 2 * r
	}
	return sum
}
