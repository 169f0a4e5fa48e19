package desk

import (
	"math"
	"slices"

	"rootrule/app/wording"
	"rootrule/measure"
)

// shape gives an assisted item anew when one of its marks is at a point: what
// is to be changed in the image. While the mark is dragged it answers quickly,
// when it is dropped with care. It runs beside the main goroutine.
type shape func(to measure.Point, dropped bool) (change func(*measure.ImageMarks), cautions []string, err error)

// shaping returns what makes the shape of the item of a mark; nil where the
// mark moves alone: by hand, or in an item made by hand.
func (d *Desk) shaping(g grip) func() (shape, error) {
	im := d.session.saved()
	if d.helping.byHand || !isAssisted(im, g.item) || g.mark >= along(im, g.item) {
		return nil
	}
	switch g.kind {
	case canal:
		return d.canalShape(g, copyOf(*im).Canals[g.index])
	case lesion:
		return d.lesionShape(g, marksOf(im, g.item))
	}
	return nil
}

func (d *Desk) canalShape(g grip, c measure.Canal) func() (shape, error) {
	a, id := d.session.assistant, d.session.image
	return func() (shape, error) {
		pull, err := a.Pull(id, c, g.mark)
		if err != nil {
			return nil, err
		}
		return func(to measure.Point, dropped bool) (func(*measure.ImageMarks), []string, error) {
			var cautions []string
			traced, err := pull.To(to)
			if dropped {
				traced, cautions, err = pull.Drop(to)
			}
			return func(im *measure.ImageMarks) {
				if exists(im, g.item) {
					now := &im.Canals[g.index]
					now.Marks, now.Orifice, now.CurveStart = slices.Clone(traced.Marks), traced.Orifice, traced.CurveStart
				}
			}, cautions, err
		}, nil
	}
}

func (d *Desk) lesionShape(g grip, marks []measure.Point) func() (shape, error) {
	a, id := d.session.assistant, d.session.image
	return func() (shape, error) {
		return func(to measure.Point, _ bool) (func(*measure.ImageMarks), []string, error) {
			o, err := a.Corrected(id, marks, g.mark, to)
			return func(im *measure.ImageMarks) {
				if exists(im, g.item) {
					im.Lesions[g.index].Outline = slices.Clone(o.Marks)
				}
			}, o.Cautions, err
		}, nil
	}
}

// bendNext makes ready for the first move of a drag.
func (d *Desk) bendNext(g grip) {
	d.hand.shape = nil
	make := d.shaping(g)
	if make == nil {
		return
	}
	d.ask(func() func() {
		sh, err := make()
		return func() {
			if err == nil && d.hand.holding == g {
				d.hand.shape = sh
			}
		}
	})
}

// bend draws the item of the held mark as it would be with the mark at a point.
func (d *Desk) bend(to measure.Point) {
	sh, g := d.hand.shape, d.hand.holding
	if sh == nil {
		if d.session.draft == nil || d.shaping(g) == nil {
			d.session.propose(func(im *measure.ImageMarks) { setMark(im, g, to) })
		}
		return
	}
	d.ask(func() func() {
		change, _, err := sh(to, false)
		return func() {
			if err == nil && d.hand.holding == g {
				d.session.propose(change)
			}
		}
	})
}

// bent saves the item of a mark that was dropped at a point.
func (d *Desk) bent(g grip, sh shape, to measure.Point) {
	make := d.shaping(g)
	if make == nil {
		d.moveTo(g, to)
		return
	}
	d.promise(func() { d.moveTo(g, to) }, func() func() {
		var err error
		var change func(*measure.ImageMarks)
		var cautions []string
		if sh == nil {
			sh, err = make()
		}
		if err == nil {
			change, cautions, err = sh(to, true)
		}
		return func() {
			if err != nil {
				d.session.dismiss()
				if g.kind == canal { // the reader has said where the canal runs
					d.moveTo(g, to)
				}
				d.say(problem(err))
				return
			}
			d.reshape(wording.Say("move %s", markName(d.session.saved(), g)), g.item, change)
			d.selected = grip{g.item, nearestPoint(marksOf(d.session.saved(), g.item), to)}
			if len(cautions) > 0 {
				d.say(told(cautions))
			}
		}
	})
}

// reshape saves a change of an assisted item, corrected by hand from then on.
func (d *Desk) reshape(label string, it item, change func(*measure.ImageMarks)) {
	d.edit(label, func(im *measure.ImageMarks) error {
		change(im)
		corrected(im, it)
		return nil
	})
}

// nearestPoint returns the index of the point nearest to p.
func nearestPoint(points []measure.Point, p measure.Point) int {
	best, at := math.Inf(1), 0
	for i, q := range points {
		if d := q.Dist(p); d < best {
			best, at = d, i
		}
	}
	return at
}
