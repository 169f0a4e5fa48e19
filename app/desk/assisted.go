package desk

import (
	"slices"

	"fyne.io/fyne/v2"

	"rootrule/app/assist"
	"rootrule/app/wording"
	"rootrule/measure"
)

// keyByHand is the preference that says whether marks are made by hand.
const keyByHand = "marks by hand"

// helping is what the assistant is asked about. Answers come back later; one
// to an older question is dropped.
type helping struct {
	queue   *assist.Queue
	asked   int    // number of the latest question
	waiting bool   // for its answer
	instead func() // keeps what can be kept without the answer; nil: nothing is promised
	byHand  bool
}

func newHelping(d *Desk) helping {
	return helping{
		queue:  assist.NewQueue(func(work func()) { d.beside(work) }),
		byHand: fyne.CurrentApp().Preferences().Bool(keyByHand),
	}
}

// ask puts a question to the assistant: find runs beside the main goroutine
// and returns what is to be done with its answer.
func (d *Desk) ask(find func() func()) {
	h := &d.helping
	h.asked++
	h.waiting = true
	number, s := h.asked, d.session
	h.queue.Do(func() {
		then := find()
		fyne.Do(func() {
			if number != h.asked || s != d.session {
				return
			}
			h.waiting, h.instead = false, nil
			then()
			d.refresh()
		})
	})
}

// promise asks for something that is to be kept once it is found. Where
// something else is wanted before, instead keeps what there is.
func (d *Desk) promise(instead func(), find func() func()) {
	d.helping.instead = instead
	d.ask(find)
}

// settle ends waiting: what was promised is kept as far as it is there.
func (d *Desk) settle() {
	h := &d.helping
	instead := h.instead
	d.forget()
	if instead != nil {
		instead()
	}
}

// forget drops the question under way.
func (d *Desk) forget() {
	h := &d.helping
	h.asked++
	h.waiting, h.instead = false, nil
}

// toggleByHand changes between assisted marks and marks by hand, and keeps
// the choice. A task under way begins again.
func (d *Desk) toggleByHand() {
	d.settle()
	h := &d.helping
	h.byHand = !h.byHand
	fyne.CurrentApp().Preferences().SetBool(keyByHand, h.byHand)
	if h.byHand {
		d.say(wording.Say("By hand: every mark is clicked."))
	} else {
		d.say(wording.Say("Assisted: lines and outlines are found from few clicks."))
	}
	if t := d.task; t != nil && (t.assisted || len(t.points) == 0) {
		t.points, t.found, t.reference = nil, nil, nil
		t.assisted = d.canAssist(t)
		d.session.dismiss()
		d.prepare(t)
	}
	d.refresh()
}

// canAssist reports whether a task's marks are to be found from few clicks.
func (d *Desk) canAssist(t *task) bool {
	if d.helping.byHand {
		return false
	}
	switch t.kind {
	case canal, lesion, filling, obstruction, post:
		return true
	}
	return t.kind == calibration && t.way == measure.CalibrationFile
}

// prepare makes the image ready for the lines of a task, beside the main
// goroutine.
func (d *Desk) prepare(t *task) {
	if t.assisted && t.kind != lesion {
		a, id, bright := d.session.assistant, d.session.image, t.kind != canal
		d.beside(func() { _ = a.Prepare(id, bright) }) // an error shows when a line is asked for
	}
}

// prepareSoon makes the image on the bench ready for tracing canals, once it
// has been looked at for a moment: who leafs through images needs none ready.
func (d *Desk) prepareSoon() {
	s, id := d.session, d.session.image
	d.after(rest, func() {
		fyne.Do(func() {
			if d.session == s && s.image == id && !d.helping.byHand {
				d.prepare(&task{kind: canal, assisted: true})
			}
		})
	})
}

// assist goes on with an assisted task after a click.
func (d *Desk) assist(p measure.Point) {
	switch t := d.task; t.kind {
	case canal:
		d.assistCanal(p)
	case lesion:
		d.assistLesion(p)
	case filling:
		d.assistFilling(p)
	default:
		if t.points = t.with(p); len(t.points) == 2 {
			d.assistBright()
		}
	}
}

