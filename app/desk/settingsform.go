package desk

import (
	"errors"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/tongue"
	"rootrule/app/wording"
	"rootrule/measure"
)

// mostClick is the largest uncertainty of a click that can be set, in px.
// Generous, no source.
const mostClick = 20

// showSettings shows what the user can set.
func (d *Desk) showSettings() {
	f := newSettingsForm(d)
	form := dialog.NewForm(wording.Say("Settings"), wording.Say("Keep"), wording.Say("Cancel"), f.items(), func(ok bool) {
		if !ok {
			return
		}
		s, err := f.read()
		if err != nil {
			d.fail(err)
			return
		}
		d.set(s)
	}, d.o.Window)
	submit := func(string) { form.Submit() }
	f.click.OnSubmitted, f.file.OnSubmitted = submit, submit
	size := d.o.Window.Canvas().Size()
	d.show(form, min(640*letterSizes[d.settings.letters], size.Width*0.95), min(form.MinSize().Height, size.Height*0.95))
	d.o.Window.Canvas().Focus(f.letters)
}

// settingsForm is the fields of the settings.
type settingsForm struct {
	letters, look, language, notation, weight *option
	click, file                               *answer
}

func newSettingsForm(d *Desk) *settingsForm {
	s := d.settings
	var names []string
	for _, l := range tongue.Languages {
		names = append(names, l.Name)
	}
	look := 0
	if s.light {
		look = 1
	}
	f := &settingsForm{
		letters: newOption(d, "setting letters", letterNames(), s.letters),
		look: newOption(d, "setting look", []string{wording.Say("dark, for a dim room"),
			wording.Say("light")}, look),
		language: newOption(d, "setting language", names, s.language),
		notation: newOption(d, "setting notation", notationNames(), s.notation),
		weight:   newOption(d, "setting lines", []string{wording.Say("fine"), wording.Say("usual"), wording.Say("strong, for bright images")}, d.weight),
		click:    newAnswer(d), file: newAnswer(d),
	}
	f.click.SetText(plain(s.click))
	f.file.SetText(plain(s.file))
	f.click.Validator = func(t string) error { _, err := readClick(t); return err }
	f.file.Validator = func(t string) error { _, err := readFile(t); return err }
	d.parts["setting click"], d.parts["setting file"] = f.click, f.file
	return f
}

func (f *settingsForm) items() []*widget.FormItem {
	click := widget.NewFormItem(wording.Say("Uncertainty of a click, px"), f.click)
	click.HintText = wording.Say("One standard deviation of repeated clicks; %s is usual.", plain(measure.DefaultClick))
	file := widget.NewFormItem(wording.Say("Length of a file, mm"), f.file)
	file.HintText = wording.Say("What a calibration along a file begins with.")
	return []*widget.FormItem{
		widget.NewFormItem(wording.Say("Letters"), f.letters), widget.NewFormItem(wording.Say("Look"), f.look),
		widget.NewFormItem(wording.Say("Language"), f.language), widget.NewFormItem(wording.Say("Teeth"), f.notation),
		widget.NewFormItem(wording.Say("Lines of marks"), f.weight), click, file,
	}
}

// read returns the settings as chosen.
func (f *settingsForm) read() (settings, error) {
	click, err := readClick(f.click.Text)
	file, errFile := readFile(f.file.Text)
	s := settings{letters: f.letters.SelectedIndex(), light: f.look.SelectedIndex() == 1,
		language: f.language.SelectedIndex(), notation: f.notation.SelectedIndex(), click: click, file: file,
		weight: f.weight.SelectedIndex()}
	return s, errors.Join(err, errFile)
}

func readClick(text string) (float64, error) {
	v, err := typedNumber(text)
	if err != nil || !(v > 0 && v <= mostClick) {
		return 0, errors.New(wording.Say("uncertainty of a click: %q can't be: type a number of px above 0 and up to %d", text, mostClick))
	}
	return v, nil
}

func readFile(text string) (float64, error) {
	return millimetres(text, wording.Say("length of a file"), 0, mostKnown)
}

func letterNames() []string {
	return []string{wording.Say("usual"), wording.Say("larger"), wording.Say("much larger"), wording.Say("twice as large")}
}

// notationNames name the notations, each with the lower right first molar.
func notationNames() []string {
	var out []string
	for _, n := range notations {
		out = append(out, wording.Say("%s, such as %s", string(n), measure.Tooth(46).In(n)))
	}
	return out
}

// option is a choice of a dialog: Escape closes the dialog.
type option struct {
	widget.Select
	desk *Desk
}

func newOption(d *Desk, name string, from []string, chosen int) *option {
	o := &option{desk: d}
	o.Options = from
	o.ExtendBaseWidget(o)
	o.SetSelectedIndex(chosen)
	d.parts[name] = o
	return o
}

// TypedKey takes Escape for the dialog.
func (o *option) TypedKey(key *fyne.KeyEvent) {
	if key.Name == fyne.KeyEscape && o.desk.open != nil {
		o.desk.open.Hide()
		return
	}
	o.Select.TypedKey(key)
}
