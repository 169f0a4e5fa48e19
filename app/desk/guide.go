package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// guide is the line above the bench that says what the next click will do, and
// the banner that says what went wrong.
type guide struct {
	desk   *Desk
	line   *widget.Label
	text   string // of the line
	banner *fyne.Container
	what   *widget.Label
	hint   *widget.Label
	box    fyne.CanvasObject
}

func newGuide(d *Desk) *guide {
	g := &guide{desk: d, line: widget.NewLabel(""), what: widget.NewLabel(""), hint: widget.NewLabel("")}
	g.line.SizeName = theme.SizeNameSubHeadingText
	g.line.Wrapping = fyne.TextWrapWord
	g.what.Wrapping, g.hint.Wrapping = fyne.TextWrapWord, fyne.TextWrapWord
	g.what.TextStyle.Bold = true
	g.what.Importance = widget.DangerImportance
	closing := widget.NewButton(wording.Say("Close"), func() { g.clear(); d.refresh() })
	d.parts["close message"] = closing
	back := canvas.NewRectangle(colourRaised)
	back.StrokeColor, back.StrokeWidth = colourAlarm, 2
	g.banner = container.NewStack(back, container.NewPadded(container.NewBorder(nil, nil, nil,
		container.NewVBox(layout.NewSpacer(), closing, layout.NewSpacer()), container.New(tight{theme.InnerPadding()}, g.what, g.hint))))
	g.banner.Hide()
	g.box = container.NewVBox(container.New(roomFor{lines: 2}, g.line), g.banner)
	return g
}

// alone is the length from which on what just happened stands alone, so that
// the line stays within the room it has: a bench that moves under the mouse
// makes a click miss.
const alone = 90

// update says what the next click will do.
func (g *guide) update() {
	text := g.desk.notice
	if g.desk.task != nil || len(text) < alone {
		text = join(text, g.desk.next())
	}
	if text != g.text {
		g.text = text
		g.line.SetText(text)
	}
}

// alarm shows an error until it is closed or the next thing is done.
func (g *guide) alarm(line, hint string) {
	g.what.SetText(line)
	g.hint.SetText(hint)
	g.hint.Hidden = hint == ""
	g.banner.Show()
}

// more adds a sentence to the hint.
func (g *guide) more(text string) {
	g.hint.SetText(join(g.hint.Text, text))
	g.hint.Show()
}

func (g *guide) clear() {
	if g.banner.Visible() {
		g.banner.Hide()
	}
}

// error returns the text of the banner, empty when there is none.
func (g *guide) error() string {
	if !g.banner.Visible() {
		return ""
	}
	return join(g.what.Text, g.hint.Text)
}

// next says what the next click will do.
func (d *Desk) next() string {
	im := d.session.saved()
	switch {
	case d.pending != nil:
		return wording.Say("The radiograph is being read.")
	case d.session == nil:
		return wording.Say("Drop a radiograph here, or press Open image.")
	case im == nil:
		return wording.Say("Drop the first radiograph of this case here, or press Open image.")
	case !d.session.ready:
		return wording.Say("This radiograph can't be shown. Choose another one at the left.")
	case d.again != nil:
		return d.nextAgain()
	case d.pairing != nil:
		return d.nextPair()
	case d.hand.holding != nowhere:
		return wording.Say("Let go where %s belongs.", markName(im, d.hand.holding))
	case d.helping.instead != nil && d.task == nil, d.helping.waiting && d.task != nil && d.task.kind == lesion:
		return wording.Say("It is being found.")
	case d.toneMode && d.task == nil:
		return wording.Say("Drag on the image: up for brighter, to the right for more contrast. Escape leaves this.")
	case d.task != nil && d.hand.over != nowhere:
		return d.overOwn()
	case d.task != nil && d.cursor.on:
		return join(d.task.next(), wording.Say("Enter clicks at the cross."))
	case d.task != nil:
		return d.task.next()
	case d.pair != nil && d.hand.over == nowhere && d.selected == nowhere:
		return d.nextInPair()
	}
	return d.nextWithoutTask(im)
}

// overOwn says what a press on a mark of the task will do.
func (d *Desk) overOwn() string {
	if d.closes(d.hand.over) {
		return wording.Say("Click the first mark to close the outline, or drag it to correct it.")
	}
	return wording.Say("Drag %s to correct it, or press Enter to end here.", markName(d.session.saved(), d.hand.over))
}

func (d *Desk) nextWithoutTask(im *measure.ImageMarks) string {
	_, scaled := d.session.scale()
	over, selected := d.hand.over, d.selected
	switch {
	case over.mark >= 0 && over.kind != nothing:
		return wording.Say("Drag to move %s; the right button offers more.", markName(im, over))
	case over.kind != nothing:
		return d.overLine(im)
	case d.cursor.on:
		return wording.Say("Arrow keys move the cross, with Shift finely; Enter selects what is there.")
	case selected.kind != nothing && d.notice == "":
		return d.ofSelected(im, selected)
	case !scaled && len(im.Canals) == 0:
		return wording.Say("Press Calibrate, then click a file of known length.")
	case !scaled:
		return wording.Say("Lengths are in px: press Calibrate, then click a file of known length.")
	case len(im.Canals) == 0:
		return wording.Say("Press Trace canal: orifice, apex and coronal reference point are clicked.")
	}
	return wording.Say("Drag a mark to correct it, or press Trace canal for the next canal.")
}

// ofSelected says what can be done with what is selected.
func (d *Desk) ofSelected(im *measure.ImageMarks, g grip) string {
	switch {
	case g.mark >= 0:
		return wording.Say("%s is selected: arrow keys move it by 0.1 px, Shift by 1 px, Delete removes it, M offers more.", capital(markName(im, g)))
	case isStated(im, g.item):
		return wording.Say("The stated spacing is selected: Delete removes it.")
	case d.swellable():
		return wording.Say("%s (%s) is selected: drag its edge, E moves it outward, Shift+E inward, M offers more.", capital(nameOf(im, g.item)), madeWords(im, g.item))
	case madeWords(im, g.item) != "":
		return wording.Say("%s (%s) is selected: drag its marks, Delete removes it, M offers more.", capital(nameOf(im, g.item)), madeWords(im, g.item))
	}
	return wording.Say("%s is selected: drag its marks, Delete removes it, M offers more.", capital(nameOf(im, g.item)))
}

// overLine says what a press on a line will do, and how its marks came about.
func (d *Desk) overLine(im *measure.ImageMarks) string {
	it := d.hand.over.item
	name := nameOf(im, it)
	if by := madeWords(im, it); by != "" {
		name += " (" + by + ")"
	}
	if full(im, it) {
		return wording.Say("Click to select %s.", name)
	}
	return wording.Say("Click to select %s; double-click to add a mark to it.", name)
}
