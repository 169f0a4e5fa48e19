package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// choice of what can be done, as menu items: those of the mark or the item
// that is selected.
func (d *Desk) choices() []*fyne.MenuItem {
	im, g := d.session.saved(), d.selected
	if !exists(im, g.item) {
		return nil
	}
	var out []*fyne.MenuItem
	switch g.kind {
	case canal:
		out = d.canalChoices(im.Canals[g.index], g)
	case lesion:
		out = d.lesionChoices(im.Lesions[g.index], g.item)
	case filling, void:
		out = []*fyne.MenuItem{
			d.offer(wording.Say("Mark a width of the filling"), func() { d.start(width) }),
			d.offer(wording.Say("Outline a void in the filling"), func() { d.start(void) }),
			d.offer(wording.Say("There is no void"), d.noVoid),
		}
	case obstruction:
		out = []*fyne.MenuItem{d.offer(wording.Say("Mark the root surface beside it"), func() { d.start(dentineSide) })}
	case post:
		out = []*fyne.MenuItem{
			d.offer(wording.Say("Mark the top of the crown"), func() { d.start(postTop) }),
			d.offer(wording.Say("Mark the crown margin"), func() { d.start(postMargin) }),
			d.offer(wording.Say("Mark the apex of the root"), func() { d.start(postApex) }),
		}
	}
	return append(out, d.deletions(g)...)
}

// offer is one thing that can be done; the keys go back to the bench.
func (d *Desk) offer(label string, do func()) *fyne.MenuItem {
	return fyne.NewMenuItem(label, func() {
		do()
		d.refresh()
		d.focusBench()
	})
}

// deletions offers to delete the selected mark and its item.
func (d *Desk) deletions(g grip) []*fyne.MenuItem {
	im := d.session.saved()
	out := []*fyne.MenuItem{fyne.NewMenuItemSeparator()}
	if g.mark >= 0 && !neededFor(im, g) {
		out = append(out, d.offer(wording.Say("Delete %s", markName(im, g)), d.remove))
	}
	return append(out, d.offer(wording.Say("Delete %s", nameOf(im, g.item)), func() {
		d.selected.mark = -1
		d.remove()
	}))
}

// canalChoices says what a mark of a canal can be.
func (d *Desk) canalChoices(c measure.Canal, g grip) []*fyne.MenuItem {
	var out []*fyne.MenuItem
	last := len(c.Marks) - 1
	if g.mark >= 0 && g.mark < last && g.mark != c.Orifice {
		out = append(out, d.offer(wording.Say("The orifice is here"), func() { d.setOrifice(g) }))
	}
	if g.mark > c.Orifice && g.mark < last && !isStart(c, g.mark) {
		out = append(out, d.offer(wording.Say("The curve starts here"), func() { d.setCurveStart(g.index, &g.mark) }))
	}
	if c.CurveStart != nil {
		out = append(out, d.offer(wording.Say("Find the start of the curve from the trace"), func() { d.setCurveStart(g.index, nil) }))
	}
	return append(out,
		d.offer(wording.Say("Mark the root filling of this canal"), func() { d.start(filling) }),
		d.offer(wording.Say("Mark an instrument left in this canal"), func() { d.startAs(obstruction, measure.ObstructionInstrument) }))
}

func isStart(c measure.Canal, mark int) bool { return c.CurveStart != nil && *c.CurveStart == mark }

// setOrifice makes a mark the orifice of its canal.
func (d *Desk) setOrifice(g grip) {
	d.edit(wording.Say("orifice of %s", nameOf(d.session.saved(), g.item)), func(im *measure.ImageMarks) error {
		c := &im.Canals[g.index]
		c.Orifice = g.mark
		if c.CurveStart != nil && *c.CurveStart <= g.mark {
			c.CurveStart = nil
		}
		return nil
	})
}

// setCurveStart makes a mark the start of the curve of a canal; nil: it is
// found from the trace.
func (d *Desk) setCurveStart(index int, mark *int) {
	of := nameOf(d.session.saved(), item{canal, index})
	d.edit(wording.Say("start of the curve of %s", of), func(im *measure.ImageMarks) error {
		im.Canals[index].CurveStart = mark
		return nil
	})
}

// lesionChoices offers the reader's two scores and, for an outline that was
// found, moving it.
func (d *Desk) lesionChoices(l measure.Lesion, it item) []*fyne.MenuItem {
	first := fyne.NewMenuItem(wording.Say("Periapical index, first reading"), nil)
	first.ChildMenu = d.scores(l.PAI, func(score *int) { d.setPAI(it.index, score, false) })
	second := fyne.NewMenuItem(wording.Say("Periapical index, second reading"), nil)
	second.ChildMenu = d.scores(l.PAI2, func(score *int) { d.setPAI(it.index, score, true) })
	out := []*fyne.MenuItem{first, second}
	if isAssisted(d.session.saved(), it) {
		out = append(out,
			d.offer(wording.Say("Move the outline outward"), func() { d.swell(d.swollen().px+swellStep, true) }),
			d.offer(wording.Say("Move the outline inward"), func() { d.swell(d.swollen().px-swellStep, true) }))
	}
	return out
}

