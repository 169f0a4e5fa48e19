package measure

// track is how the smooth line runs through the marks of a trace: where an
// ideal canal of a straight part and arcs explains the marks, the line takes
// its directions at the marks from it, and passes through the places where one
// piece goes over into the next. Otherwise directions come from the marks
// nearby.
type track struct {
	first    int // index of the first mark that the ideal canal explains
	tangents []vec
	knots    []knot
}

// knot is a point of the line between the marks after and after + 1.
type knot struct {
	after int
	p, t  vec
}

// newTrack finds the track of the marks: first is the index of the first mark
// of the canal proper, b the ideal canal fitted from there on, or nil.
func newTrack(first int, b *bend) track {
	if b == nil || !b.curved() || !b.explains() || b.start < 0 && b.unsettled() {
		return track{}
	}
	t := track{first: first}
	last := 0.0
	for i, q := range b.marks.p {
		s, _, _ := b.arcs.foot(q)
		_, dir := b.arcs.at(s)
		t.tangents = append(t.tangents, dir)
		if i > 0 {
			t.addKnots(b, first+i-1, last, s)
		}
		last = s
	}
	return t
}

// addKnots adds the ends of pieces that lie between the lengths from and to,
// unless a mark is practically there.
func (t *track) addKnots(b *bend, after int, from, to float64) {
	s := 0.0
	near := 1e-3 * (to - from)
	for _, c := range b.arcs[:len(b.arcs)-1] {
		if s += c.length; s > from+near && s < to-near {
			p, dir := b.arcs.at(s)
			t.knots = append(t.knots, knot{after, p, dir})
		}
	}
}

// curve returns the smooth line through p along the track; nil when p has
// fewer than two different points.
func (t track) curve(p []vec) curve {
	if t.tangents == nil {
		return openCurve(p)
	}
	dirs := make([]vec, 0, len(p)+len(t.knots))
	if t.first > 0 {
		dirs = append(dirs, tangents(p, false)[:t.first]...)
	}
	dirs = append(dirs, t.tangents...)
	c := make(curve, 0, len(p)+len(t.knots))
	knots := t.knots
	for i := range len(p) - 1 {
		from, dir := p[i], dirs[i]
		for len(knots) > 0 && knots[0].after == i {
			c = append(c, newSegment(from, knots[0].p, dir, knots[0].t))
			from, dir, knots = knots[0].p, knots[0].t, knots[1:]
		}
		c = append(c, newSegment(from, p[i+1], dir, dirs[i+1]))
	}
	return c
}
