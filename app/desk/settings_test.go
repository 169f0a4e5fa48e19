package desk

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"rootrule/measure"
)

// usually takes back what a test sets, for the tests after it.
func usually(t *testing.T) {
	t.Cleanup(func() {
		s := settings{click: measure.DefaultClick, file: usualFile, weight: usualWeight}
		s.keep()
		if err := s.apply(); err != nil {
			t.Error(err)
		}
	})
}

// chosen opens the settings, changes them and keeps them.
func (r *rig) chosen(change func(f map[string]fyne.CanvasObject)) {
	r.Helper()
	r.showSettings()
	change(r.parts)
	r.parts["setting file"].(*answer).OnSubmitted("")
	if r.Desk.open != nil {
		r.Fatal("the settings are still open")
	}
}

func TestSettingsAreKept(t *testing.T) {
	usually(t)
	r := opened(t)
	r.chosen(func(f map[string]fyne.CanvasObject) {
		f["setting letters"].(*option).SetSelectedIndex(1)
		f["setting look"].(*option).SetSelectedIndex(1)
		f["setting notation"].(*option).SetSelectedIndex(2)
		f["setting lines"].(*option).SetSelectedIndex(2)
		f["setting click"].(*answer).SetText("1,2")
		f["setting file"].(*answer).SetText("25")
	})
	if sizeText != 15*1.25 || colourPanel != light.panel {
		t.Errorf("letters of %g, panel %v", sizeText, colourPanel)
	}
	if !r.session.ready || r.bench.picture == nil || len(r.strip.cards) != 1 {
		t.Error("the image is not on the bench that was built again")
	}
	if got := r.storedMarks().ClickPX; got == nil || *got != 1.2 {
		t.Errorf("the case notes a click of %v", got)
	}
	r.key(fyne.KeyC)
	if r.task == nil || r.task.known != 25 {
		t.Errorf("a calibration begins with %+v", r.task)
	}
	r.reopen(false)
	if s := r.settings; s != (settings{letters: 1, light: true, notation: 2, click: 1.2, file: 25, weight: 2}) {
		t.Errorf("after a new start: %+v", s)
	}
	c, err := r.begin("N", "46")
	if err != nil || c.Marks().ClickPX == nil || *c.Marks().ClickPX != 1.2 {
		t.Errorf("a new case has the click of %v (%v)", c.Marks().ClickPX, err)
	}
}

// TestNotationIsForTheScreen: the casebook keeps FDI numbers.
func TestNotationIsForTheScreen(t *testing.T) {
	usually(t)
	r := newRig(t)
	s := r.settings
	s.notation = 1
	r.set(s)
	r.showHome()
	r.home.begin.code.SetText("P")
	r.home.begin.tooth.SetText("30")
	r.home.begin.submit()
	if got := r.session.kase.Tooth(); got != "46" {
		t.Fatalf("tooth 30 in Universal notation is kept as %q, FDI says 46", got)
	}
	if !strings.Contains(r.head.who.text.Text, "30") {
		t.Errorf("the header says %q", r.head.who.text.Text)
	}
}

func TestSettingsRefuseNonsense(t *testing.T) {
	for _, text := range []string{"", "0", "-1", "21", "x", "NaN"} {
		if v, err := readClick(text); err == nil {
			t.Errorf("a click of %q px is read as %g", text, v)
		}
	}
	p := fyne.CurrentApp().Preferences()
	p.SetInt(keyLetters, 99)
	p.SetFloat(keyClick, -3)
	t.Cleanup(func() { p.RemoveValue(keyLetters); p.RemoveValue(keyClick) })
	if s := readSettings(); s.letters != 0 || s.click != measure.DefaultClick {
		t.Errorf("nonsense in the preferences gives %+v", s)
	}
}
