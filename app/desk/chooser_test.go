package desk

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"
)

// pick is the rig with the dialog that images are chosen with.
func (r *rig) pick() *sifter {
	r.Helper()
	r.askForFile()
	s, ok := r.parts["file name"].(*sifter)
	if !ok || r.win.Canvas().Focused() != fyne.Focusable(s) {
		r.Fatal("the keys are not on the dialog")
	}
	return s
}

// TestSeveralImagesByKeys: type, tick with Space, take with Enter.
func TestSeveralImagesByKeys(t *testing.T) {
	r := newRig(t)
	s := r.pick()
	test.Type(s, "t")
	if n := len(s.chooser.entries); n != 3 { // cut, two, three; the letter is no picture
		t.Fatalf("%d files have a t: %+v", n, s.chooser.entries)
	}
	s.TypedShortcut(&fyne.ShortcutSelectAll{})
	if len(s.chooser.ticked) != 3 {
		t.Errorf("Ctrl+A ticks %v", s.chooser.ticked)
	}
	s.TypedShortcut(&fyne.ShortcutSelectAll{})
	for _, name := range []string{"one", "two"} {
		s.SetText(name)
		test.Type(s, " ")
	}
	if got := s.chooser.add.Text; got != "Add 2 images" {
		t.Errorf("the button says %q", got)
	}
	s.SetText("")
	r.press(fyne.KeyReturn)
	if r.Desk.open != nil || r.session == nil || len(r.session.marks.Images) != 2 || !r.session.ready {
		t.Fatalf("the images are not in the case: %q", r.guide.error())
	}
}

func TestLookBeforeTaking(t *testing.T) {
	r := newRig(t)
	s := r.pick()
	s.SetText("one")
	if s.chooser.look.Image == nil || !strings.Contains(s.chooser.says.Text, "1000 × 800") {
		t.Errorf("a look at the file says %q", s.chooser.says.Text)
	}
	s.SetText("cut")
	if s.chooser.look.Image != nil || !strings.Contains(s.chooser.says.Text, "Damaged") {
		t.Errorf("a look at a damaged file says %q", s.chooser.says.Text)
	}
	s.SetText("nobody")
	if !strings.Contains(s.chooser.says.Text, "No radiograph") || !s.chooser.add.Disabled() {
		t.Errorf("nothing here: %q", s.chooser.says.Text)
	}
	r.press(fyne.KeyEscape)
	if r.Desk.open != nil || r.session != nil {
		t.Error("Escape has not closed the dialog")
	}
}

func TestFoldersAreRememberedInMemoryAlone(t *testing.T) {
	r := newRig(t)
	s := r.pick()
	r.press(fyne.KeyBackspace) // up
	if s.chooser.folder != "/" {
		t.Fatalf("after going up the folder is %q", s.chooser.folder)
	}
	s.SetText("locked")
	r.press(fyne.KeyReturn)
	if s.chooser.folder != "/" || s.chooser.says.Text == "" {
		t.Errorf("a folder that can't be read: %q in %q", s.chooser.says.Text, s.chooser.folder)
	}
	s.SetText("x")
	r.press(fyne.KeyReturn)
	s.SetText("one")
	r.press(fyne.KeyReturn)
	if r.session == nil || len(r.session.marks.Images) != 1 || r.lastFolder != "/x" {
		t.Errorf("the image was not taken from %q", r.lastFolder)
	}
	for _, key := range []string{"fyne:fileDialogLastFolder", "folder"} {
		if got := fyne.CurrentApp().Preferences().String(key); got != "" {
			t.Errorf("the preferences hold %q", got)
		}
	}
}

func TestClicksTick(t *testing.T) {
	r := newRig(t)
	s := r.pick()
	list := r.parts["files"].(*widget.List)
	list.Select(0)
	list.Select(2)
	if len(s.chooser.ticked) != 2 {
		t.Fatalf("two clicks tick %v", s.chooser.ticked)
	}
	list.Select(2)
	if len(s.chooser.ticked) != 1 {
		t.Errorf("a second click leaves %v", s.chooser.ticked)
	}
}
