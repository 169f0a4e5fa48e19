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
	dirs := make([]vec, 0, len(p))
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

// line is the smooth line of a canal with the marks it comes from.
type line struct {
	Canal
	g             group
	orifice       int
	start         int   // index of the mark at which the curve starts, or −1
	b             *bend // the ideal canal from the orifice on; nil: none
	t             track
	c             curve
	begin, length float64 // length to the orifice, and to the apex
}

// newLine finds the line of a canal; nil when its marks make none.
func newLine(g group, c Canal) *line {
	if openCurve(g.p) == nil || !finite(g.p) {
		return nil
	}
	l := &line{Canal: c, g: g, orifice: min(max(c.Orifice, 0), len(g.p)-2)}
	l.start = startMark(c, l.orifice)
	l.b = fitBend(g.from(l.orifice), l.start-l.orifice)
	l.t = newTrack(l.orifice, l.b)
	l.c = l.t.curve(g.p)
	s := 0.0
	for i, seg := range l.c {
		if i == l.segmentAfter(l.orifice) {
			l.begin = s
		}
		s += seg.length(0, 1)
	}
	l.length = s
	return l
}

// segmentAfter is the index of the segment that begins at a mark.
func (l *line) segmentAfter(mark int) int {
	n := mark
	for _, k := range l.t.knots {
		if k.after < mark {
			n++
		}
	}
	return n
}

// marksOf returns the marks at the ends of segment i; −1 for an end that is
// no mark but a knot.
func (l *line) marksOf(i int) [2]int {
	mark, inside := 0, 0 // the mark before the segment, knots passed since
	for range i {
		if l.knotsAfter(mark) > inside {
			inside++
		} else {
			mark, inside = mark+1, 0
		}
	}
	out := [2]int{mark, mark + 1}
	if inside > 0 {
		out[0] = -1
	}
	if l.knotsAfter(mark) > inside {
		out[1] = -1
	}
	return out
}

func (l *line) knotsAfter(mark int) int {
	n := 0
	for _, k := range l.t.knots {
		if k.after == mark {
			n++
		}
	}
	return n
}