// paiWords are the five scores of the periapical index (Ørstavik, Kerekes &
// Eriksen 1986, Endod Dent Traumatol 2:20–34).
func paiWords() []string {
	return []string{
		wording.Say("1: normal periapical structures"),
		wording.Say("2: small changes in bone structure"),
		wording.Say("3: changes in bone structure with some mineral loss"),
		wording.Say("4: periodontitis with a well-defined radiolucent area"),
		wording.Say("5: severe periodontitis with exacerbating features"),
	}
}

// scores is the menu of the index; the present score has a tick.
func (d *Desk) scores(now *int, set func(*int)) *fyne.Menu {
	var out []*fyne.MenuItem
	for i, words := range paiWords() {
		score := i + 1
		m := d.offer(words, func() { set(&score) })
		m.Checked = now != nil && *now == score
		out = append(out, m)
	}
	none := d.offer(wording.Say("Not scored"), func() { set(nil) })
	none.Checked = now == nil
	return fyne.NewMenu("", append(out, none)...)
}

// setPAI keeps a reading of the periapical index.
func (d *Desk) setPAI(index int, score *int, second bool) {
	of := nameOf(d.session.saved(), item{lesion, index})
	d.edit(wording.Say("periapical index of %s", of), func(im *measure.ImageMarks) error {
		if second {
			im.Lesions[index].PAI2 = score
		} else {
			im.Lesions[index].PAI = score
		}
		return nil
	})
}

// noVoid records that the selected filling was looked at and has no void.
func (d *Desk) noVoid() {
	it := d.selected.item
	if it.kind == void {
		it = ownerOf(d.session.saved(), it)
	}
	d.edit(wording.Say("no void in %s", nameOf(d.session.saved(), it)), func(im *measure.ImageMarks) error {
		im.Fillings[it.index].Voids = [][]measure.Point{}
		return nil
	})
	d.selected = grip{it, -1}
}

// moreMarks are the tasks that have no button of their own.
func (d *Desk) moreMarks() []*fyne.MenuItem {
	begin := func(label string, k kind, way string) *fyne.MenuItem {
		return d.offer(label, func() { d.startAs(k, way) })
	}
	return []*fyne.MenuItem{
		begin(wording.Say("Root filling: end and apex"), filling, ""),
		begin(wording.Say("Width of the filling"), width, ""),
		begin(wording.Say("Void in the filling"), void, ""),
		fyne.NewMenuItemSeparator(),
		begin(wording.Say("Separated instrument"), obstruction, measure.ObstructionInstrument),
		begin(wording.Say("Metal point in the way"), obstruction, measure.ObstructionMetalPoint),
		begin(wording.Say("Post in the way"), obstruction, measure.ObstructionPost),
		begin(wording.Say("Root surface beside an obstruction"), dentineSide, ""),
		fyne.NewMenuItemSeparator(),
		begin(wording.Say("Post"), post, ""),
		begin(wording.Say("Top of the crown"), postTop, ""),
		begin(wording.Say("Crown margin"), postMargin, ""),
		begin(wording.Say("Apex of the root with the post"), postApex, ""),
	}
}

// showChoices opens the menu of what is selected beside it.
func (d *Desk) showChoices() {
	if items := d.choices(); len(items) > 0 {
		d.popUp(items, d.besideSelected())
	}
}

// showMoreMarks opens the menu of further marks below its button.
func (d *Desk) showMoreMarks() {
	b := d.parts["more marks"]
	pos := fyne.CurrentApp().Driver().AbsolutePositionForObject(b)
	d.popUp(d.moreMarks(), pos.AddXY(0, b.Size().Height))
}

// popUp opens a menu; Escape and a click elsewhere close it.
func (d *Desk) popUp(items []*fyne.MenuItem, at fyne.Position) {
	m := widget.NewPopUpMenu(fyne.NewMenu("", items...), d.o.Window.Canvas())
	m.OnDismiss = func() {
		m.Hide()
		d.popped = nil
		d.focusBench()
		d.prober.changed()
	}
	d.popped = m
	m.ShowAtPosition(at)
	d.prober.changed()
}

// besideSelected is where the selected mark, or the middle of the selected
// item's line, is in the window.
func (d *Desk) besideSelected() fyne.Position {
	im, g := d.session.saved(), d.selected
	marks := marksOf(im, g.item)
	p := marks[len(marks)/2]
	if g.mark >= 0 {
		p = marks[g.mark]
	}
	x, y := d.bench.view.Snapped().ToScreen(p.X, p.Y)
	size := d.bench.Size()
	inside := func(v float64, most float32) float32 { return min(max(float32(v/d.bench.ratio), 0), most) }
	pos := fyne.CurrentApp().Driver().AbsolutePositionForObject(d.bench)
	return pos.AddXY(inside(x, size.Width)+grab, inside(y, size.Height)+grab)
}
