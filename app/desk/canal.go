package desk

import (
	"cmp"
	"slices"

	"rootrule/app/assist"
	"rootrule/app/wording"
	"rootrule/measure"
)

// Clicks of an assisted trace are the orifice, the apex, any number on the
// way, and the coronal reference point, which ends it. Which one a click is
// follows from where it lies along the line from the orifice (0) to the apex
// (1): the reference point lies above the orifice, what lies between them is on
// the way.
const (
	highest = 0.05 // above it: the reference point
	lowest  = 0.95 // below it: the apex, clicked anew
)

// assistCanal goes on with an assisted trace after a click.
func (d *Desk) assistCanal(p measure.Point) {
	t := d.task
	switch f := t.place(p); {
	case len(t.points) < 2:
		t.points = t.with(p)
		if len(t.points) == 1 {
			d.followApex()
			return
		}
	case f < highest:
		t.reference = &p
		d.keepCanal()
		return
	case f > lowest:
		t.points[1] = p
	default:
		t.beside = false // the click says which one
		t.points = append(t.points, p)
		d.sortVias()
	}
	d.findCanal(nil)
}

// place is where a point lies along the line from the orifice to the apex.
func (t *task) place(p measure.Point) float64 {
	if len(t.points) < 2 {
		return 0
	}
	a, b := t.points[0], t.points[1]
	dx, dy := b.X-a.X, b.Y-a.Y
	return ((p.X-a.X)*dx + (p.Y-a.Y)*dy) / max(dx*dx+dy*dy, 1e-9)
}

// sortVias puts the clicks on the way in order from the orifice on.
func (d *Desk) sortVias() {
	t := d.task
	slices.SortStableFunc(t.points[2:], func(a, b measure.Point) int { return cmp.Compare(t.place(a), t.place(b)) })
}

// clicks returns what the assistant is given.
func (t *task) clicks() assist.Clicks {
	return assist.Clicks{Orifice: t.points[0], Apex: t.points[1], Via: slices.Clone(t.points[2:]), Beside: t.beside}
}

// findCanal asks for the line between the clicks and shows it; then is done
// next.
func (d *Desk) findCanal(then func()) {
	t, a, id := d.task, d.session.assistant, d.session.image
	clicks := t.clicks()
	t.found = nil
	find := func() func() {
		l, err := a.Canal(id, clicks)
		return func() {
			if d.task != t {
				return
			}
			if err != nil && t.beside {
				t.beside = false
				d.findCanal(func() { d.say(wording.Say("No other canal stands out beside this line.")) })
				return
			}
			if err != nil {
				t.points = t.points[:len(t.points)-1]
				t.reference = nil
				d.session.dismiss()
				d.say(problem(err))
				return
			}
			t.found = &l
			d.draftCanal(d.hand.at)
			if then != nil {
				then()
				return
			}
			d.say(told(l.Cautions))
		}
	}
	d.promise(func() { d.keepClicks(t) }, find)
}

// keepClicks keeps the clicks themselves as marks, when there is no time for
// the line.
func (d *Desk) keepClicks(t *task) {
	if d.task != t || len(t.points) < 2 {
		return
	}
	marks := slices.Concat(t.points[:1], t.points[2:], t.points[1:2])
	d.keep(t, t.from(t.reference, marks), measure.ByHand)
}

// keepCanal keeps the line found, once it is found.
func (d *Desk) keepCanal() {
	t := d.task
	save := func() {
		l := *t.found
		d.keep(t, t.from(t.reference, l.Marks), measure.ByAssist)
		switch {
		case t.reference == nil:
			d.say(wording.Say("%s is kept, measured from its orifice: no coronal reference point is marked.", capital(t.title())))
		default:
			d.caution(l.Cautions)
		}
	}
	if t.found != nil {
		save()
		return
	}
	d.findCanal(save)
}

// draftCanal shows the line found, from the mouse on where a click would be the
// coronal reference point.
func (d *Desk) draftCanal(mouse measure.Point) {
	t := d.task
	if t.found == nil {
		return
	}
	reference := t.reference
	if (d.hand.inside || d.hand.placing) && t.place(mouse) < highest && reference == nil {
		reference = &mouse
	}
	marks := t.from(reference, t.found.Marks)
	d.session.propose(func(im *measure.ImageMarks) { t.put(im, marks) })
}

// from puts the coronal reference point, where there is one, before the marks
// from the orifice on.
func (t *task) from(reference *measure.Point, marks []measure.Point) []measure.Point {
	t.above = 0
	if reference == nil || reference.Dist(marks[0]) < 1 { // the orifice is the reference point
		return marks
	}
	t.above = 1
	return append([]measure.Point{measure.Pt(reference.X, reference.Y)}, marks...)
}

// followApex makes ready for a line that follows the mouse from the orifice.
func (d *Desk) followApex() {
	t, a, id := d.task, d.session.assistant, d.session.image
	orifice := t.points[0]
	d.ask(func() func() {
		pull, err := a.From(id, orifice)
		return func() {
			if err == nil && d.task == t && len(t.points) == 1 {
				t.pull = pull
			}
		}
	})
}

// besideLine traces the canal beside the one that was found, or goes back to
// that.
func (d *Desk) besideLine() {
	t := d.task
	if t == nil || !t.assisted || t.kind != canal || t.found == nil {
		d.say(wording.Say("While a line is traced: the canal beside the one that was found."))
		d.refresh()
		return
	}
	t.beside = !t.beside
	d.findCanal(nil)
	d.refresh()
}

// draftApex shows the line from the orifice to the mouse.
func (d *Desk) draftApex(mouse measure.Point) {
	t := d.task
	pull := t.pull
	if pull == nil {
		return
	}
	d.ask(func() func() {
		c, err := pull.To(mouse)
		return func() {
			if err != nil || d.task != t || len(t.points) != 1 || !d.hand.inside {
				return
			}
			d.session.propose(func(im *measure.ImageMarks) { t.put(im, c.Marks) })
		}
	})
}
