package measure

import "slices"

// circleTangent returns the unit tangent at b of the circle through a, b, c:
// the chord directions weighted by each other's length (the sines of the
// angles between tangent and chords are as the chords).
func circleTangent(a, b, c vec) vec {
	in, out := b.sub(a), c.sub(b)
	t := in.unit().mul(out.norm()).add(out.unit().mul(in.norm()))
	if t.norm() <= 1e-9*(in.norm()+out.norm()) {
		return out.unit() // the line turns back on itself: no circle
	}
	return t.unit()
}

// mirrored returns the tangent at the other end of a chord when a circular arc
// over that chord has the tangent t at one end.
func mirrored(t, chord vec) vec {
	u := chord.unit()
	return u.mul(2 * t.dot(u)).sub(t)
}

// tangents returns the unit tangents of an open line through p (at least 2
// points, no two neighbours equal).
func tangents(p []vec) []vec {
	n := len(p)
	t := make([]vec, n)
	if n == 2 {
		t[0] = p[1].sub(p[0]).unit()
		t[1] = t[0]
		return t
	}
	for i := 1; i < n-1; i++ {
		t[i] = circleTangent(p[i-1], p[i], p[i+1])
	}
	t[0] = mirrored(t[1], p[1].sub(p[0]))
	t[n-1] = mirrored(t[n-2], p[n-1].sub(p[n-2]))
	return t
}

// join makes the segments through p with the tangents t.
func join(p, t []vec) curve {
	c := make(curve, len(p)-1)
	for i := range c {
		c[i] = newSegment(p[i], p[i+1], t[i], t[i+1])
	}
	return c
}

// openCurve returns the smooth line through p; nil when p has fewer than two
// different points. Neighbours at the same place count once.
func openCurve(p []vec) curve {
	p = distinct(p)
	if len(p) < 2 {
		return nil
	}
	return join(p, tangents(p))
}

// closedCurve returns the smooth closed line through p; nil when p has fewer
// than three different points.
func closedCurve(p []vec) curve {
	p = distinct(p)
	if n := len(p); n > 1 && p[0] == p[n-1] {
		p = p[:n-1]
	}
	n := len(p)
	if n < 3 {
		return nil
	}
	t := make([]vec, n+1)
	for i := range p {
		t[i] = circleTangent(p[(i+n-1)%n], p[i], p[(i+1)%n])
	}
	t[n] = t[0]
	return join(append(p[:n:n], p[0]), t)
}

// distinct drops points that repeat their neighbour.
func distinct(p []vec) []vec {
	out := make([]vec, 0, len(p)+1)
	for i, q := range p {
		if i == 0 || q != out[len(out)-1] {
			out = append(out, q)
		}
	}
	return out
}

// drawn is the number of points per segment that make a line look smooth.
const drawn = 12

// CentreLine returns points along the smooth line through the marks of a
// trace, in pixels, close enough to draw it. It is the line whose length
// [Compute] gives. Fewer than two different marks are returned as they are.
func CentreLine(marks []Point) []Point {
	c := openCurve(vecs(marks))
	if c == nil {
		return slices.Clone(marks)
	}
	return points(c.sample(drawn))
}

// ClosedOutline returns points along the smooth closed line through the marks
// of an outline, in pixels, close enough to draw it; the first is not
// repeated. Fewer than three different marks are returned as they are.
func ClosedOutline(marks []Point) []Point {
	c := closedCurve(vecs(marks))
	if c == nil {
		return slices.Clone(marks)
	}
	p := c.sample(drawn)
	return points(p[:len(p)-1])
}

func points(v []vec) []Point {
	out := make([]Point, len(v))
	for i, p := range v {
		out[i] = Pt(p.x, p.y)
	}
	return out
}
