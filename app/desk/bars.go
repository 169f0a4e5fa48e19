package desk

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// header says whose case is on the desk and whether it is saved.
type header struct {
	desk       *Desk
	who        *widget.Label
	state      *canvas.Text
	edit       *widget.Button
	undo, redo *widget.Button
	box        fyne.CanvasObject
}

func newHeader(d *Desk) *header {
	h := &header{desk: d}
	h.who = bold()
	h.who.SizeName = theme.SizeNameHeadingText
	h.who.Truncation = fyne.TextTruncateEllipsis
	h.state = text("", colourMuted, sizeText, false)
	h.edit = d.button("case", "Edit", d.askForRename)
	h.undo = d.button("undo", "Undo", d.undo)
	h.redo = d.button("redo", "Redo", d.redo)
	buttons := container.NewHBox(h.edit, gap(8), container.NewCenter(h.state), gap(8), h.undo, h.redo,
		d.button("cases", "Cases", d.showHome), d.button("new case", "New case", d.askForNewCase),
		d.button("about", "Cautions", d.showAbout))
	row := container.NewBorder(nil, nil, nil, buttons, h.who)
	h.box = container.NewStack(canvas.NewRectangle(colourPanel), container.NewPadded(row))
	return h
}

// gap is empty room between parts of a row.
func gap(width float32) fyne.CanvasObject {
	r := canvas.NewRectangle(color.Transparent)
	r.SetMinSize(fyne.NewSize(width, 1))
	return r
}

// button makes a named button that gives the keys back to the bench.
func (d *Desk) button(name, label string, do func()) *widget.Button {
	b := widget.NewButton(label, func() {
		do()
		if d.open == nil {
			d.giveBack()
		}
		d.prober.changed()
	})
	d.parts[name] = b
	return b
}

func (h *header) update() {
	s := h.desk.session
	who, state, colour := "No case is open", "", colourMuted
	if s != nil {
		who, state = caseTitle(s.kase.Code(), s.kase.Tooth()), "All is saved"
	}
	if h.desk.unsaved {
		state, colour = "The last step is not saved", colourAlarm
	}
	if h.who.Text != who {
		h.who.SetText(who)
	}
	able(h.edit, s != nil)
	h.state.Color = colour
	setText(h.state, state)
	_, undo := s.canUndo()
	_, redo := s.canRedo()
	able(h.undo, undo)
	able(h.redo, redo)
}

// caseTitle names a case in the header and in lists.
func caseTitle(code, tooth string) string {
	if code == "" {
		code = wording.Say("without a code")
	}
	if tooth == "" {
		return wording.Say("Case %s · no tooth yet", code)
	}
	return wording.Say("Case %s · tooth %s", code, wording.Tooth(tooth))
}

// taskBar stands over the bench and has the tasks.
type taskBar struct {
	desk  *Desk
	tasks map[kind]*widget.Button
	more  *moreBar
	two   *widget.Button
	box   fyne.CanvasObject
}

func newTaskBar(d *Desk) *taskBar {
	t := &taskBar{desk: d, tasks: map[kind]*widget.Button{
		calibration: d.button("calibrate", "Calibrate", func() { d.start(calibration) }),
		canal:       d.button("trace canal", "Trace canal", func() { d.start(canal) }),
		lesion:      d.button("outline lesion", "Outline lesion", func() { d.start(lesion) }),
	}}
	t.more = newMoreBar(d)
	t.two = d.button("compare", wording.Say("Compare"), d.compare)
	t.box = container.NewPadded(container.New(flow{}, t.tasks[calibration], t.tasks[canal], t.tasks[lesion], t.more.button, t.more.box,
		gap(24), t.two))
	return t
}

// update marks the task under way. The sentence below and the card on the
// worksheet say it too.
func (t *taskBar) update() {
	d := t.desk
	for k, b := range t.tasks {
		lit(b, d.task != nil && d.task.kind == k)
	}
	t.more.update()
	lit(t.two, d.pair != nil)
}

func lit(b *widget.Button, on bool) {
	importance := widget.MediumImportance
	if on {
		importance = widget.HighImportance
	}
	if b.Importance != importance {
		b.Importance = importance
		b.Refresh()
	}
}
