package measure

import "math"

// canal adds the findings of one canal on one image.
func (w *work) canal(pic *picture, c Canal) {
	g := w.group(pic.id, c.Marks)
	s := subject{w: w, image: pic.id, of: CanalSubject(c), cautions: pic.scale.cautionsFor(direction(g.p), c.Tooth), made: made{c.By}}
	l := newLine(g, c)
	w.traced(s, pic.scale, l)
	if l != nil {
		pic.canals = append(pic.canals, l)
	}
}

// traced adds the findings of one canal, on an image or in a volume, from its
// line, which is nil where the marks make none.
func (w *work) traced(s subject, sc scale, l *line) {
	if l == nil {
		s.none(WhatLength, sc.lengthUnit(), lengthMethod, "needs two marks in different places")
		return
	}
	w.canalLength(s, sc, w.traceLength(l.g, l.t), l.Canal)
	w.curvature(s, sc, l.g, l.orifice, l.start, l.b)
}

// direction is from the first to the last of the points.
func direction(p []vec) vec {
	if len(p) < 2 {
		return vec{}
	}
	return p[len(p)-1].sub(p[0]).unit()
}

// startMark returns the index of the mark at which the curve starts: the one
// that is marked so, or the middle one of three marks from the orifice on,
// which is Schneider's own construction. Negative: none.
func startMark(c Canal, orifice int) int {
	last := len(c.Marks) - 1
	switch {
	case c.CurveStart != nil && *c.CurveStart > orifice && *c.CurveStart < last:
		return *c.CurveStart
	case c.CurveStart == nil && orifice == last-2:
		return orifice + 1
	}
	return -1
}

// traceLength is the length in px of the smooth line through the marks along a
// track.
func (w *work) traceLength(g group, t track) estimate {
	// Derivatives are taken where the marks would lie without their noise: among
	// marks close to each other noise makes slopes of its own.
	smooth := g
	smooth.p = append(append([]vec{}, g.p[:len(g.p)-len(t.feet)]...), t.feet...)
	var b builder
	l := propagate1(smooth, func(p []vec) float64 { return t.built(&b, p).quickLength() })
	l.v = t.curve(g.p).length()
	if t.tangents != nil {
		l.bias *= t.unrest
	} else {
		l.bias *= g.unrest()
	}
	return l.corrected(w.source())
}

// unrest is the share, 0 to 1, of their claimed variance that the marks of a
// line show: their distances from the cubic through two neighbours on each
// side. Widely spaced marks on a bend show 1; it is marks close to each other
// whose noise lengthens a line, unless they lie truer than they claim.
func (g group) unrest() float64 {
	n := len(g.p)
	if n < 7 {
		return 1
	}
	sum := 0.0
	for i := 2; i < n-2; i++ {
		at, claimed := vec{}, g.u[i]*g.u[i]
		here := g.p[i-2].dist(g.p[i-1]) + g.p[i-1].dist(g.p[i])
		var s [5]float64
		for k := 1; k < 5; k++ {
			s[k] = s[k-1] + g.p[i-3+k].dist(g.p[i-2+k])
		}
		for k := range s {
			if k == 2 {
				continue
			}
			weight := 1.0
			for j := range s {
				if j != k && j != 2 {
					weight *= (here - s[j]) / (s[k] - s[j])
				}
			}
			at = at.add(g.p[i-2+k].mul(weight))
			claimed += weight * weight * g.u[i-2+k] * g.u[i-2+k]
		}
		// Only the error across the line shows, one direction fewer than there are.
		d := at.sub(g.p[i])
		along := g.p[i+1].sub(g.p[i-1]).unit()
		d = d.sub(along.mul(d.dot(along)))
		sum += d.dot(d) / (claimed * float64(g.dims-1))
	}
	return math.Min(sum/float64(n-4), 1)
}

// axis returns the direction of the straight line closest to p (least squares
// of the perpendicular distances), from the first to the last point: the
// eigenvector of the largest eigenvalue of the scatter matrix, by the power
// method, which converges at once for marks that are nearly in line.
func axis(p []vec) vec {
	dir := direction(p)
	if len(p) < 3 {
		return dir
	}
	var mean vec
	for _, q := range p {
		mean = mean.add(q.mul(1 / float64(len(p))))
	}
	for range 100 {
		var next vec
		for _, q := range p {
			d := q.sub(mean)
			next = next.add(d.mul(d.dot(dir)))
		}
		next = next.unit()
		change := next.dist(dir)
		if dir = next; change < 1e-15 {
			break
		}
	}
	return dir
}
