package desk

import (
	"math"
	"slices"

	"rootrule/app/wording"
	"rootrule/measure"
)

// swelling is how far the selected outline was moved outward, and from where.
type swelling struct {
	item     item
	from, to []measure.Point
	px       float64
}

// swellStep is how far a key moves an outline, in image pixels; swellMost how
// far it can be moved in all. By trial.
const (
	swellStep = 1.0
	swellMost = 15.0
)

// swollen returns how far the selected outline was moved outward so far.
func (d *Desk) swollen() *swelling {
	s, it := &d.swelling, d.selected.item
	marks := marksOf(d.session.saved(), it)
	if s.item != it || !slices.Equal(s.to, marks) {
		*s = swelling{item: it, from: marks, to: marks}
	}
	return s
}

// swellable reports whether the selected item is an outline found by the
// program, which can be moved outward and inward.
func (d *Desk) swellable() bool {
	return d.task == nil && d.selected.kind == lesion && isAssisted(d.session.saved(), d.selected.item)
}

// swell moves the selected outline to px outward of where it was found; kept
// says whether as a step or as a draft.
func (d *Desk) swell(px float64, kept bool) {
	if !d.swellable() {
		d.say(wording.Say("Select an outline that was found from one click: it can be moved outward and inward."))
		d.refresh()
		return
	}
	d.settle()
	px = math.Min(math.Max(px, -swellMost), swellMost)
	s, a, id := d.swollen(), d.session.assistant, d.session.image
	from, it := s.from, s.item
	d.ask(func() func() {
		o, err := a.Shifted(id, from, px)
		return func() {
			change := func(im *measure.ImageMarks) { im.Lesions[it.index].Outline = slices.Clone(o.Marks) }
			switch {
			case err != nil:
				d.session.dismiss()
				d.say(problem(err))
			case !kept:
				d.session.propose(change)
			default:
				d.reshape(wording.Say("move the outline of %s", nameOf(d.session.saved(), it)), it, change)
				d.swelling = swelling{it, from, marksOf(d.session.saved(), it), px}
				d.say(wording.Say("The outline is moved by %+.1f px.", px))
			}
		}
	})
}

// swellByKey moves the selected outline outward, with Shift inward.
func (d *Desk) swellByKey() {
	step := swellStep
	if d.keys.shift {
		step = -step
	}
	d.swell(d.swollen().px+step, true)
}
