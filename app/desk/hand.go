package desk

import (
	"unicode"
	"unicode/utf8"

	"rootrule/app/wording"
	"rootrule/measure"
)

// spot is a position of the mouse on the image, and how far around it, in
// image pixels, a mark can be taken hold of.
type spot struct {
	at    measure.Point
	reach float64
}

// gesture is what a press of the main button begins.
type gesture int

const (
	gestureNone    gesture = iota
	gestureMark            // a mark follows the mouse
	gesturePan             // the picture follows the mouse
	gestureSplit           // the line between two images follows the mouse
	gestureProfile         // the end of a profile's line follows the mouse
)

// hand is what the mouse is doing on the image.
type hand struct {
	holding grip          // the mark that follows the mouse
	off     measure.Point // from the mouse to that mark
	placing bool          // a new mark of the task follows the mouse
	moved   bool          // the press has become a drag
	shape   shape         // how an assisted item follows that mark; nil while not ready
	over    grip          // the mark or item under the mouse
	at      measure.Point // where the mouse is
	inside  bool          // the mouse is on the image bench
}

// press decides what a press of the main button at a spot begins.
func (d *Desk) press(sp spot) gesture {
	if d.task == nil || d.task.kind != canal {
		d.settle()
	}
	d.hand.at, d.hand.moved = sp.at, false
	d.say("")
	if d.pair.hidesMarks() {
		return gesturePan
	}
	if d.task != nil {
		return d.pressInTask(sp)
	}
	g := d.under(sp)
	if g.mark >= 0 {
		d.hold(g, sp)
		return gestureMark
	}
	d.selected = g
	d.refresh()
	return gesturePan
}

// pressInTask takes hold of a mark of the task, or of a new one.
func (d *Desk) pressInTask(sp spot) gesture {
	if g, ok := d.ownMark(sp); ok {
		d.hold(g, sp)
		return gestureMark
	}
	d.hand.placing = true
	d.draftNext(sp.at)
	d.refresh()
	return gestureMark
}

// hold makes a mark follow the mouse from now on, without a jump.
func (d *Desk) hold(g grip, sp spot) {
	m := marksOf(d.session.saved(), g.item)[g.mark]
	d.hand.holding, d.hand.off, d.hand.shape = g, measure.Pt(m.X-sp.at.X, m.Y-sp.at.Y), nil
	d.selected = g
	d.session.dismiss()
	d.refresh()
}

// drag moves what the press took hold of.
func (d *Desk) drag(sp spot) {
	first := !d.hand.moved
	d.hand.at, d.hand.moved = sp.at, true
	switch {
	case d.hand.placing:
		d.draftNext(sp.at)
	case d.hand.holding != nowhere:
		if first {
			d.bendNext(d.hand.holding)
		}
		d.bend(d.target())
	}
	d.refresh()
}

// target is where the held mark is to go.
func (d *Desk) target() measure.Point {
	return measure.Pt(d.hand.at.X+d.hand.off.X, d.hand.at.Y+d.hand.off.Y)
}

// drop ends a press: the mark that followed the mouse stays where it is.
func (d *Desk) drop(sp spot) {
	d.hand.at = sp.at
	h := d.hand
	d.hand.placing, d.hand.holding = false, nowhere
	switch {
	case h.placing:
		d.place(sp.at)
	case h.holding != nowhere && h.moved:
		d.bent(h.holding, h.shape, measure.Pt(sp.at.X+h.off.X, sp.at.Y+h.off.Y))
	case h.holding != nowhere && d.closes(h.holding):
		d.finish()
	default:
		d.session.dismiss()
	}
	d.refresh()
}

// place adds a mark to the task.
func (d *Desk) place(p measure.Point) {
	if d.task.assisted {
		d.assist(p)
		return
	}
	d.addPoint(p)
	d.finishIfFull()
}

// closes reports whether a click on a mark closes the outline being made.
func (d *Desk) closes(g grip) bool {
	return d.task != nil && closed(d.task.kind) && g.item == d.task.item() && g.mark == 0
}

// hover follows the mouse while no button is down.
func (d *Desk) hover(sp spot, inside bool) {
	before := d.hand.over
	d.hand.at, d.hand.inside, d.hand.over = sp.at, inside, nowhere
	switch {
	case !inside:
		d.session.dismiss()
	case d.task != nil:
		d.hoverInTask(sp)
	default:
		d.hand.over = d.under(sp)
	}
	if d.task != nil || d.hand.over != before {
		d.refresh()
	}
}

// hoverInTask drafts the task with a mark where the mouse is, unless it is
// over a mark of the task.
func (d *Desk) hoverInTask(sp spot) {
	if g, ok := d.ownMark(sp); ok {
		d.hand.over = g
		d.session.dismiss()
	} else {
		d.draftNext(sp.at)
	}
}

