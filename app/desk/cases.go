package desk

import (
	"errors"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/casebook"
	"rootrule/app/wording"
	"rootrule/measure"
)

// newCase starts a case in the casebook; nil when that fails, which is shown.
func (d *Desk) newCase(code, tooth string) *casebook.Case {
	c, err := d.begin(code, tooth)
	if err != nil {
		d.fail(err)
		return nil
	}
	return c
}

// begin starts a case with what the settings say about its marks.
func (d *Desk) begin(code, tooth string) (*casebook.Case, error) {
	c, err := d.o.Book.New(code, tooth)
	if err != nil {
		return nil, err
	}
	return c, c.Edit(wording.Say("uncertainty of the reader's clicks"), func(m *measure.Marks) error {
		d.settings.start(m)
		return nil
	})
}

// askForNewCase shows the cases with the keys on the form for a new one.
func (d *Desk) askForNewCase() {
	d.showHome()
	d.home.keys = d.home.begin.code
	d.home.focus()
}

// askForRename asks for code, tooth and name of the case on the desk.
func (d *Desk) askForRename() {
	if d.session == nil {
		d.askForNewCase()
		return
	}
	d.askForCase(d.session.kase, d.refresh)
}

// rename asks for code, tooth and name of the case that the keys are on.
func (h *home) rename() {
	c, ok := h.current()
	if !ok {
		return
	}
	d := h.desk
	k, err := d.o.Book.Case(c.ID)
	if s := d.session; s != nil && s.kase.ID() == c.ID {
		k, err = s.kase, nil
	}
	if err != nil {
		line, hint := wording.Error(err)
		h.say(join(line, hint), nil)
		return
	}
	d.askForCase(k, h.reload)
}

// askForCase asks for code, tooth and name of a case; done follows a change.
func (d *Desk) askForCase(k *casebook.Case, done func()) {
	code, tooth, name := newAnswer(d), newAnswer(d), newAnswer(d)
	code.SetText(k.Code())
	tooth.SetText(wording.Tooth(k.Tooth()))
	name.SetText(k.Name())
	code.Validator = func(s string) error { _, err := readCode(s); return err }
	tooth.Validator = func(s string) error { _, err := wording.ReadTooth(s); return err }
	tooth.SetPlaceHolder(wording.ToothExample())
	name.SetPlaceHolder(wording.Say("need not be given"))
	d.parts["case code"], d.parts["case tooth"], d.parts["case name"] = code, tooth, name
	named := widget.NewFormItem(wording.Say("Patient's name"), name)
	named.HintText = wording.Say("It stays in the casebook: no report, export or file bears it.")
	form := dialog.NewForm(wording.Say("Code, tooth and name"), wording.Say("Keep"), wording.Say("Cancel"), []*widget.FormItem{
		widget.NewFormItem(wording.Say("Code"), code), widget.NewFormItem(wording.Say("Tooth"), tooth), named,
	}, func(ok bool) {
		if !ok {
			return
		}
		c, err := readCode(code.Text)
		t, toothErr := wording.ReadTooth(tooth.Text)
		if err = errors.Join(err, toothErr); err == nil {
			err = k.Rename(c, t, strings.TrimSpace(name.Text))
		}
		d.saved(err)
		done()
	}, d.o.Window)
	submit := func(string) { form.Submit() }
	code.OnSubmitted, tooth.OnSubmitted, name.OnSubmitted = submit, submit, submit
	d.show(form, 520, 320)
	d.o.Window.Canvas().Focus(code)
}

// answer is a text entry of a dialog: Escape closes the dialog.
type answer struct {
	widget.Entry
	desk *Desk
}

func newAnswer(d *Desk) *answer {
	a := &answer{desk: d}
	a.ExtendBaseWidget(a)
	return a
}

// TypedKey takes Escape for the dialog.
func (a *answer) TypedKey(key *fyne.KeyEvent) {
	if key.Name == fyne.KeyEscape && a.desk.open != nil {
		a.desk.open.Hide()
		return
	}
	a.Entry.TypedKey(key)
}

func bold() *widget.Label {
	l := widget.NewLabel("")
	l.TextStyle.Bold = true
	return l
}

// openByID opens a case of the list where it was left.
func (d *Desk) openByID(id int64) {
	c, err := d.o.Book.Case(id)
	if err != nil {
		line, hint := wording.Error(err)
		d.home.say(join(line, hint), nil)
		return
	}
	if s := d.session; s != nil && s.kase.ID() == id {
		d.leaveHome()
		return
	}
	d.OpenCase(c)
	d.focusBench()
}

// OpenDemo opens the demo case.
func (d *Desk) OpenDemo() {
	if d.o.Demo == nil {
		d.fail(errors.New(wording.Say("open the demo case: this program has none")))
		return
	}
	d.say(wording.Say("The demo case is being made."))
	d.home.say(d.notice, nil)
	d.refresh()
	d.beside(func() {
		c, err := d.o.Demo()
		fyne.Do(func() {
			d.say("")
			d.home.say("", nil)
			if err != nil {
				d.fail(err)
				return
			}
			d.OpenCase(c)
		})
	})
}
