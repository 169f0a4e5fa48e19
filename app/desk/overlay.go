package desk

import (
	"image/color"
	"math"

	"rootrule/app/desk/ink"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// The colours of marks on the picture, light on a dark casing. Each kind has
// its own line and its own glyphs too, so that colour tells nothing alone.
var (
	inkCanal       = color.NRGBA{0xff, 0xe6, 0xb0, 0xff}
	inkCalibration = color.NRGBA{0xa6, 0xdc, 0xff, 0xff}
	inkLesion      = color.NRGBA{0xff, 0xb3, 0x8a, 0xff}
	inkCasing      = color.NRGBA{0x0a, 0x06, 0x03, 0xb8}
	inkPlate       = color.NRGBA{0x0b, 0x08, 0x06, 0xc8}
)

// scribe draws marks with one view of the image on one sheet.
type scribe struct {
	sheet *ink.Sheet
	view  tone.View
	unit  float64 // device pixels in a logical pixel
}

// at returns where an image point is on the sheet.
func (s scribe) at(p measure.Point) ink.Point {
	x, y := s.view.ToScreen(p.X, p.Y)
	return ink.Point{X: x, Y: y}
}

func (s scribe) all(points []measure.Point) []ink.Point {
	out := make([]ink.Point, len(points))
	for i, p := range points {
		out[i] = s.at(p)
	}
	return out
}

func (s scribe) pen(width float64, c color.NRGBA) ink.Pen {
	return ink.Pen{Width: width * s.unit, Casing: 1.3 * s.unit, Colour: c, Dark: inkCasing}
}

// items draws every item of an image. The one at hand is bolder and shows all
// its marks, the others only those that say what they are; loose is how many
// marks at its end follow the mouse and get no glyph.
func (s scribe) items(im *measure.ImageMarks, atHand func(item) bool, loose int) {
	for _, it := range items(im) {
		width, hanging, all := 1.6, 0, atHand(it)
		if all {
			width, hanging = 2.4, loose
		}
		line := s.all(curveOf(im, it))
		marks := s.all(marksOf(im, it))
		switch it.kind {
		case lesion:
			s.sheet.Dots(s.pen(width+1, inkLesion), 7*s.unit, line...)
			if all {
				s.corners(marks[:len(marks)-hanging])
			}
		case calibration:
			s.sheet.Dashes(s.pen(width, inkCalibration), 9*s.unit, 6*s.unit, line...)
			s.ends(line, marks, hanging, all)
		case canal:
			s.sheet.Line(s.pen(width, inkCanal), line...)
			s.stations(line, marks, im.Canals[it.index].Orifice, hanging, all)
		}
	}
}

// corners are the marks of an outline: small open squares.
func (s scribe) corners(marks []ink.Point) {
	r := 3.5 * s.unit
	for _, m := range marks {
		s.sheet.Line(s.pen(1.4, inkLesion), m.Plus(-r, -r), m.Plus(r, -r), m.Plus(r, r), m.Plus(-r, r), m.Plus(-r, -r))
	}
}

// ends are the marks of a calibration: a tick across each end, rings between.
func (s scribe) ends(line, marks []ink.Point, hanging int, all bool) {
	if len(line) < 2 {
		return
	}
	pen := s.pen(2.2, inkCalibration)
	s.across(pen, line[0], line[1], 9)
	if hanging == 0 {
		s.across(pen, line[len(line)-1], line[len(line)-2], 9)
	}
	for _, m := range marks[1:max(1, len(marks)-1)] {
		if !all {
			break
		}
		s.sheet.Ring(s.pen(1.4, inkCalibration), m, 3.5*s.unit)
	}
}

// stations are the marks of a canal: a bar at the coronal reference point, a
// diamond at the orifice, rings along the canal, and an open triangle that
// stands beyond the apex with its tip on it, so that the apex stays in sight.
func (s scribe) stations(line, marks []ink.Point, orifice, hanging int, all bool) {
	if len(line) < 2 {
		return
	}
	s.across(s.pen(2.6, inkCanal), line[0], line[1], 12)
	for i := 1; i < len(marks)-max(hanging, 1); i++ {
		switch {
		case i == orifice:
			s.diamond(marks[i])
		case all:
			s.sheet.Ring(s.pen(1.4, inkCanal), marks[i], 3.5*s.unit)
		}
	}
	if hanging == 0 {
		s.triangle(line[len(line)-1], line[len(line)-2])
	}
}

// across draws a bar at right angles to the line from p to q, at p.
func (s scribe) across(pen ink.Pen, p, q ink.Point, half float64) {
	dx, dy := direction(p, q)
	h := half * s.unit
	s.sheet.Line(pen, p.Plus(-dy*h, dx*h), p.Plus(dy*h, -dx*h))
}

func (s scribe) diamond(m ink.Point) {
	r := 6.5 * s.unit
	s.sheet.Line(s.pen(1.6, inkCanal), m.Plus(0, -r), m.Plus(r, 0), m.Plus(0, r), m.Plus(-r, 0), m.Plus(0, -r))
}

// triangle stands on the far side of tip as seen from before.
func (s scribe) triangle(tip, before ink.Point) {
	dx, dy := direction(before, tip)
	h, w := 15*s.unit, 7*s.unit
	left := tip.Plus(dx*h-dy*w, dy*h+dx*w)
	right := tip.Plus(dx*h+dy*w, dy*h-dx*w)
	s.sheet.Line(s.pen(1.8, inkCanal), tip, left, right, tip)
}

// direction returns the unit vector from p to q; downward for equal points.
func direction(p, q ink.Point) (dx, dy float64) {
	dx, dy = q.X-p.X, q.Y-p.Y
	if l := math.Hypot(dx, dy); l > 0 {
		return dx / l, dy / l
	}
	return 0, 1
}

// pending draws the marks of a task that are too few for an item, and the line
// to the mouse.
func (s scribe) pending(marks []measure.Point, mouse *measure.Point) {
	points := s.all(marks)
	c := inkCanal
	for _, p := range points {
		s.sheet.Ring(s.pen(1.8, c), p, 5*s.unit)
	}
	if mouse != nil {
		points = append(points, s.at(*mouse))
	}
	s.sheet.Dashes(s.pen(1.4, c), 4*s.unit, 5*s.unit, points...)
}

// hold draws what the mouse is over (four short strokes around a mark) and
// what is selected (a ring in honey as well).
func (s scribe) hold(im *measure.ImageMarks, over, selected grip) {
	for _, g := range []grip{over, selected} {
		marks := marksOf(im, g.item)
		if g.mark < 0 || g.mark >= len(marks) {
			continue
		}
		m := s.at(marks[g.mark])
		if g == selected {
			s.sheet.Ring(s.pen(1.8, inkHoney), m, 12*s.unit)
		}
		pen := s.pen(2, inkText)
		for _, d := range [][2]float64{{1, 0}, {0, 1}, {-1, 0}, {0, -1}} {
			s.sheet.Line(pen, m.Plus(d[0]*12*s.unit, d[1]*12*s.unit), m.Plus(d[0]*17*s.unit, d[1]*17*s.unit))
		}
	}
}

// drawMarks draws marks, labels and loupe over the picture.
func (b *bench) drawMarks(v tone.View) {
	d := b.desk
	im := d.session.shown()
	if im == nil {
		return
	}
	s := scribe{&b.sheet, v, b.ratio}
	b.drawItems(s, im)
	lens := b.lensArea()
	b.drawLabels(s, im, lens)
	if !lens.Empty() {
		b.drawLens(lens, im)
	}
}

// drawItems draws the items and what the hand does with them.
func (b *bench) drawItems(s scribe, im *measure.ImageMarks) {
	d := b.desk
	subject, loose := d.subject(), 0
	if d.task != nil && d.session.draft != nil && d.hand.holding == nowhere {
		loose = 1 // the last mark is the mouse
	}
	s.items(im, func(it item) bool { return it == subject || it == d.hand.over.item }, loose)
	if d.task != nil && !d.task.enough() && marksOf(im, d.task.item()) == nil {
		var mouse *measure.Point
		if d.hand.inside || d.hand.placing {
			mouse = &d.hand.at
		}
		s.pending(d.task.points, mouse)
	}
	s.hold(im, d.hand.over, d.selected)
}
