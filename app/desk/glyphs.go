package desk

import (
	"math"

	"rootrule/app/desk/ink"
	"rootrule/measure"
)

// corners are the marks of an outline: small open squares.
func (s scribe) corners(d drawn) {
	if !d.bold {
		return
	}
	for _, m := range d.marks[:max(0, len(d.marks)-d.hanging)] {
		s.square(d, m, 3.5)
	}
}

func (s scribe) square(d drawn, m ink.Point, half float64) {
	r := half * s.unit
	s.sheet.Line(s.pen(1.4, d.colour), m.Plus(-r, -r), m.Plus(r, -r), m.Plus(r, r), m.Plus(-r, r), m.Plus(-r, -r))
}

// rings are the marks from one number to another, as small rings.
func (s scribe) rings(d drawn, from, to int) {
	if !d.bold {
		return
	}
	last := ink.Point{X: math.Inf(-1)}
	for i := from; i < to; i++ {
		if m := d.marks[i]; math.Hypot(m.X-last.X, m.Y-last.Y) > ringApart*s.unit {
			s.sheet.Ring(s.pen(1.4, d.colour), m, 3.5*s.unit)
			last = m
		}
	}
}

// ringApart is how far apart the rings of marks are at least, in logical pixels:
// closer they hide the line. Each mark can be taken hold of all the same.
const ringApart = 14

// ends are the marks of a calibration: a tick across each end, rings between.
func (s scribe) ends(d drawn) {
	pen, n := s.pen(2.2, d.colour), len(d.line)
	s.across(pen, d.line[0], d.line[1], 9)
	if d.hanging == 0 {
		s.across(pen, d.line[n-1], d.line[n-2], 9)
	}
	s.rings(d, 1, len(d.marks)-1)
}

// stations are the marks of a canal: a bar at the coronal reference point, a
// diamond at the orifice, a bar across where the curve was said to start, rings
// along the canal, and an open triangle that stands beyond the apex with its
// tip on it, so that the apex stays in sight.
func (s scribe) stations(c measure.Canal, d drawn) {
	if c.Orifice > 0 {
		s.across(s.pen(2.6, d.colour), d.line[0], d.line[1], 12)
	}
	for i := range len(d.marks) - max(d.hanging, 1) {
		switch {
		case i == c.Orifice:
			s.diamond(d, d.marks[i])
		case isStart(c, i):
			s.square(d, d.marks[i], 5)
		}
	}
	s.rings(d, 1, c.Orifice)
	s.rings(d, c.Orifice+1, len(d.marks)-max(d.hanging, 1))
	if n := len(d.line); d.hanging == 0 {
		s.triangle(d, d.line[n-1], d.line[n-2])
	}
}

// filling is a root filling: a bar with two feet at its end, a thin line to
// the triangle of the apex, and its widths as bars with a tick at each edge.
func (s scribe) filling(d drawn) {
	tip, apex := d.line[0], d.line[1]
	pen := s.pen(2.2, d.colour)
	dx, dy := direction(apex, tip)
	h := 9 * s.unit
	left, right := tip.Plus(-dy*h, dx*h), tip.Plus(dy*h, -dx*h)
	s.sheet.Line(pen, left.Plus(dx*h, dy*h), left, right, right.Plus(dx*h, dy*h))
	s.sheet.Dashes(s.pen(1.4, d.colour), 3*s.unit, 4*s.unit, tip, apex)
	if d.hanging == 0 {
		s.triangle(d, apex, tip)
	}
	for i := 2; i+1 < len(d.marks); i += 2 {
		a, b := d.marks[i], d.marks[i+1]
		s.sheet.Line(s.pen(1.4, d.colour), a, b)
		s.across(s.pen(1.8, d.colour), a, b, 4)
		s.across(s.pen(1.8, d.colour), b, a, 4)
	}
}

// obstruction is something in a canal: a cross at its coronal end, a bar at its
// apical end, rings for the marks on the root surface beside it, of which n
// marks along it come first.
func (s scribe) obstruction(d drawn, n int) {
	pen, r := s.pen(2.2, d.colour), 6*s.unit
	m := d.line[0]
	s.sheet.Line(pen, m.Plus(-r, -r), m.Plus(r, r))
	s.sheet.Line(pen, m.Plus(-r, r), m.Plus(r, -r))
	if d.hanging == 0 {
		s.across(pen, d.line[len(d.line)-1], d.line[len(d.line)-2], 7)
	}
	s.rings(d, 1, n-1)
	for _, side := range d.marks[n:] {
		s.sheet.Ring(s.pen(1.8, d.colour), side, 5*s.unit)
		s.sheet.Dashes(s.pen(1.2, d.colour), 3*s.unit, 4*s.unit, side, foot(d.line, side))
	}
}

// foot returns the point of a polyline nearest to p.
func foot(line []ink.Point, p ink.Point) ink.Point {
	best, at := math.Inf(1), line[0]
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		f := footOn(measure.Pt(a.X, a.Y), measure.Pt(b.X, b.Y), measure.Pt(p.X, p.Y))
		if r := math.Hypot(f.X-p.X, f.Y-p.Y); r < best {
			best, at = r, ink.Point{X: f.X, Y: f.Y}
		}
	}
	return at
}

// post is a post: squares at both ends, bars for the top of the crown and the
// crown margin, a triangle at the apex.
func (s scribe) post(im *measure.ImageMarks, d drawn) {
	n := along(im, d.item)
	s.square(d, d.marks[0], 5)
	if d.hanging == 0 {
		s.square(d, d.marks[n-1], 5)
	}
	s.rings(d, 1, n-1)
	for i, one := range singles(im, d.item) {
		m := d.marks[n+i]
		if one.as == roleApex {
			s.triangle(d, m, d.marks[n-1])
			continue
		}
		s.across(s.pen(2, d.colour), m, d.marks[n-1], 14)
	}
}

// across draws a bar at right angles to the line from p to q, at p.
func (s scribe) across(pen ink.Pen, p, q ink.Point, half float64) {
	dx, dy := direction(p, q)
	h := half * s.unit
	s.sheet.Line(pen, p.Plus(-dy*h, dx*h), p.Plus(dy*h, -dx*h))
}

func (s scribe) diamond(d drawn, m ink.Point) {
	r := 6.5 * s.unit
	s.sheet.Line(s.pen(1.6, d.colour), m.Plus(0, -r), m.Plus(r, 0), m.Plus(0, r), m.Plus(-r, 0), m.Plus(0, -r))
}

// triangle stands on the far side of tip as seen from before.
func (s scribe) triangle(d drawn, tip, before ink.Point) {
	dx, dy := direction(before, tip)
	h, w := 15*s.unit, 7*s.unit
	left := tip.Plus(dx*h-dy*w, dy*h+dx*w)
	right := tip.Plus(dx*h+dy*w, dy*h-dx*w)
	s.sheet.Line(s.pen(1.8, d.colour), tip, left, right, tip)
}

// direction returns the unit vector from p to q; downward for equal points.
func direction(p, q ink.Point) (dx, dy float64) {
	dx, dy = q.X-p.X, q.Y-p.Y
	if l := math.Hypot(dx, dy); l > 0 {
		return dx / l, dy / l
	}
	return 0, 1
}
