package desk

import (
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// details is the card at the foot of the worksheet: what can be typed about
// the task under way or about what is selected, and how to end it.
type details struct {
	desk *Desk
	name *canvas.Text

	forms  map[kind]*fyne.Container
	choice *choice // of the kind of a calibration
	known, knownU,
	tooth, canalName, offset,
	lesionTooth, lesionName *field

	done, discard *widget.Button
	box           *fyne.Container
	shown         shownForm
}

// shownForm is what decides about the parts of the card.
type shownForm struct {
	kind kind
	task bool
	way  string // of a calibration
	says string // about the stated spacing
}

func newDetails(d *Desk) *details {
	c := &details{desk: d, name: text("", colourText, sizeText+2, true)}
	c.known = newField(d, "known length", d.setKnown)
	c.knownU = newField(d, "known length uncertainty", d.setKnownU)
	c.tooth = newField(d, "tooth", d.setTooth)
	c.canalName = newField(d, "name", d.setName)
	c.offset = newField(d, "offset", d.setOffset)
	c.lesionTooth = newField(d, "lesion tooth", d.setTooth)
	c.lesionName = newField(d, "lesion name", d.setName)
	c.forms = map[kind]*fyne.Container{
		calibration: d.form(labelled{wording.Say("Known length, mm"), c.known, 62}, labelled{wording.Say("std. uncertainty, mm"), c.knownU, 56}),
		canal: d.form(labelled{wording.Say("Tooth"), c.tooth, 56}, labelled{wording.Say("Name"), c.canalName, 76},
			labelled{wording.Say("Offset, mm"), c.offset, 60}),
		lesion: d.form(labelled{wording.Say("Tooth"), c.lesionTooth, 56}, labelled{wording.Say("Name"), c.lesionName, 76}),
	}
	c.choice = newChoice(d)
	c.done = d.button("done", wording.Say("Done  (Enter)"), d.finish)
	c.done.Importance = widget.HighImportance
	c.discard = d.button("discard", "", c.dispose)
	back := canvas.NewRectangle(colourChosen)
	back.CornerRadius = 4
	inner := container.NewVBox(c.name, c.choice.box, c.forms[calibration], c.forms[canal], c.forms[lesion], d.more.swell,
		container.NewHBox(c.done, c.discard))
	c.box = container.NewStack(back, container.NewPadded(container.NewPadded(inner)))
	return c
}

// dispose discards the task, or deletes the selection.
func (c *details) dispose() {
	if c.desk.task != nil {
		c.desk.escape()
		return
	}
	c.desk.selected.mark = -1
	c.desk.remove()
}

// update shows the card for the task or the selection.
func (c *details) update() {
	d := c.desk
	it := d.subject()
	if it.kind == nothing {
		if c.box.Visible() {
			c.box.Hide()
			d.sheet.box.Refresh()
		}
		return
	}
	for k, f := range c.forms {
		f.Hidden = k != it.kind || isStated(d.session.saved(), it)
	}
	c.choice.box.Hidden = it.kind != calibration
	c.done.Hidden = d.task == nil
	what, label := wording.Say("Selected: %s", c.title(it)), wording.Say("Delete")
	if d.task != nil {
		what, label = wording.Say("Now: %s", c.title(it)), wording.Say("Discard  (Esc)")
	}
	setText(c.name, what)
	if c.discard.Text != label {
		c.discard.SetText(label)
	}
	c.fill(it)
	form := shownForm{kind: it.kind, task: d.task != nil}
	if it.kind == calibration {
		form.way, form.says = d.wayOf(it), c.choice.says.Text
	}
	if form != c.shown || !c.box.Visible() {
		c.shown = form
		c.box.Show()
		c.box.Refresh()
		d.sheet.box.Refresh()
	}
}

func (c *details) title(it item) string {
	if c.desk.task != nil {
		return c.desk.task.title()
	}
	return nameOf(c.desk.session.saved(), it)
}

// fill shows the values of the subject.
func (c *details) fill(it item) {
	tooth, name := c.desk.labelled()
	switch it.kind {
	case calibration:
		c.choice.update(it)
		l, u := c.knownLength(it)
		c.known.set(plain(l))
		c.knownU.set(plain(u))
	case canal:
		c.tooth.set(tooth)
		c.canalName.set(name)
		c.offset.set(plain(c.offsetOf(it)))
		able(c.offset, marksOf(c.desk.session.saved(), it) != nil)
	case lesion:
		c.lesionTooth.set(tooth)
		c.lesionName.set(name)
	}
}

// able makes a control usable, or not while there is nothing it could change.
func able(f fyne.Disableable, on bool) {
	switch {
	case on && f.Disabled():
		f.Enable()
	case !on && !f.Disabled():
		f.Disable()
	}
}

func (c *details) knownLength(it item) (length, u float64) {
	if t := c.desk.task; t != nil {
		return t.known, t.u
	}
	q := known(c.desk.session.saved().Calibration[it.index])
	return q.Value, q.StdUnc
}

// usualOffset is the distance from the radiographic apex at which a working
// length usually ends, in mm (Weine, without resorption).
const usualOffset = 1.0

func (c *details) offsetOf(it item) float64 {
	if im := c.desk.session.saved(); it.index < len(im.Canals) && im.Canals[it.index].OffsetMM != nil {
		return *im.Canals[it.index].OffsetMM
	}
	return usualOffset
}

// plain shows a typed number with as many digits as it needs.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
