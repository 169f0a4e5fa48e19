package desk

import (
	"fyne.io/fyne/v2"

	"rootrule/app/tongue"
	"rootrule/app/wording"
	"rootrule/measure"
)

// settings are what a user chose for all cases. They are kept in the toolkit's
// preferences, as numbers and switches alone, so that nothing about a patient
// or a folder can get there.
type settings struct {
	letters  int // index of letterSizes
	light    bool
	language int // index of tongue.Languages
	notation int // index of notations
	click    float64
	file     float64
	weight   int // of lines, index of weights
}

// letterSizes are the sizes of letters to choose from, as parts of the usual.
var letterSizes = []float32{1, 1.25, 1.5, 2}

// notations are the ways of naming teeth to choose from.
var notations = []measure.Notation{measure.FDI, measure.Universal, measure.Palmer}

// usualFile is the length of a file, in mm, that a calibration begins with
// unless another is set: the shortest standard length (ISO 3630-1).
const usualFile = 21

// The keys of the preferences.
const (
	keyLetters  = "letters"
	keyLight    = "light"
	keyLanguage = "language"
	keyNotation = "notation"
	keyClick    = "click px"
	keyFile     = "file mm"
)

// readSettings returns what was chosen last; what is missing or out of range is
// as usual.
func readSettings() settings {
	p := fyne.CurrentApp().Preferences()
	among := func(key string, usual, n int) int {
		if i := p.IntWithFallback(key, usual); i >= 0 && i < n {
			return i
		}
		return usual
	}
	within := func(key string, usual, most float64) float64 {
		if v := p.FloatWithFallback(key, usual); v > 0 && v <= most {
			return v
		}
		return usual
	}
	return settings{
		letters: among(keyLetters, 0, len(letterSizes)), light: p.BoolWithFallback(keyLight, false),
		language: among(keyLanguage, languageIndex(tongue.Preferred()), len(tongue.Languages)),
		notation: among(keyNotation, 0, len(notations)),
		click:    within(keyClick, measure.DefaultClick, mostClick), file: within(keyFile, usualFile, mostKnown),
		weight: readWeight(),
	}
}

func languageIndex(code string) int {
	for i, l := range tongue.Languages {
		if l.Code == code {
			return i
		}
	}
	return 0
}

// keep writes the settings.
func (s settings) keep() {
	p := fyne.CurrentApp().Preferences()
	p.SetInt(keyLetters, s.letters)
	p.SetBool(keyLight, s.light)
	p.SetInt(keyLanguage, s.language)
	p.SetInt(keyNotation, s.notation)
	p.SetFloat(keyClick, s.click)
	p.SetFloat(keyFile, s.file)
	p.SetInt(keyWeight, s.weight)
}

// apply makes the look, the language, the names of teeth and the usual file
// those chosen. What is built before keeps the old ones.
func (s settings) apply() error {
	file := ways[measure.CalibrationFile]
	file.length = s.file
	ways[measure.CalibrationFile] = file
	changed := SetLook(Look{Light: s.light, Letters: letterSizes[s.letters]})
	wording.SetNotation(notations[s.notation])
	err := tongue.Use(tongue.Languages[s.language].Code)
	app := fyne.CurrentApp().Settings()
	if app.Theme() != fyne.Theme(Theme{}) || changed { // the toolkit reads its fonts again for a theme
		app.SetTheme(Theme{})
	}
	return err
}

// set takes on other settings: the desk is built again where that shows, and
// the open case notes another uncertainty of the reader's clicks.
func (d *Desk) set(s settings) {
	was := d.settings
	d.settings, d.weight = s, s.weight
	s.keep()
	err := s.apply()
	if was.letters != s.letters || was.light != s.light || was.language != s.language || was.notation != s.notation {
		d.rebuild()
	}
	if err != nil {
		d.fail(err)
	}
	if was.click != s.click && d.session != nil {
		d.noteClick()
	}
	d.refresh()
}

// rebuild builds the desk again and shows what was shown.
func (d *Desk) rebuild() {
	home := d.atHome()
	d.endTask()
	d.keepView()
	d.leavePair()
	d.parts = map[string]fyne.CanvasObject{}
	d.build()
	if d.session != nil {
		d.openImage(d.session.image)
	}
	if home {
		d.showHome()
	}
}

// noteClick writes the reader's click uncertainty into the marks of the open
// case, as a step: findings elsewhere then carry the same uncertainty.
func (d *Desk) noteClick() {
	click := d.settings.click
	ok := d.saved(d.session.editCase(wording.Say("uncertainty of the reader's clicks"), func(m *measure.Marks) error {
		m.ClickPX = &click
		if click == measure.DefaultClick {
			m.ClickPX = nil
		}
		return nil
	}))
	if ok {
		d.say(wording.Say("The uncertainties of this case are computed anew; other cases keep theirs."))
	}
}

// start gives a new case what the settings say about its marks.
func (s settings) start(m *measure.Marks) {
	if s.click != measure.DefaultClick {
		m.ClickPX = &s.click
	}
}
