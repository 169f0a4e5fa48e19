package desk

import (
	"errors"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/casebook"
)

// newCase starts a case in the casebook; nil when that fails, which is shown.
func (d *Desk) newCase(code, tooth string) *casebook.Case {
	c, err := d.o.Book.New(code, tooth)
	if err != nil {
		d.fail(err)
		return nil
	}
	return c
}

// askForNewCase asks for the two fields of a new case.
func (d *Desk) askForNewCase() {
	d.askForCodeAndTooth("New case", "", "", func(code, tooth string) error {
		c, err := d.o.Book.New(code, tooth)
		if err == nil {
			d.OpenCase(c)
		}
		return err
	})
}

// askForRename asks for code and tooth of the case on the desk.
func (d *Desk) askForRename() {
	if d.session == nil {
		d.askForNewCase()
		return
	}
	k := d.session.kase
	d.askForCodeAndTooth("Code and tooth", k.Code(), k.Tooth(), func(code, tooth string) error {
		return k.Rename(code, tooth, k.Name())
	})
}

// askForCodeAndTooth shows the form; done gets what was typed.
func (d *Desk) askForCodeAndTooth(heading, code, tooth string, done func(code, tooth string) error) {
	codeEntry, toothEntry := newAnswer(d), newAnswer(d)
	codeEntry.SetText(code)
	codeEntry.SetPlaceHolder("stands for the patient")
	toothEntry.SetText(tooth)
	toothEntry.SetPlaceHolder("FDI, such as 46")
	toothEntry.Validator = func(s string) error { _, err := toothName(s); return err }
	d.parts["case code"], d.parts["case tooth"] = codeEntry, toothEntry
	form := dialog.NewForm(heading, "Keep", "Cancel", []*widget.FormItem{
		widget.NewFormItem("Code", codeEntry), widget.NewFormItem("Tooth", toothEntry),
	}, func(ok bool) {
		if ok {
			d.saved(done(strings.TrimSpace(codeEntry.Text), strings.TrimSpace(toothEntry.Text)))
		}
		d.refresh()
	}, d.o.Window)
	submit := func(string) { form.Submit() }
	codeEntry.OnSubmitted, toothEntry.OnSubmitted = submit, submit
	d.show(form, 420, 230)
	d.o.Window.Canvas().Focus(codeEntry)
}

// askForCase shows the cases of the casebook, the latest first.
func (d *Desk) askForCase() {
	all, err := d.o.Book.Cases()
	if err != nil {
		d.fail(err)
		return
	}
	var pop dialog.Dialog
	list := widget.NewList(func() int { return len(all) },
		func() fyne.CanvasObject {
			return container.New(tight{theme.InnerPadding()}, bold(), widget.NewLabel(""))
		},
		func(i int, o fyne.CanvasObject) {
			labels := o.(*fyne.Container).Objects
			labels[0].(*widget.Label).SetText(caseTitle(all[i].Code, all[i].Tooth))
			labels[1].(*widget.Label).SetText(caseLine(all[i]))
		})
	list.OnSelected = func(i int) {
		pop.Hide()
		d.openByID(all[i].ID)
	}
	d.parts["case list"] = list
	pop = dialog.NewCustom("Cases", "Close", list, d.o.Window)
	d.show(pop, 520, 520)
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

// caseLine is the second line of a case in the list.
func caseLine(c casebook.Summary) string {
	line := plural(c.Images, "image")
	if c.LastStage != "" {
		line += ", last " + c.LastStage
	}
	return line + ", changed " + c.Changed.Local().Format("2006-01-02 15:04")
}

func (d *Desk) openByID(id int64) {
	c, err := d.o.Book.Case(id)
	if err != nil {
		d.fail(err)
		return
	}
	d.OpenCase(c)
	d.focusBench()
}

// OpenDemo opens the demo case.
func (d *Desk) OpenDemo() {
	if d.o.Demo == nil {
		d.fail(errors.New("open the demo case: this program has none"))
		return
	}
	d.say("The demo case is being made.")
	d.refresh()
	d.beside(func() {
		c, err := d.o.Demo()
		fyne.Do(func() {
			d.say("")
			if err != nil {
				d.fail(err)
				return
			}
			d.OpenCase(c)
		})
	})
}
