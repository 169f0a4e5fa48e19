package phantom

import "math"

// MM is a point of the object plane in mm: X to the right, Y down, the origin
// at the middle of the picture before any warp.
type MM struct{ X, Y float64 }

// add returns p + k·q.
func (p MM) add(k float64, q MM) MM { return MM{p.X + k*q.X, p.Y + k*q.Y} }

func (p MM) sub(q MM) MM { return MM{p.X - q.X, p.Y - q.Y} }

func (p MM) dot(q MM) float64 { return p.X*q.X + p.Y*q.Y }

func (p MM) norm() float64 { return math.Sqrt(p.X*p.X + p.Y*p.Y) }

// Segment is a piece of a [Line]: straight when Curvature is 0, otherwise an
// arc. Curvature is 1/radius in 1/mm, positive when the line, going down,
// turns to the right. A segment turns through less than 180°.
type Segment struct{ Length, Curvature float64 }

// Line is a smooth chain of straight segments and circular arcs in the object
// plane, without corners. Its length, tangents, curvature and nearest points
// are exact. Positions along it are arc lengths s in mm from its start; before
// the start and beyond the end it goes on straight.
type Line struct {
	parts  []part
	length float64
}

type part struct {
	Segment
	s0       float64 // arc length at the start
	h0       float64 // heading at the start: angle from straight down, rad
	from, to MM
	t0, t1   MM // tangents at the ends
	centre   MM // of an arc
	radius   float64
}

// NewLine returns the line that leaves start in the direction headingDeg
// (degrees from straight down, positive to the right) and follows the segments.
func NewLine(start MM, headingDeg float64, segments ...Segment) Line {
	var l Line
	h := headingDeg * math.Pi / 180
	for _, g := range segments {
		if g.Length <= 0 || math.Abs(g.Curvature*g.Length) >= math.Pi {
			panic("phantom: a segment needs a positive length and turns through less than 180°")
		}
		p := part{Segment: g, s0: l.length, h0: h, from: start, t0: direction(h)}
		if g.Curvature != 0 {
			p.radius = 1 / math.Abs(g.Curvature)
			p.centre = start.add(1/g.Curvature, side(h))
		}
		p.to = p.at(g.Length)
		h += g.Curvature * g.Length
		p.t1 = direction(h)
		start = p.to
		l.length += g.Length
		l.parts = append(l.parts, p)
	}
	if len(l.parts) == 0 {
		panic("phantom: a line needs a segment")
	}
	return l
}

// direction is the unit vector of a heading, side the unit vector to its
// right-hand side as seen in the picture when the heading is straight down.
func direction(h float64) MM { return MM{math.Sin(h), math.Cos(h)} }
func side(h float64) MM      { return MM{math.Cos(h), -math.Sin(h)} }

func (p *part) at(s float64) MM {
	if p.Curvature == 0 {
		return p.from.add(s, p.t0)
	}
	return p.centre.add(-1/p.Curvature, side(p.h0+p.Curvature*s))
}

// Length returns the length in mm.
func (l *Line) Length() float64 { return l.length }

// At returns the point at arc length s.
func (l *Line) At(s float64) MM {
	p := l.partAt(s)
	switch t := s - p.s0; {
	case t < 0:
		return p.from.add(t, p.t0)
	case t > p.Length:
		return p.to.add(t-p.Length, p.t1)
	default:
		return p.at(t)
	}
}

// HeadingDeg returns the direction at arc length s, in degrees from straight
// down, positive to the right.
func (l *Line) HeadingDeg(s float64) float64 {
	p := l.partAt(s)
	t := min(max(s-p.s0, 0), p.Length)
	return (p.h0 + p.Curvature*t) * 180 / math.Pi
}

func (l *Line) partAt(s float64) *part {
	i := 0
	for i < len(l.parts)-1 && s > l.parts[i+1].s0 {
		i++
	}
	return &l.parts[i]
}

// Nearest returns the arc length s of the point of the line that is nearest to
// p, and the distance d, positive when p lies to the right of the line (seen
// going down). The straight continuations belong to the line.
func (l *Line) Nearest(p MM) (s, d float64) {
	first, last := &l.parts[0], &l.parts[len(l.parts)-1]
	best := math.Inf(1)
	take := func(s1, d1 float64) {
		if math.Abs(d1) < best {
			s, d, best = s1, d1, math.Abs(d1)
		}
	}
	if r := p.sub(first.from); r.dot(first.t0) <= 0 {
		take(r.dot(first.t0), across(r, first.t0))
	}
	if r := p.sub(last.to); r.dot(last.t1) >= 0 {
		take(l.length+r.dot(last.t1), across(r, last.t1))
	}
	var arc *part
	for i := range l.parts {
		q := &l.parts[i]
		r0 := p.sub(q.from)
		if r0.dot(q.t0) < 0 || p.sub(q.to).dot(q.t1) > 0 {
			continue // outside the strip or wedge that the segment faces
		}
		if q.Curvature == 0 {
			before := best
			take(q.s0+r0.dot(q.t0), across(r0, q.t0))
			if best < before {
				arc = nil
			}
			continue
		}
		e := q.radius - p.sub(q.centre).norm()
		if math.Abs(e) < best {
			take(0, math.Copysign(1, q.Curvature)*e)
			arc = q
		}
	}
	if arc != nil {
		s = arc.s0 + arc.along(p)
	}
	return s, d
}

// across is the signed distance of r from a line through 0 along t.
func across(r, t MM) float64 { return r.X*t.Y - r.Y*t.X }

// along is the arc length from the arc's start to the point facing p.
func (q *part) along(p MM) float64 {
	r := p.sub(q.centre)
	sin, cos := r.dot(q.t0), r.dot(q.from.sub(q.centre))/q.radius
	return math.Atan2(sin, cos) * q.radius
}

// sample returns n points evenly spaced in arc length from s0 to s1.
func (l *Line) sample(s0, s1 float64, n int) []MM {
	out := make([]MM, n)
	for i := range out {
		out[i] = l.At(s0 + (s1-s0)*float64(i)/float64(n-1))
	}
	return out
}
