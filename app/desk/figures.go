package desk

import (
	"math"

	"rootrule/app/desk/ink"
	"rootrule/app/wording"
	"rootrule/measure"
)

// note is a text beside a figure.
type note struct {
	text    string
	anchors []ink.Point
}

// figures draws what the numbers of the item at hand are read off.
func (s scribe) figures(im *measure.ImageMarks, it item) {
	if !exists(im, it) {
		return
	}
	switch it.kind {
	case canal:
		if f, ok := measure.NewSchneiderFigure(im.Canals[it.index]); ok {
			s.schneider(f)
		}
	case obstruction:
		s.depth(im, im.Obstructions[it.index])
	}
}

// notes returns the texts that belong to the figures of the item at hand.
func (s scribe) notes(session *session, im *measure.ImageMarks, it item) []note {
	if !exists(im, it) {
		return nil
	}
	of := subjectOf(im, it)
	value := func(what string) (string, bool) {
		f, ok := session.finding(of, what)
		return wording.Quantity(f.Quantity), ok && f.Defined()
	}
	var out []note
	switch it.kind {
	case canal:
		f, ok := measure.NewSchneiderFigure(im.Canals[it.index])
		if angle, known := value(measure.WhatSchneiderAngle); ok && known {
			_, middle := s.arc(f)
			out = append(out, note{wording.Say("Schneider %s", angle), []ink.Point{middle, s.at(f.Leave), s.at(f.To)}})
		}
	case obstruction:
		line := s.all(s.upTo(im, im.Obstructions[it.index]))
		if depth, known := value(measure.WhatObstructionDepth); known && len(line) > 1 {
			out = append(out, note{wording.Say("%s below the orifice", depth), []ink.Point{line[len(line)/2], line[0]}})
		}
	}
	return out
}

// schneider draws Schneider's two lines, beyond where they meet, and the arc of
// the angle between them.
func (s scribe) schneider(f measure.SchneiderFigure) {
	pen := s.pen(1.2, inkFigure)
	on, off := 8*s.unit, 4*s.unit
	s.sheet.Dashes(pen, on, off, s.at(f.From), s.at(f.To))
	s.sheet.Dashes(pen, on, off, s.at(f.Leave), s.at(f.Apex))
	s.sheet.Ring(s.pen(1.4, inkFigure), s.at(f.Leave), 3*s.unit)
	arc, _ := s.arc(f)
	s.sheet.Line(s.pen(1.6, inkFigure), arc...)
}

// arc returns the arc of Schneider's angle and its middle: three quarters of
// the way to the apex, where the lines stand farthest apart without reaching it.
func (s scribe) arc(f measure.SchneiderFigure) (arc []ink.Point, middle ink.Point) {
	const steps = 16
	o, a, b := s.at(f.Leave), s.at(f.To), s.at(f.Apex)
	r := 0.75 * math.Min(math.Hypot(a.X-o.X, a.Y-o.Y), math.Hypot(b.X-o.X, b.Y-o.Y))
	from := math.Atan2(a.Y-o.Y, a.X-o.X)
	turn := math.Remainder(math.Atan2(b.Y-o.Y, b.X-o.X)-from, 2*math.Pi)
	for i := range steps + 1 {
		sin, cos := math.Sincos(from + turn*float64(i)/steps)
		arc = append(arc, o.Plus(r*cos, r*sin))
	}
	return arc, arc[steps/2]
}

// upTo returns the centre line of an obstruction's canal from the orifice to
// the obstruction's coronal end; nil where the canal is not traced.
func (s scribe) upTo(im *measure.ImageMarks, o measure.Obstruction) []measure.Point {
	for i, c := range im.Canals {
		if c.Tooth != o.Tooth || c.Name != o.Canal || len(o.Marks) == 0 {
			continue
		}
		line := curveOf(im, item{canal, i})
		from := nearestPoint(line, c.Marks[min(c.Orifice, len(c.Marks)-1)])
		to := nearestPoint(line, o.Marks[0])
		if from < to {
			return line[from : to+1]
		}
	}
	return nil
}

// depth draws how deep an obstruction lies: a line beside its canal from the
// orifice to its coronal end, with a tick at both ends.
func (s scribe) depth(im *measure.ImageMarks, o measure.Obstruction) {
	line := s.all(s.upTo(im, o))
	if len(line) < 2 {
		return
	}
	const away = 12
	beside := make([]ink.Point, len(line))
	for i, p := range line {
		k := max(i, 1)
		dx, dy := direction(line[k-1], line[k])
		beside[i] = p.Plus(dy*away*s.unit, -dx*away*s.unit)
	}
	pen := s.pen(1.4, inkFigure)
	s.sheet.Line(pen, beside...)
	for _, end := range [][2]int{{0, 1}, {len(beside) - 1, len(beside) - 2}} {
		s.across(pen, beside[end[0]], beside[end[1]], 6)
	}
}
