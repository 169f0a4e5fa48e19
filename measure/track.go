package measure

import (
	"math"
	"slices"
)

// track is how the smooth line runs through the marks of a trace: where an
// ideal canal of a straight part and arcs explains the marks, the line takes
// its directions at the marks from it, and passes through the places where one
// piece goes over into the next. Otherwise directions come from the marks
// nearby.
type track struct {
	first    int // index of the first mark that the ideal canal explains
	tangents []vec
	feet     []vec // the places of the ideal canal closest to the marks
	knots    []knot
	// unrest is the share, 0 to 1, of their claimed variance that the marks show
	// about the ideal canal.
	unrest float64
}

// knot is a point of the line between the marks after and after + 1.
type knot struct {
	after int
	p, t  vec
}

// newTrack finds the track of the marks: first is the index of the first mark
// of the canal proper, b the ideal canal fitted from there on, or nil.
func newTrack(first int, b *bend) track {
	if !b.settled() {
		if b != nil {
			if t, ok := straightTrack(first, b.marks); ok {
				return t
			}
		}
		return track{}
	}
	t := track{first: first, unrest: 1}
	if b.dof() > 0 {
		t.unrest = math.Min(b.chi2/float64(b.dof()), 1)
	}
	last := 0.0
	for i, q := range b.marks.p {
		s := b.arcs.along(q)
		foot, dir := b.arcs.at(s)
		t.tangents, t.feet = append(t.tangents, dir), append(t.feet, foot)
		if i > 0 {
			t.addKnots(b, first+i-1, last, s)
		}
		last = s
	}
	return t
}

// settled reports whether a line may follow the bend: it is curved, explains
// the marks, and the marks say where its curve starts.
func (b *bend) settled() bool {
	switch {
	case b == nil || b.lost:
		return false
	case b.exact():
		return b.arcs[0].length > 0
	}
	return b.curved() && b.explains() && (b.start >= 0 || !b.unsettled())
}

// trackOf finds the track of an instrument, which may be marked from either
// end: of two ideal canals, one from each, the one closer to the marks counts.
func trackOf(g group) track {
	n := len(g.p)
	if t, ok := straightTrack(0, g); ok { // as instruments beside a tooth often are
		return t
	}
	back := group{p: slices.Clone(g.p), u: slices.Clone(g.u), dims: g.dims}
	slices.Reverse(back.p)
	slices.Reverse(back.u)
	forth, other := fitBend(g, -1), fitBend(back, -1)
	if !other.settled() || forth.settled() && forth.chi2 <= other.chi2 {
		return newTrack(0, forth)
	}
	t := newTrack(0, other)
	slices.Reverse(t.tangents)
	slices.Reverse(t.feet)
	slices.Reverse(t.knots)
	for i := range t.tangents {
		t.tangents[i] = t.tangents[i].mul(-1)
	}
	for i, k := range t.knots {
		t.knots[i] = knot{n - 2 - k.after, k.p, k.t.mul(-1)}
	}
	return t
}

// straightTrack is the track of marks that lie on a straight line within their
// uncertainty; ok is false for others, and for fewer than three.
func straightTrack(first int, g group) (t track, ok bool) {
	n := len(g.p)
	if n < 3 {
		return track{}, false
	}
	var mean vec
	for _, q := range g.p {
		mean = mean.add(q.mul(1 / float64(n)))
	}
	dir, chi2 := axis(g.p), 0.0
	t.first = first
	for i, q := range g.p {
		foot := mean.add(dir.mul(q.sub(mean).dot(dir)))
		off := q.dist(foot) / g.u[i]
		chi2 += off * off
		t.tangents, t.feet = append(t.tangents, dir), append(t.feet, foot)
	}
	dof := (n - 2) * (g.dims - 1)
	t.unrest = math.Min(chi2/float64(dof), 1)
	return t, chance(chi2, dof) > 0.05
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
func (t track) curve(p []vec) curve { return t.built(new(builder), p) }

// built is curve in the memory of a builder.
func (t track) built(b *builder, p []vec) curve {
	if t.tangents == nil {
		return b.open(p)
	}
	dirs := t.tangents
	if t.first > 0 {
		dirs = b.tangents(p, false)
		copy(dirs[t.first:], t.tangents)
	}
	b.c = t.through(p, dirs, slices.Grow(b.c[:0], len(p)+len(t.knots)))
	return b.c
}

// through appends the segments through p with the directions dirs to c.
func (t track) through(p, dirs []vec, c curve) curve {
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
	cum           []float64 // lengths to the starts of the segments, and to the end
	begin, length float64   // length to the orifice, and to the apex
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
	l.cum = l.c.cumulative()
	l.begin = l.cum[min(l.segmentAfter(l.orifice), len(l.c))]
	l.length = l.cum[len(l.c)]
	return l
}

// segmentAt returns the segment, and the parameter in it, at the length s from
// the start.
func (l *line) segmentAt(s float64) (i int, t float64) {
	for i < len(l.c)-1 && s > l.cum[i+1] {
		i++
	}
	return i, l.c[i].atLength(s - l.cum[i])
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
