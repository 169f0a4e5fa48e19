package desk

import (
	"strings"

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
	gestureNone  gesture = iota
	gestureMark          // a mark follows the mouse
	gesturePan           // the picture follows the mouse
	gestureSplit         // the line between two images follows the mouse
)

// hand is what the mouse is doing on the image.
type hand struct {
	holding grip          // the mark that follows the mouse
	off     measure.Point // from the mouse to that mark
	placing bool          // a new mark of the task follows the mouse
	moved   bool          // the press has become a drag
	over    grip          // the mark or item under the mouse
	at      measure.Point // where the mouse is
	inside  bool          // the mouse is on the image bench
}

// press decides what a press of the main button at a spot begins.
func (d *Desk) press(sp spot) gesture {
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
	d.proposeNext(sp.at)
	d.refresh()
	return gestureMark
}

// hold makes a mark follow the mouse from now on, without a jump.
func (d *Desk) hold(g grip, sp spot) {
	m := marksOf(d.session.saved(), g.item)[g.mark]
	d.hand.holding, d.hand.off = g, measure.Pt(m.X-sp.at.X, m.Y-sp.at.Y)
	d.selected = g
	d.session.dismiss()
	d.refresh()
}

// drag moves what the press took hold of.
func (d *Desk) drag(sp spot) {
	d.hand.at, d.hand.moved = sp.at, true
	switch {
	case d.hand.placing:
		d.proposeNext(sp.at)
	case d.hand.holding != nowhere:
		to := d.target()
		d.session.propose(func(im *measure.ImageMarks) { setMark(im, d.hand.holding, to) })
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
		d.addPoint(sp.at)
		d.finishIfFull()
	case h.holding != nowhere && h.moved:
		to := measure.Pt(sp.at.X+h.off.X, sp.at.Y+h.off.Y)
		d.moveTo(h.holding, to)
	case h.holding != nowhere && d.closes(h.holding):
		d.finish()
	default:
		d.session.dismiss()
	}
	d.refresh()
}

// closes reports whether a click on a mark closes the outline being made.
func (d *Desk) closes(g grip) bool {
	return d.task != nil && d.task.kind == lesion && g.item == d.task.item() && g.mark == 0
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
		d.proposeNext(sp.at)
	}
}

// ownMark returns the mark of the task's item at a spot. Other items can't be
// taken hold of during a task, and marks less easily than without one: the
// next mark may belong close by.
func (d *Desk) ownMark(sp spot) (grip, bool) {
	g, ok := nearestMark(d.session.saved(), sp.at, sp.reach*0.7, d.task.item())
	return g, ok && g.item == d.task.item() && d.task.enough()
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
	d.edit("add a mark to "+nameOf(d.session.saved(), it), func(im *measure.ImageMarks) error {
		addMark(im, it, at, sp.at)
		return nil
	})
	d.selected = grip{it, at}
	d.refresh()
	return true
}

// secondary is a click of the other button: it ends a task.
func (d *Desk) secondary() {
	if d.task != nil {
		d.finish()
	}
}

// moveTo saves a mark at its new place.
func (d *Desk) moveTo(g grip, to measure.Point) {
	d.edit("move "+markName(d.session.saved(), g), func(im *measure.ImageMarks) error {
		setMark(im, g, to)
		return nil
	})
	if d.task != nil {
		d.task.follow(d.session.saved())
	}
}

// nudge moves the selected mark by a part of a pixel, in a direction as seen.
func (d *Desk) nudge(dx, dy float64) {
	marks := marksOf(d.session.saved(), d.selected.item)
	if d.selected.mark < 0 || d.selected.mark >= len(marks) {
		return
	}
	m := marks[d.selected.mark]
	dx, dy = d.bench.view.Along(dx, dy)
	d.moveTo(d.selected, measure.Pt(m.X+dx, m.Y+dy))
	d.refresh()
}

