package desk

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

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
	closing := widget.NewButton("Close", func() { g.clear(); d.refresh() })
	d.parts["close message"] = closing
	back := canvas.NewRectangle(colourRaised)
	back.StrokeColor, back.StrokeWidth = colourAlarm, 2
	g.banner = container.NewStack(back, container.NewPadded(container.NewBorder(nil, nil, nil,
		container.NewVBox(layout.NewSpacer(), closing, layout.NewSpacer()), container.New(tight{theme.InnerPadding()}, g.what, g.hint))))
	g.banner.Hide()
	g.box = container.NewVBox(container.New(roomFor{lines: 2}, g.line), g.banner)
	return g
}

// update says what the next click will do.
func (g *guide) update() {
	text := join(g.desk.notice, g.desk.next())
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
		return "The radiograph is being read."
	case d.session == nil:
		return "Drop a radiograph here, or press Open image."
	case im == nil:
		return "Drop the first radiograph of this case here, or press Open image."
	case !d.session.ready:
		return "This radiograph can't be shown. Choose another one at the left."
	case d.hand.holding != nowhere:
		return "Let go where " + theMark(markName(im, d.hand.holding)) + " belongs."
	case d.toneMode && d.task == nil:
		return "Drag on the image: up for brighter, to the right for more contrast. Escape leaves this."
	case d.task != nil && d.hand.over != nowhere:
		return d.overOwn()
	case d.task != nil:
		return d.task.next()
	}
	return d.nextWithoutTask()
}

// overOwn says what a press on a mark of the task will do.
func (d *Desk) overOwn() string {
	if d.closes(d.hand.over) {
		return "Click the first mark to close the outline, or drag it to correct it."
	}
	return "Drag " + theMark(markName(d.session.saved(), d.hand.over)) + " to correct it, or press Enter to end here."
}

func (d *Desk) nextWithoutTask() string {
	im := d.session.saved()
	_, scaled := d.session.scale()
	switch {
	case d.hand.over.mark >= 0 && d.hand.over.kind != nothing:
		return "Drag to move " + theMark(markName(im, d.hand.over)) + "."
	case d.hand.over.kind != nothing:
		return d.overLine(im)
	case d.selected.mark >= 0 && d.selected.kind != nothing && d.notice == "":
		return capital(theMark(markName(im, d.selected))) + " is selected: arrow keys move it by 0.1 px, Shift by 1 px, Delete removes it."
	case isStated(im, d.selected.item) && d.notice == "":
		return "The stated spacing is selected: Delete removes it."
	case d.selected.kind != nothing && d.notice == "":
		return capital(nameOf(im, d.selected.item)) + " is selected: drag its marks to correct it; Delete removes it."
	case !scaled && len(im.Canals) == 0:
		return "Press Calibrate, then click along a file of known length."
	case !scaled:
		return "Lengths are in px: press Calibrate, then click along a file of known length."
	case len(im.Canals) == 0:
		return "Press Trace canal, then click from the coronal reference point to the apex."
	}
	return "Drag a mark to correct it, or press Trace canal for the next canal."
}

// overLine says what a press on a line will do.
func (d *Desk) overLine(im *measure.ImageMarks) string {
	it := d.hand.over.item
	if full(im, it) {
		return "Click to select " + nameOf(im, it) + "."
	}
	return "Click to select " + nameOf(im, it) + "; double-click to add a mark to it."
}

// theMark puts the article before a mark's name.
func theMark(name string) string { return "the " + name }

// plural counts things.
func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
