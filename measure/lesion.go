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
	s := subject{w: w, image: pic.id, of: LesionSubject(l), cautions: pic.scale.cautions, made: made{l.By}}
	defer w.volume(s, l)
	g := w.outlineGroup(pic.id, l.Outline)
	if why := outlineProblem(g.p); why != "" {
		s.none(WhatArea, pic.scale.areaUnit(), areaMethod, why)
		s.none(WhatLongestDiameter, pic.scale.lengthUnit(), longestMethod, why)
		s.none(WhatPerpendicularDiameter, pic.scale.lengthUnit(), acrossMethod, why)
		s.none(WhatEquivalentDiameter, pic.scale.lengthUnit(), equivalentMethod, why)
		return
	}
	area, longest, across := w.outlineSizes(g)
	s.add(WhatArea, pic.scale.area(area), areaMethod)
	s.add(WhatLongestDiameter, pic.scale.length(longest), longestMethod)
	s.add(WhatPerpendicularDiameter, pic.scale.length(across), acrossMethod)
	s.add(WhatEquivalentDiameter, pic.scale.length(area.ofCircle()), equivalentMethod)
	w.contrast(s, w.given.Grey[pic.id], g.p, w.stretch(pic.id))
}

// outlineSizes are the area, the longest diameter and the one across it of an
// outline, in px.
func (w *work) outlineSizes(g group) (area, longest, across estimate) {
	o := closedCurve(g.p)
	found := newDiameters(o)
	var b builder
	r := propagate(g, 3, func(p []vec, out []float64) {
		c := b.closed(p)
		out[0] = c.area()
		out[1], out[2] = found.moved(c).lengths(c)
	})
	area = r[0].widened(r[0].bias, w.source()).magnitude()
	longest, across = w.withoutExcess(r[1], r[2], o, g, found.direction(o))
	return area, longest, across
}

// outlineMarks drops marks that repeat their neighbour, the first after the
// last included.
func outlineMarks(marks []Point) []Point {
	var out []Point
	for _, m := range marks {
		if n := len(out); n == 0 || out[n-1].X != m.X || out[n-1].Y != m.Y {
			out = append(out, m)
		}
	}
	if n := len(out); n > 1 && out[0].X == out[n-1].X && out[0].Y == out[n-1].Y {
		out = out[:n-1]
	}
	return out
}

// outlineProblem says why an outline encloses no area that can be trusted.
func outlineProblem(p []vec) string {
	c := closedCurve(p)
	switch {
	case c == nil:
		return "needs three marks in different places"
	case !finite(p):
		return "a mark is not a number"
	case !finite(c.sample(2)):
		return "the marks make no smooth outline"
	case crossesItself(c.sample(5)):
		return "the outline crosses itself"
	case math.Abs(c.area()) < 1e-9:
		return "the marks enclose no area"
	}
	return ""
}

// finite reports whether all points are numbers that could be places.
func finite(p []vec) bool {
	for _, q := range p {
		if !(math.Abs(q.x) <= 10*maxPosition && math.Abs(q.y) <= 10*maxPosition && math.Abs(q.z) <= 10*maxPosition) {
			return false
		}
	}
	return true
}