// start begins a task; one that is under way is kept as far as it is marked.
func (d *Desk) start(k kind) {
	if d.session.saved() == nil || !d.session.ready {
		d.say("First open a radiograph.")
		d.refresh()
		return
	}
	if d.task != nil {
		again := d.task.kind == k && len(d.task.points) == 0
		d.finish()
		d.task = nil
		if again {
			d.refresh()
			return
		}
	}
	d.toneMode = false
	d.session.dismiss()
	d.task = newTask(k, d.session.saved(), d.session.tooth())
	d.selected = nowhere
	if k == calibration && len(d.session.saved().Calibration) > 0 {
		d.say("This adds a second calibration beside the first.")
	}
	d.refresh()
	d.focusBench()
}

// proposeNext drafts the task with one more mark at p.
func (d *Desk) proposeNext(p measure.Point) {
	t := *d.task
	d.session.propose(func(im *measure.ImageMarks) { t.put(im, t.with(p)) })
}

// addPoint adds a mark to the task and saves it.
func (d *Desk) addPoint(p measure.Point) {
	d.setPoints(d.task.with(p))
}

// setPoints makes the task have these marks, in the casebook as well once
// they are enough.
func (d *Desk) setPoints(points []measure.Point) {
	t := d.task
	if len(points) < least[t.kind] && !t.enough() {
		t.points = points
		d.session.dismiss()
		return
	}
	if d.edit(t.label(len(points)), func(im *measure.ImageMarks) error { t.put(im, points); return nil }) {
		t.points = points
	}
}

// takeBack takes the last mark of the task back.
func (d *Desk) takeBack() {
	if n := len(d.task.points); n > 0 {
		d.setPoints(d.task.points[:n-1])
	}
	d.refresh()
}

// finish ends the task and keeps what it made.
func (d *Desk) finish() {
	t := d.task
	if t == nil {
		return
	}
	d.session.dismiss()
	if !t.enough() {
		d.say(capital(t.title()) + " needs at least " + [4]string{"no", "one mark", "two marks", "three marks"}[least[t.kind]] + ".")
		d.refresh()
		return
	}
	d.task = nil
	d.selected = grip{t.item(), -1}
	d.say(capital(t.title()) + " is kept.")
	d.refresh()
}

// leave ends whatever is under way, the smallest thing first: a drag, the
// task, the mode for brightness, the selection. What is discarded can be
// brought back by undo.
func (d *Desk) leave() {
	switch {
	case d.hand.placing || d.hand.holding != nowhere:
		d.hand.placing, d.hand.holding = false, nowhere
		d.session.dismiss()
	case d.task != nil:
		d.discard()
	case d.toneMode:
		d.toneMode = false
	default:
		d.selected = nowhere
		d.say("")
	}
	d.refresh()
}

// discard ends the task and takes away what it made, as a step that undo
// brings back.
func (d *Desk) discard() {
	t := d.task
	d.task = nil
	d.session.dismiss()
	if !t.enough() {
		if len(t.points) > 0 {
			d.say(capital(t.title()) + " was not begun: nothing is kept.")
		}
		return
	}
	if d.edit("discard "+t.title(), func(im *measure.ImageMarks) error { dropItem(im, t.item()); return nil }) {
		d.say(capital(t.title()) + " is discarded; Ctrl+Z brings it back.")
	}
}

// remove deletes the selected mark, or the selected item as a whole.
func (d *Desk) remove() {
	g := d.selected
	im := d.session.saved()
	if d.task != nil || d.atHome() || place(im, g.item) == nil {
		return
	}
	whole := g.mark < 0 || len(marksOf(im, g.item)) <= least[g.kind]
	name := nameOf(im, g.item)
	if !whole {
		name = markName(im, g)
	}
	ok := d.edit("delete "+name, func(im *measure.ImageMarks) error {
		if whole {
			dropItem(im, g.item)
		} else {
			dropMark(im, g)
		}
		return nil
	})
	if ok {
		d.selected = nowhere
		if !whole {
			d.selected = grip{g.item, -1}
		}
		d.say(capital(name) + " is deleted; Ctrl+Z brings it back.")
	}
	d.refresh()
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
