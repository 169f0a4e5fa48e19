package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// leastWindow lets the window be as small as a screen of 1600×1000 at scale 2
// leaves it, whatever its parts ask for: the bench gives way, and no part of
// the window lies beyond the screen.
var leastWindow = atLeast{fyne.NewSize(640, 400)}

// atLeast gives its only object all of the room, but asks for a fixed size.
type atLeast struct{ size fyne.Size }

// MinSize is the fixed size.
func (a atLeast) MinSize([]fyne.CanvasObject) fyne.Size { return a.size }

// Layout gives the object all of it.
func (a atLeast) Layout(objects []fyne.CanvasObject, size fyne.Size) { wide{}.Layout(objects, size) }

// header says whose case is on the desk and whether it is saved.
type header struct {
	desk       *Desk
	who        *whose
	state      *canvas.Text
	edit       *widget.Button
	undo, redo *widget.Button
	box        fyne.CanvasObject
}

// stateWidth is the room that any of the words about saving needs.
func stateWidth() float32 {
	width := func(s string) float32 { return fyne.MeasureText(s, sizeText, fyne.TextStyle{}).Width }
	return max(width(wording.Say("All is saved")), width(wording.Say("The last step is not saved")))
}

func newHeader(d *Desk) *header {
	h := &header{desk: d, who: newWhose(d)}
	h.state = text("", colourMuted, sizeText, false)
	h.state.Alignment = fyne.TextAlignCenter
	h.edit = d.button("case", wording.Say("Edit"), d.askForRename)
	h.undo = d.button("undo", wording.Say("Undo"), d.undo)
	h.redo = d.button("redo", wording.Say("Redo"), d.redo)
	buttons := container.NewHBox(h.edit, gap(4), container.NewStack(gap(stateWidth()), h.state), gap(4), h.undo, h.redo,
		d.button("cases", wording.Say("Cases"), d.showHome), d.button("about", wording.Say("Cautions"), d.showAbout))
	row := container.NewBorder(nil, nil, nil, buttons, h.who)
	h.box = container.NewStack(canvas.NewRectangle(colourPanel), container.NewPadded(row))
	return h
}

func (h *header) update() {
	s := h.desk.session
	state, colour := "", colourMuted
	if s != nil {
		state = wording.Say("All is saved")
	}
	if h.desk.unsaved {
		state, colour = wording.Say("The last step is not saved"), colourAlarm
	}
	h.who.update(s)
	able(h.edit, s != nil)
	h.state.Color = colour
	setText(h.state, state)
	_, undo := s.canUndo()
	_, redo := s.canRedo()
	able(h.undo, undo)
	able(h.redo, redo)
}

// whose names the case on the desk: the patient's code, the name where it was
// typed, and the tooth. The tooth is always in sight: where there is no room
// for all, code and name are cut in their middle, and the mouse over them
// shows the whole.
type whose struct {
	widget.BaseWidget
	desk         *Desk
	text         *canvas.Text
	patient      string
	tooth        string
	open, hidden bool // a case is open; not all is in sight
}

func newWhose(d *Desk) *whose {
	w := &whose{desk: d, text: text("", colourText, sizeHead, true)}
	w.ExtendBaseWidget(w)
	d.parts["whose"] = w
	return w
}

func (w *whose) update(s *session) {
	patient, tooth := "", ""
	if s != nil {
		patient, tooth = s.kase.Code(), s.kase.Tooth()
		if name := s.kase.Name(); name != "" {
			patient += " · " + name
		}
	}
	if w.patient == patient && w.tooth == tooth && w.open == (s != nil) && w.text.Text != "" {
		return
	}
	w.patient, w.tooth, w.open = patient, tooth, s != nil
	w.fit(w.Size().Width)
}

// say is the whole line for what is shown of the patient.
func (w *whose) say(patient string) string {
	if !w.open {
		return wording.Say("No case is open")
	}
	return caseTitle(patient, w.tooth)
}

// fit shows as much of the patient as a width has room for.
func (w *whose) fit(width float32) {
	line := w.say(w.patient)
	letters := []rune(w.patient)
	for keep := len(letters) - 1; keep >= 2 && w.wide(line) > width; keep-- {
		line = w.say(string(letters[:(keep+1)/2]) + "…" + string(letters[len(letters)-keep/2:]))
	}
	if width > 0 {
		line = fitted(line, w.text, max(width-2*theme.Padding(), w.wide("MM")))
	}
	w.hidden = line != w.say(w.patient)
	setText(w.text, line)
}

func (w *whose) wide(line string) float32 {
	return fyne.MeasureText(line, w.text.TextSize, w.text.TextStyle).Width + 2*theme.Padding()
}

// CreateRenderer shows the line in the middle of the height.
func (w *whose) CreateRenderer() fyne.WidgetRenderer { return &whoseRenderer{w} }

type whoseRenderer struct{ w *whose }

func (r *whoseRenderer) Destroy()                     {}
func (r *whoseRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.w.text} }
func (r *whoseRenderer) Refresh()                     { r.w.text.Refresh() }

// MinSize has room for a few letters of the patient, and for the tooth.
func (r *whoseRenderer) MinSize() fyne.Size {
	return fyne.NewSize(r.w.wide(r.w.say("MM…MM")), r.w.text.MinSize().Height)
}

func (r *whoseRenderer) Layout(size fyne.Size) {
	r.w.fit(size.Width)
	m := r.w.text.MinSize()
	r.w.text.Resize(fyne.NewSize(size.Width, m.Height))
	r.w.text.Move(fyne.NewPos(theme.Padding(), (size.Height-m.Height)/2))
}

// MouseIn, MouseMoved and MouseOut show the whole while not all is in sight.
func (w *whose) MouseIn(*desktop.MouseEvent) {
	if w.hidden {
		w.desk.tip.show(w, []string{w.say(w.patient)})
	}
}

// MouseMoved: see MouseIn.
func (w *whose) MouseMoved(*desktop.MouseEvent) {}

// MouseOut: see MouseIn.
func (w *whose) MouseOut() { w.desk.tip.hide() }

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
