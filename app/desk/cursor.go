package desk

import (
	"math"

	"rootrule/measure"
)

// cursor is the place on the image that the keys move, for marking without a
// mouse. It is on from the first arrow key until the mouse moves again.
type cursor struct {
	on      bool
	at      measure.Point
	clicked *measure.Point // where it clicked last
}

// Steps of the cursor in logical pixels of the bench; fine is for Shift.
const (
	cursorStep = 12
	cursorFine = 1
)

// point moves the cursor by steps in x and y. It begins in the middle of the
// bench, or where the mouse was.
func (d *Desk) point(dx, dy float64) {
	if d.bench.picture == nil {
		return
	}
	b, c := d.bench, &d.cursor
	v := b.view.Snapped()
	if !c.on {
		w, h := b.area()
		x, y := v.ToImage(math.Round(w/2), math.Round(h/2))
		c.on, c.at = true, measure.Pt(x, y)
		if d.hand.inside {
			c.at = d.hand.at
		}
	}
	step := cursorStep * b.ratio
	if d.keys.shift {
		step = cursorFine * b.ratio
	}
	x, y := v.ToScreen(c.at.X, c.at.Y)
	x, y = b.intoSight(x+dx*step, y+dy*step)
	c.at.X, c.at.Y = b.view.Snapped().ToImage(x, y)
	c.at.X = math.Min(math.Max(c.at.X, 0), float64(b.picture.Width-1))
	c.at.Y = math.Min(math.Max(c.at.Y, 0), float64(b.picture.Height-1))
	d.hover(b.spotAt(c.at), true)
	d.refresh()
}

// intoSight pans the picture where a place on the bench lies beyond its edge,
// and returns where that place is then.
func (b *bench) intoSight(x, y float64) (float64, float64) {
	w, h := b.area()
	over := func(v, size float64) float64 {
		const edge = 24
		return math.Min(math.Max(edge*b.ratio-v, 0), size/3) - math.Min(math.Max(v-(size-edge*b.ratio), 0), size/3)
	}
	if dx, dy := over(x, w), over(y, h); dx != 0 || dy != 0 {
		before := b.view
		b.pan(dx, dy)
		x, y = x+b.view.X-before.X, y+b.view.Y-before.Y
	}
	return x, y
}

// spotAt is the spot of an image point.
func (b *bench) spotAt(p measure.Point) spot {
	return spot{at: p, reach: grab * b.ratio / b.view.Scale}
}

// enter clicks at the cursor. It reports whether there was one to click at: else
// the key means something else.
func (d *Desk) enter() bool {
	if !d.cursor.on || d.bench.picture == nil {
		return false
	}
	sp := d.bench.spotAt(d.cursor.at)
	last := d.cursor.clicked
	if d.task != nil && last != nil && last.Dist(sp.at) < 1e-9 {
		return false // a second time on one spot ends the task, as a double click does
	}
	if d.press(sp) == gestureMark {
		d.drop(sp)
	}
	d.cursor.clicked = &sp.at
	return true
}

// arrow does what an arrow key means: it moves the selected mark, or the cursor
// while there is a task or nothing is selected.
func (d *Desk) arrow(dx, dy float64) {
	if d.task != nil || d.selected.mark < 0 {
		d.point(dx, dy)
		return
	}
	step := fine
	if d.keys.shift {
		step = coarse
	}
	d.nudge(dx*step, dy*step)
}

// nextMark selects the mark after the selected one, in the order in which items
// are drawn; with Shift the one before.
func (d *Desk) nextMark() {
	if d.task != nil {
		return
	}
	var all []grip
	im := d.session.saved()
	for _, it := range items(im) {
		for i := range marksOf(im, it) {
			all = append(all, grip{it, i})
		}
	}
	if len(all) == 0 {
		return
	}
	at := -1
	for i, g := range all {
		if g == d.selected || d.selected.mark < 0 && g.item == d.selected.item && at < 0 {
			at = i
			if d.selected.mark < 0 {
				at--
			}
		}
	}
	step := 1
	if d.keys.shift {
		step = -1
	}
	d.cursor.on = false
	d.selected = all[(at+step+len(all))%len(all)]
	d.say("")
	d.refresh()
}

// drawCursor draws the cursor of the keys: an open cross.
func (b *bench) drawCursor(s scribe) {
	if !b.desk.cursor.on {
		return
	}
	m := s.at(b.desk.cursor.at)
	pen := s.pen(2.2, inkHoney)
	for _, d := range [][2]float64{{1, 0}, {0, 1}, {-1, 0}, {0, -1}} {
		s.sheet.Line(pen, m.Plus(d[0]*6*s.unit, d[1]*6*s.unit), m.Plus(d[0]*20*s.unit, d[1]*20*s.unit))
	}
}
