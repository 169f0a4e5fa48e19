package measure

// SchneiderFigure is what Schneider's angle of a canal is read off, for drawing
// it: the long axis of the coronal part, from From through Leave, where the
// canal leaves it, on to To, and the line from Leave to the apex. The angle is
// that at Leave between To and Apex.
type SchneiderFigure struct {
	From, Leave, To, Apex Point
}

// NewSchneiderFigure returns the construction of Schneider's angle for a canal
// with square pixels, and false where the angle has none: the marks are too
// few, no curve shows in them, or they leave open where it starts.
func NewSchneiderFigure(c Canal) (SchneiderFigure, bool) {
	g := group{p: vecs(c.Marks), u: make([]float64, len(c.Marks)), dims: 2}
	for i, m := range c.Marks {
		g.u[i] = m.StdUnc()
	}
	l := newLine(g, c)
	if l == nil {
		return SchneiderFigure{}, false
	}
	orifice, apex := g.p[l.orifice], g.p[len(g.p)-1]
	var leave, along vec
	switch {
	case l.start >= 0:
		leave, along = g.p[l.start], axis(g.p[l.orifice:l.start+1])
	case l.b != nil && !l.b.open() && l.b.curved():
		leave, along = l.b.arcs[1].p, l.b.arcs[0].t
	default:
		return SchneiderFigure{}, false
	}
	from := leave.sub(along.mul(leave.sub(orifice).dot(along)))
	to := leave.add(along.mul(apex.sub(leave).norm()))
	point := func(v vec) Point { return Pt(v.x, v.y) }
	return SchneiderFigure{point(from), point(leave), point(to), point(apex)}, true
}
