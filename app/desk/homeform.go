package desk

import (
	"errors"
	"fmt"
	"image/color"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/casebook"
	"rootrule/app/wording"
)

// seeker is the field that cases are searched with. It has the keys of the
// whole screen: arrows go through the list, Enter opens, Escape clears the
// search and then goes back to the case.
type seeker struct {
	widget.Entry
	home *home
}

func newSeeker(h *home) *seeker {
	s := &seeker{home: h}
	s.ExtendBaseWidget(s)
	s.SetPlaceHolder(wording.Say("Search by code, name, tooth or stage"))
	s.OnChanged = func(string) { h.update() }
	s.OnSubmitted = func(string) { h.openRow(h.at) }
	h.desk.parts["search"] = s
	return s
}

// page is how many cases Page Up and Page Down pass over.
const page = 8

// TypedKey takes the keys that are for the list.
func (s *seeker) TypedKey(key *fyne.KeyEvent) {
	h := s.home
	switch key.Name {
	case fyne.KeyUp:
		h.move(-1)
	case fyne.KeyDown:
		h.move(1)
	case fyne.KeyPageUp:
		h.move(-page)
	case fyne.KeyPageDown:
		h.move(page)
	case fyne.KeyF2:
		h.rename()
	case fyne.KeyEscape:
		h.escape()
	default:
		s.Entry.TypedKey(key)
	}
}

// escape clears the search, or else goes back to the case.
func (h *home) escape() {
	if h.search.Text != "" {
		h.search.SetText("")
		return
	}
	h.desk.leaveHome()
}

// mostCode is the longest code, in letters. Generous, no source.
const mostCode = 80

// newCaseForm is the line that starts a case: a code and a tooth.
type newCaseForm struct {
	home        *home
	code, tooth *homeEntry
	start       *widget.Button
	problem     *widget.Label
	again       string // code and tooth of a case that is there already, as told
	box         fyne.CanvasObject
}

func newNewCaseForm(h *home) *newCaseForm {
	f := &newCaseForm{home: h, code: newHomeEntry(h, "new code"), tooth: newHomeEntry(h, "new tooth")}
	f.code.SetPlaceHolder(wording.Say("stands for the patient"))
	f.tooth.SetPlaceHolder(wording.ToothExample())
	f.code.OnSubmitted = func(string) { h.desk.o.Window.Canvas().Focus(f.tooth) }
	f.tooth.OnSubmitted = func(string) { f.submit() }
	f.code.OnChanged = func(string) { f.tell(nil) }
	f.tooth.OnChanged = f.code.OnChanged
	f.start = widget.NewButton(wording.Say("Start case"), f.submit)
	h.desk.parts["start case"] = f.start
	f.problem = widget.NewLabel("")
	f.problem.Wrapping = fyne.TextWrapWord
	f.problem.Importance = widget.DangerImportance
	f.problem.Hide()
	row := container.New(flow{}, f.named(wording.Say("New case: code")), container.New(wide{260 * sizeText / 15}, f.code), gap(4),
		f.named(wording.Say("tooth")), container.New(wide{90 * sizeText / 15}, f.tooth), gap(4), f.start)
	f.box = container.NewVBox(row, f.problem)
	return f
}

// named is a word beside a field, as high as one.
func (f *newCaseForm) named(word string) fyne.CanvasObject {
	high := canvas.NewRectangle(color.Transparent)
	high.SetMinSize(fyne.NewSize(1, f.code.MinSize().Height))
	return container.NewStack(high, container.NewCenter(text(word, colourText, sizeText, true)))
}

func (f *newCaseForm) clear() {
	f.code.SetText("")
	f.tooth.SetText("")
	f.tell(nil)
}

// tell shows what is wrong with what was typed, nothing for nil.
func (f *newCaseForm) tell(err error) {
	line := ""
	if err != nil {
		l, hint := wording.Error(err)
		line = join(l, hint)
	}
	if f.problem.Text != line {
		f.problem.SetText(line)
		f.problem.Hidden = line == ""
		f.home.box.Refresh()
	}
}

// submit starts the case. One with the same code and tooth is told of first,
// and shown: a second one is begun only when it is asked for again.
func (f *newCaseForm) submit() {
	d := f.home.desk
	code, tooth, err := f.read()
	if err == nil {
		err = f.twin(code, tooth)
	}
	if err != nil {
		f.tell(err)
		return
	}
	c, err := d.begin(code, tooth)
	if err != nil {
		f.tell(err)
		return
	}
	d.OpenCase(c)
	d.focusBench()
}

// read checks both fields.
func (f *newCaseForm) read() (code, tooth string, err error) {
	code, err = readCode(f.code.Text)
	if err == nil && strings.TrimSpace(f.tooth.Text) == "" {
		err = errors.New(wording.Say("no tooth: type one such as %s", wording.ToothExample()))
	}
	if err == nil {
		tooth, err = wording.ReadTooth(f.tooth.Text)
	}
	return code, tooth, err
}

// twin returns an error once for a code and tooth that a case has already.
func (f *newCaseForm) twin(code, tooth string) error {
	asked := code + "\n" + tooth
	there := slices.ContainsFunc(f.home.all, func(c casebook.Summary) bool {
		return strings.EqualFold(c.Code, code) && c.Tooth == tooth
	})
	if !there || f.again == asked {
		f.again = ""
		return nil
	}
	f.again = asked
	f.home.search.SetText(code)
	return errors.New(wording.Say("there is such a case already: open it below, or press Start case again for a second one"))
}

// typed returns what of code and tooth can be used, for a case that files
// begin.
func (f *newCaseForm) typed() (code, tooth string) {
	code, _ = readCode(f.code.Text)
	tooth, _ = wording.ReadTooth(f.tooth.Text)
	return code, tooth
}

// readCode checks a patient's code.
func readCode(text string) (string, error) {
	code := strings.Join(strings.Fields(text), " ")
	switch n := len([]rune(code)); {
	case n == 0:
		return "", errors.New(wording.Say("no code: type one that stands for the patient"))
	case n > mostCode:
		return "", fmt.Errorf("%s", wording.Say("the code has %d letters: type at most %d", n, mostCode))
	}
	return code, nil
}

// homeEntry is a text field of the home: Escape goes back to the search.
type homeEntry struct {
	widget.Entry
	home *home
}

func newHomeEntry(h *home, name string) *homeEntry {
	e := &homeEntry{home: h}
	e.ExtendBaseWidget(e)
	h.desk.parts[name] = e
	return e
}

// TypedKey takes Escape.
func (e *homeEntry) TypedKey(key *fyne.KeyEvent) {
	if key.Name == fyne.KeyEscape {
		e.home.begin.clear()
		e.home.keys = e.home.search
		e.home.focus()
		return
	}
	e.Entry.TypedKey(key)
}

// FocusGained tells of the field that has the keys.
func (e *homeEntry) FocusGained() {
	e.Entry.FocusGained()
	e.home.desk.prober.changed()
}
