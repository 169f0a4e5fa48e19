package measure

// canal adds the findings of one canal on one image.
func (w *work) canal(pic *picture, c Canal) {
	g := w.group(pic.id, c.Marks)
	s := subject{w: w, image: pic.id, of: CanalSubject(c), cautions: pic.scale.cautionsFor(direction(g.p), c.Tooth)}
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
	return propagate1(g, func(p []vec) float64 { return t.curve(p).length() }).corrected(w.source())
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
