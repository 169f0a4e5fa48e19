package desk

import (
	"rootrule/app/wording"
	"rootrule/measure"
)

// start begins a task; one that is under way is kept as far as it is marked.
func (d *Desk) start(k kind) { d.startAs(k, "") }

// startAs begins a task for a kind of obstruction; for other kinds of marks way
// is empty.
func (d *Desk) startAs(k kind, way string) {
	d.settle()
	if d.session.saved() == nil || !d.session.ready {
		d.say(wording.Say("First open a radiograph."))
		d.refresh()
		return
	}
	near := d.selected.item
	if d.task != nil {
		again := d.task.kind == k && len(d.task.points) == 0
		d.endTask()
		if again {
			d.refresh()
			return
		}
	}
	d.toneMode, d.again, d.pairing = false, nil, nil
	d.pair.forMarks()
	d.session.dismiss()
	t, why := d.newTask(k, way, near)
	if t == nil {
		d.say(why)
		d.refresh()
		return
	}
	d.task, d.selected = t, nowhere
	d.say("")
	d.prepare(t)
	if k == calibration && len(d.session.saved().Calibration) > 0 {
		d.say(wording.Say("This adds a second calibration beside the first."))
	}
	d.refresh()
	d.focusBench()
}

// newTask makes a task; nil, with the reason, where there is nothing that its
// marks could be added to.
func (d *Desk) newTask(k kind, way string, near item) (*task, string) {
	im := d.session.saved()
	t := newTask(k, way, im, d.session.tooth(), near)
	t.assisted = d.canAssist(t)
	to, adds := addition(k)
	if !adds {
		return t, ""
	}
	t.owner = near
	if near.kind == void { // its filling is meant
		t.owner = ownerOf(im, near)
	}
	if t.owner.kind != to {
		t.owner = item{to, count(im, to) - 1}
	}
	if !exists(im, t.owner) {
		return nil, map[kind]string{
			filling:     wording.Say("First mark a root filling: its widths and voids belong to it."),
			obstruction: wording.Say("First mark an obstruction: the root surface is marked beside it."),
			post:        wording.Say("First mark a post: crown, margin and apex belong to it."),
		}[to]
	}
	t.tooth, t.name = labelOf(im, t.owner)
	return t, ""
}

// ownerOf returns the filling that a void is in.
func ownerOf(im *measure.ImageMarks, it item) item {
	f, _ := voidIn(im, it.index)
	for i := range im.Fillings {
		if &im.Fillings[i] == f {
			return item{filling, i}
		}
	}
	return item{}
}

// draftNext drafts the task as a click at p would leave it.
func (d *Desk) draftNext(p measure.Point) {
	switch t := d.task; {
	case !t.assisted:
		d.proposeNext(p)
	case t.kind == canal && len(t.points) == 1:
		d.draftApex(p)
	case t.kind == canal:
		d.draftCanal(p)
	}
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
// they are enough, unless that waits for the end of the task.
func (d *Desk) setPoints(points []measure.Point) {
	t := d.task
	if t.late() || len(points) < least[t.kind] && !t.enough() {
		t.points = points
		d.session.dismiss()
		return
	}
	ok := d.edit(t.label(len(points)), func(im *measure.ImageMarks) error {
		t.put(im, points)
		if by := madeBy(im, t.item()); by != nil && *by == "" {
			*by = measure.ByHand
		}
		return nil
	})
	if ok {
		t.points = points
	}
}

// takeBack takes the last mark of the task back.
func (d *Desk) takeBack() {
	t := d.task
	if n := len(t.points); n > 0 {
		d.forget()
		t.found, t.reference = nil, nil
		d.setPoints(t.points[:n-1])
		switch {
		case t.kind == canal && t.assisted && n == 2:
			d.followApex()
		case t.kind == canal && t.assisted && n > 2:
			d.findCanal(nil)
		}
	}
	d.refresh()
}

// finish ends the task and keeps what it made.
func (d *Desk) finish() {
	t := d.task
	switch {
	case t == nil:
		return
	case !t.enough():
		d.session.dismiss()
		d.say(t.needs())
	case t.assisted && t.kind == canal:
		d.keepCanal()
	case t.late():
		d.keep(t, t.points, measure.ByHand)
	default:
		d.session.dismiss()
		d.task = nil
		d.selected = grip{t.item(), -1}
		d.say(wording.Say("%s is kept.", capital(t.title())))
	}
	d.refresh()
}

// endTask ends a task before something else takes the bench: what it made is
// kept.
func (d *Desk) endTask() {
	d.again = nil
	d.settle()
	if d.task == nil {
		return
	}
	d.finish()
	d.settle()
	d.task = nil
	d.session.dismiss()
}

// discard ends the task and takes away what it made, as a step that undo
// brings back.
func (d *Desk) discard() {
	t := d.task
	d.task = nil
	d.session.dismiss()
	if !t.enough() || t.late() {
		if len(t.points) > 0 {
			d.say(wording.Say("Nothing is kept of %s.", t.title()))
		}
		return
	}
	if d.edit(wording.Say("discard %s", t.title()), func(im *measure.ImageMarks) error { dropItem(im, t.item()); return nil }) {
		d.say(wording.Say("%s is discarded; Ctrl+Z brings it back.", capital(t.title())))
	}
}