// assistBright finds a file, an obstruction or a post between two clicks.
func (d *Desk) assistBright() {
	t, a, id := d.task, d.session.assistant, d.session.image
	clicked := slices.Clone(t.points)
	d.promise(func() { d.keep(t, clicked, measure.ByHand) }, func() func() {
		l, err := a.File(id, clicked[0], clicked[1])
		return func() {
			if err != nil {
				d.keep(t, clicked, measure.ByHand)
				d.say(problem(err))
				return
			}
			d.keep(t, l.Marks, measure.ByAssist)
			d.caution(l.Cautions)
		}
	})
}

// assistLesion finds the outline around a click.
func (d *Desk) assistLesion(p measure.Point) {
	t, a, id := d.task, d.session.assistant, d.session.image
	d.ask(func() func() {
		o, err := a.Lesion(id, p)
		return func() {
			if err != nil {
				d.say(problem(err))
				return
			}
			d.keep(t, o.Marks, measure.ByAssist)
			d.caution(o.Cautions)
		}
	})
}

// upFilling is how far up a filling, in px, its direction is taken from.
const upFilling = 80

// assistFilling finds the tip of a filling near a click. The apex is that of
// the canal where it is traced, else the next click.
func (d *Desk) assistFilling(p measure.Point) {
	t := d.task
	t.points = t.with(p)
	apex, along, traced := canalAt(d.session.saved(), t.tooth, t.name, t.points[0])
	if traced && len(t.points) == 1 {
		t.points = t.with(apex)
	}
	if !t.enough() {
		return
	}
	tip, end := t.points[0], t.points[1]
	if !traced {
		f := upFilling / max(tip.Dist(end), 1)
		along = measure.Pt(tip.X+(tip.X-end.X)*f, tip.Y+(tip.Y-end.Y)*f)
	}
	a, id := d.session.assistant, d.session.image
	d.promise(func() { d.keep(t, []measure.Point{tip, end}, measure.ByHand) }, func() func() {
		found, err := a.Tip(id, tip, along)
		return func() {
			if err != nil {
				d.keep(t, []measure.Point{tip, end}, measure.ByHand)
				d.say(problem(err))
				return
			}
			d.keep(t, []measure.Point{found, end}, measure.ByAssist)
		}
	})
}

// canalAt returns the apex of a traced canal and a point of it farther up than
// p, to tell how a filling runs there.
func canalAt(im *measure.ImageMarks, tooth, name string, p measure.Point) (apex, along measure.Point, ok bool) {
	for i, c := range im.Canals {
		if c.Tooth != tooth || c.Name != name {
			continue
		}
		line := curveOf(im, item{canal, i})
		if len(line) < 2 {
			break
		}
		at := nearestPoint(line, p)
		for at > 0 && line[at].Dist(p) < upFilling {
			at--
		}
		return line[len(line)-1], line[at], true
	}
	return measure.Point{}, measure.Point{}, false
}

// keep saves what a late task has made as one step and ends the task.
func (d *Desk) keep(t *task, marks []measure.Point, by string) {
	if d.task != t {
		return
	}
	d.session.dismiss()
	t.belong(d.session.saved(), marks)
	ok := d.edit(t.label(0), func(im *measure.ImageMarks) error {
		t.put(im, marks)
		if made := madeBy(im, t.item()); made != nil && t.owner.kind == nothing {
			*made = by
		} else {
			corrected(im, t.item())
		}
		return nil
	})
	if !ok {
		return
	}
	d.task = nil
	d.selected = grip{t.item(), -1}
	d.say(wording.Say("%s is kept.", capital(t.title())))
}

// caution says what must be known of what was found, with what to do.
func (d *Desk) caution(cautions []string) {
	if len(cautions) > 0 {
		d.say(join(told(cautions), wording.Say("Drag a mark to correct it.")))
	}
}
