package measure

import "math"

const (
	areaMethod       = "area inside the smooth outline"
	equivalentMethod = "diameter of the circle of the same area"
	longestMethod    = "longest distance between two points of the outline"
	acrossMethod     = "longest chord of the outline at a right angle to the longest diameter"
)

// lesion adds the findings of one outline.
func (w *work) lesion(pic *picture, l Lesion) {
	s := subject{w: w, image: pic.id, of: LesionSubject(l), cautions: pic.scale.cautions}
	g := w.group(l.Outline)
	if why := outlineProblem(g.p); why != "" {
		s.none(WhatArea, pic.scale.areaUnit(), areaMethod, why)
		s.none(WhatLongestDiameter, pic.scale.lengthUnit(), longestMethod, why)
		s.none(WhatPerpendicularDiameter, pic.scale.lengthUnit(), acrossMethod, why)
		s.none(WhatEquivalentDiameter, pic.scale.lengthUnit(), equivalentMethod, why)
		return
	}
	r := propagate(g, 3, func(p []vec, out []float64) {
		c := closedCurve(p)
		out[0] = c.area()
		out[1], out[2] = c.diameters()
	})
	area := r[0].corrected(w.source())
	if area.v < 0 {
		area = area.scaled(-1)
	}
	s.add(WhatArea, pic.scale.area(area), areaMethod)
	s.add(WhatLongestDiameter, pic.scale.length(r[1].estimate), longestMethod)
	s.add(WhatPerpendicularDiameter, pic.scale.length(r[2].estimate), acrossMethod)
	d := 2 * math.Sqrt(area.v/math.Pi)
	s.add(WhatEquivalentDiameter, pic.scale.length(area.through(d, d/(2*area.v))), equivalentMethod)
}

// outlineProblem says why an outline encloses no area that can be trusted.
func outlineProblem(p []vec) string {
	c := closedCurve(p)
	switch {
	case c == nil:
		return "needs three marks in different places"
	case !finite(p):
		return "a mark is not a number"
	case crossesItself(c.sample(4)):
		return "the outline crosses itself"
	case math.Abs(c.area()) < 1e-9:
		return "the marks enclose no area"
	}
	return ""
}

func finite(p []vec) bool {
	for _, q := range p {
		if !q.finite() {
			return false
		}
	}
	return true
}

// crossesItself reports whether two edges of the closed polygon p, whose last
// point repeats the first, cross.
func crossesItself(p []vec) bool {
	n := len(p) - 1
	for i := range n {
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			if cross(p[i], p[i+1], p[j], p[j+1]) {
				return true
			}
		}
	}
	return false
}

// cross reports whether the segments ab and cd cross at an inner point.
func cross(a, b, c, d vec) bool {
	side := func(p, q, r vec) float64 { return q.sub(p).cross(r.sub(p)).z }
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// area returns the signed area of a closed curve.
func (c curve) area() float64 {
	sum := 0.0
	if len(c) == 0 {
		return 0
	}
	o := c[0].p0 // a near origin keeps the digits
	for _, s := range c {
		s.p0, s.p1 = s.p0.sub(o), s.p1.sub(o)
		sum += s.area()
	}
	return sum
}

// perSegment is the number of points per segment between which diameters are
// searched before they are refined.
const perSegment = 6

// diameters returns the longest distance between two points of a closed
// curve, and the longest chord at a right angle to it.
func (c curve) diameters() (longest, across float64) {
	p := c.sample(perSegment)
	p = p[:len(p)-1]
	i, j := farthest(p)
	a, b := c.refineChord(i, j)
	longest = a.dist(b)
	across = longestChord(c.sample(4*perSegment), b.sub(a).unit())
	return longest, across
}

// farthest returns the indices of the two points farthest from each other.
func farthest(p []vec) (int, int) {
	bi, bj, best := 0, 0, -1.0
	for i := range p {
		for j := i + 1; j < len(p); j++ {
			d := p[i].sub(p[j])
			if q := d.dot(d); q > best {
				bi, bj, best = i, j, q
			}
		}
	}
	return bi, bj
}

// refineChord moves both ends of a chord between sampled points along the
// curve until it is longest.
func (c curve) refineChord(i, j int) (a, b vec) {
	s, t := float64(i)/perSegment, float64(j)/perSegment
	for range 4 {
		s = c.farthestFrom(c.param(t), s)
		t = c.farthestFrom(c.param(s), t)
	}
	return c.param(s), c.param(t)
}

// param returns the point of a closed curve at a parameter counted in segments.
func (c curve) param(t float64) vec {
	n := float64(len(c))
	t = math.Mod(math.Mod(t, n)+n, n)
	i := min(int(t), len(c)-1)
	return c[i].at(t - float64(i))
}

// farthestFrom returns the parameter near t at which the curve is farthest
// from q, by golden section over one sampling step each way.
func (c curve) farthestFrom(q vec, t float64) float64 {
	const g = 0.6180339887498949
	lo, hi := t-1.0/perSegment, t+1.0/perSegment
	f := func(t float64) float64 { return q.dist(c.param(t)) }
	x, y := hi-g*(hi-lo), lo+g*(hi-lo)
	fx, fy := f(x), f(y)
	for range 25 {
		if fx > fy {
			hi, y, fy = y, x, fx
			x = hi - g*(hi-lo)
			fx = f(x)
		} else {
			lo, x, fx = x, y, fy
			y = lo + g*(hi-lo)
			fy = f(y)
		}
	}
	return (lo + hi) / 2
}

// longestChord returns the longest chord of the closed polygon p at a right
// angle to dir.
func longestChord(p []vec, dir vec) float64 {
	best := 0.0
	for _, q := range p {
		best = math.Max(best, chordThrough(p, q, dir))
	}
	return best
}

// chordThrough returns the extent of the polygon along the line through q at
// a right angle to dir.
func chordThrough(p []vec, q, dir vec) float64 {
	normal := dir.left()
	level := q.dot(dir)
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range len(p) - 1 {
		a, b := p[i].dot(dir)-level, p[i+1].dot(dir)-level
		if a*b > 0 || a == b {
			continue
		}
		x := p[i].lerp(p[i+1], a/(a-b)).dot(normal)
		lo, hi = math.Min(lo, x), math.Max(hi, x)
	}
	return math.Max(hi-lo, 0)
}
