package desk

import (
	"image/color"

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
	inkFilling     = color.NRGBA{0xc4, 0xf2, 0xb8, 0xff}
	inkObstruction = color.NRGBA{0xff, 0xb0, 0xd6, 0xff}
	inkPost        = color.NRGBA{0xd9, 0xcc, 0xff, 0xff}
	inkFigure      = color.NRGBA{0xff, 0xff, 0xff, 0xff}
	inkCasing      = color.NRGBA{0x0a, 0x06, 0x03, 0xb8}
	inkPlate       = color.NRGBA{0x0b, 0x08, 0x06, 0xc8}
)

// inkOf is the colour of a kind of marks.
func inkOf(k kind) color.NRGBA {
	switch k {
	case calibration:
		return inkCalibration
	case lesion:
		return inkLesion
	case filling, void, width:
		return inkFilling
	case obstruction, dentineSide:
		return inkObstruction
	case post, postTop, postMargin, postApex:
		return inkPost
	}
	return inkCanal
}

// scribe draws marks with one view of the image on one sheet.
type scribe struct {
	sheet  *ink.Sheet
	view   tone.View
	unit   float64 // device pixels in a logical pixel
	weight weight
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

// drawn is an item on the sheet.
type drawn struct {
	item
	line, marks []ink.Point
	hanging     int  // marks at its end that follow the mouse and get no glyph
	bold        bool // the item at hand shows all its marks
	colour      color.NRGBA
}

// items draws every item of an image. The one at hand is bolder and shows all
// its marks, the others only those that say what they are; loose is how many
// marks at its end follow the mouse.
func (s scribe) items(im *measure.ImageMarks, atHand func(item) bool, loose int) {
	for _, it := range items(im) {
		d := drawn{item: it, line: s.all(curveOf(im, it)), marks: s.all(marksOf(im, it)), colour: inkOf(it.kind), bold: atHand(it)}
		if d.bold {
			d.hanging = loose
		}
		if len(d.line) < 2 {
			continue
		}
		s.item(im, d)
	}
}

// item draws one item: each kind has its own line and its own glyphs.
func (s scribe) item(im *measure.ImageMarks, d drawn) {
	width := 1.6
	if d.bold {
		width = 2.4
	}
	pen := s.pen(width, d.colour)
	switch d.kind {
	case lesion, void:
		pen.Width = s.pen(width+1, d.colour).Width
		s.sheet.Dots(pen, 7*s.unit, d.line...)
		s.corners(d)
	case calibration:
		s.sheet.Dashes(pen, 9*s.unit, 6*s.unit, d.line...)
		s.ends(d)
	case canal:
		s.canalLine(im.Canals[d.index], d, width)
		s.stations(im.Canals[d.index], d)
	case filling:
		s.filling(d)
	case obstruction:
		s.sheet.Dashes(pen, 16*s.unit, 4*s.unit, d.line...)
		s.obstruction(d, along(im, d.item))
	case post:
		s.sheet.Line(pen, d.line...)
		s.post(im, d)
	}
}

// known is the standard uncertainty in px beyond which a mark of an assisted
// trace is known less well than a click: the line is dashed there.
const wellKnown = 1.0

// canalLine draws the centre line: in full where it is plainly seen, thin and
// in dashes where it is known less well than a click.
func (s scribe) canalLine(c measure.Canal, d drawn, width float64) {
	n := len(c.Marks) - 1
	if n < 1 {
		return
	}
	weak := func(i int) bool { return max(c.Marks[i].U, c.Marks[i+1].U) > wellKnown }
	piece := (len(d.line) - 1) / n
	for from := 0; from < n; {
		to := from + 1
		for to < n && weak(to) == weak(from) {
			to++
		}
		end := (to)*piece + 1
		if to == n {
			end = len(d.line)
		}
		part := d.line[from*piece : end]
		if weak(from) {
			s.sheet.Dashes(s.pen(width*0.6, d.colour), 6*s.unit, 5*s.unit, part...)
		} else {
			s.sheet.Line(s.pen(width, d.colour), part...)
		}
		from = to
	}
}

// pending draws the marks of a task that are too few for an item, and the line
// to the mouse.
func (s scribe) pending(t *task, mouse *measure.Point) {
	points := s.all(t.points)
	c := inkOf(t.kind)
	for _, p := range points {
		s.sheet.Ring(s.pen(1.8, c), p, 5*s.unit)
	}
	if mouse != nil {
		points = append(points, s.at(*mouse))
	}
	s.sheet.Dashes(s.pen(1.4, c), 4*s.unit, 5*s.unit, points...)
}

// hold draws four short strokes around a mark that the mouse is over, and for
// the selected one a ring in honey as well.
func (s scribe) hold(p measure.Point, selected bool) {
	m := s.at(p)
	if selected {
		s.sheet.Ring(s.pen(1.8, inkHoney), m, 12*s.unit)
	}
	pen := s.pen(2, inkText)
	for _, d := range [][2]float64{{1, 0}, {0, 1}, {-1, 0}, {0, -1}} {
		s.sheet.Line(pen, m.Plus(d[0]*12*s.unit, d[1]*12*s.unit), m.Plus(d[0]*17*s.unit, d[1]*17*s.unit))
	}
}

// drawMarks draws marks, labels and loupe over the picture.
func (b *bench) drawMarks(v tone.View) {
	d := b.desk
	im := d.session.shown()
	if im == nil {
		return
	}
	s := scribe{&b.sheet, v, b.ratio, weights[d.weight]}
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
	if d.task != nil && !d.task.assisted && d.session.draft != nil && d.hand.holding == nowhere {
		loose = 1 // the last mark is the mouse
	}
	s.items(im, func(it item) bool { return it == subject || it == d.hand.over.item }, loose)
	s.figures(im, subject)
	if t := d.task; t != nil && !t.enough() && (t.owner.kind != nothing || !exists(im, t.item())) {
		var mouse *measure.Point
		if (d.hand.inside || d.hand.placing) && !(t.assisted && t.kind == lesion) {
			mouse = &d.hand.at
		}
		s.pending(t, mouse)
	}
	b.drawHold(s, im)
	b.drawCursor(s)
}

// drawHold draws which marks the mouse is over and which one is selected. A
// mark that is dragged is where the mouse is, whatever its number now.
func (b *bench) drawHold(s scribe, im *measure.ImageMarks) {
	d := b.desk
	if d.hand.holding != nowhere {
		s.hold(d.target(), true)
		return
	}
	for _, g := range []grip{d.hand.over, d.selected} {
		if marks := marksOf(im, g.item); g.mark >= 0 && g.mark < len(marks) {
			s.hold(marks[g.mark], g == d.selected)
		}
	}
}