// ownMark returns the mark of the task's item at a spot. Other items can't be
// taken hold of during a task, and marks less easily than without one: the
// next mark may belong close by.
func (d *Desk) ownMark(sp spot) (grip, bool) {
	g, ok := nearestMark(d.session.saved(), sp.at, sp.reach*0.7, d.task.item())
	return g, ok && g.item == d.task.item() && d.task.enough() && !d.task.late()
}

// under returns the mark, or else the item, at a spot.
func (d *Desk) under(sp spot) grip {
	im := d.session.saved()
	if g, ok := nearestMark(im, sp.at, sp.reach, d.selected.item); ok {
		return g
	}
	if it, ok := nearestLine(im, sp.at, sp.reach/2); ok {
		return grip{it, -1}
	}
	return nowhere
}

// double is the second click of two on one spot: it ends a task, or puts a
// mark on the line under it. It reports whether it meant anything.
func (d *Desk) double(sp spot) bool {
	if d.task != nil {
		d.finish()
		return true
	}
	g := d.under(sp)
	if g.kind == nothing || g.mark >= 0 || full(d.session.saved(), g.item) {
		return false
	}
	it := g.item
	at := slotAt(d.session.saved(), it, sp.at)
	d.edit(wording.Say("add a mark to %s", nameOf(d.session.saved(), it)), func(im *measure.ImageMarks) error {
		addMark(im, it, at, measure.Pt(sp.at.X, sp.at.Y))
		corrected(im, it)
		return nil
	})
	d.selected = grip{it, at}
	d.refresh()
	return true
}

// secondary is a click of the other button: it ends a task, or offers what can
// be done with what is under it.
func (d *Desk) secondary(sp spot) {
	if d.task != nil {
		d.finish()
		return
	}
	d.selected = d.under(sp)
	d.say("")
	d.refresh()
	d.showChoices()
}

// moveTo saves a mark at its new place.
func (d *Desk) moveTo(g grip, to measure.Point) {
	d.edit(wording.Say("move %s", markName(d.session.saved(), g)), func(im *measure.ImageMarks) error {
		setMark(im, g, to)
		corrected(im, g.item)
		return nil
	})
	if d.task != nil {
		d.task.follow(d.session.saved())
	}
}

// nudge moves the selected mark by a part of a pixel, in a direction as seen.
func (d *Desk) nudge(dx, dy float64) {
	d.settle()
	marks := marksOf(d.session.saved(), d.selected.item)
	if d.selected.mark < 0 || d.selected.mark >= len(marks) {
		return
	}
	m := marks[d.selected.mark]
	dx, dy = d.bench.view.Along(dx, dy)
	d.moveTo(d.selected, measure.Pt(m.X+dx, m.Y+dy))
	d.refresh()
}

// leave ends whatever is under way, the smallest thing first: a drag, the
// task, the mode for brightness, the selection. What is discarded can be
// brought back by undo.
func (d *Desk) leave() {
	waiting := d.helping.waiting
	d.forget()
	switch {
	case d.hand.placing || d.hand.holding != nowhere || waiting && d.task == nil:
		d.hand.placing, d.hand.holding = false, nowhere
		d.session.dismiss()
	case d.task != nil:
		d.discard()
	case d.profile.on:
		d.profile.end()
	case d.toneMode:
		d.toneMode = false
	case d.cursor.on:
		d.cursor.on = false
	default:
		d.selected = nowhere
		d.say("")
	}
	d.refresh()
}

// remove deletes the selected mark, or the selected item as a whole.
func (d *Desk) remove() {
	d.settle()
	g := d.selected
	im := d.session.saved()
	if d.task != nil || d.atHome() || !exists(im, g.item) {
		return
	}
	whole := g.mark < 0 || neededFor(im, g)
	name := nameOf(im, g.item)
	if !whole {
		name = markName(im, g)
	}
	ok := d.edit(wording.Say("delete %s", name), func(im *measure.ImageMarks) error {
		if whole {
			dropItem(im, g.item)
		} else {
			dropMark(im, g)
			corrected(im, g.item)
		}
		return nil
	})
	if ok {
		d.selected = nowhere
		if !whole {
			d.selected = grip{g.item, -1}
		}
		d.say(wording.Say("%s is deleted; Ctrl+Z brings it back.", capital(name)))
	}
	d.refresh()
}

// neededFor reports whether an item can't be without a mark.
func neededFor(im *measure.ImageMarks, g grip) bool {
	n := along(im, g.item)
	if g.mark >= n {
		return g.kind == filling && g.mark < 2
	}
	return n <= least[g.kind]
}

func capital(s string) string {
	for i, r := range s {
		return string(unicode.ToUpper(r)) + s[i+utf8.RuneLen(r):]
	}
	return s
}
