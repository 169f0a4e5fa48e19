package desk

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"rootrule/app/tongue"
)

// longCode is a patient's code of 60 letters.
var longCode = "UNIVERSITY-CLINIC-ENDO-2026-0000123456-" + strings.Repeat("X", 16) + "-LAST"

// TestScreensFitSmallWindows: a window of 1600×1000 at scale 2 is 800×500
// logical pixels; in no language may header, home or dialog need more.
func TestScreensFitSmallWindows(t *testing.T) {
	usually(t)
	for i, l := range tongue.Languages {
		t.Run(l.Code, func(t *testing.T) {
			r := newRig(t)
			s := r.settings
			s.language = i
			r.set(s)
			r.home.begin.code.SetText(longCode)
			r.home.begin.tooth.SetText("46")
			r.askForFile()
			chooser := r.parts["file name"].(*sifter).chooser
			for name, m := range map[string]fyne.Size{"home": r.home.box.MinSize(), "header": r.head.box.MinSize(), "files": chooser.pop.MinSize()} {
				if m.Width > 800 || m.Height > 500 {
					t.Errorf("%s needs %g × %g", name, m.Width, m.Height)
				}
			}
		})
	}
}

// TestLongCode: of a code of 60 letters its ends stay in sight, and the tooth
// always; the whole is there for the mouse.
func TestLongCode(t *testing.T) {
	r := opened(t)
	if err := r.session.kase.Rename(longCode, "46", "Erika Mustermann"); err != nil {
		t.Fatal(err)
	}
	for _, width := range []float32{800, 1000, 1280, 2560} {
		r.win.Resize(fyne.NewSize(width, 700))
		r.refresh()
		line := r.head.who.text.Text
		if !strings.Contains(line, "UN") || !strings.HasSuffix(line, "tooth 46") {
			t.Errorf("%g wide: the header says %q", width, line)
		}
		if w := r.head.who.wide(line); w > r.head.who.Size().Width+0.5 {
			t.Errorf("%g wide: %q takes %g of %g", width, line, w, r.head.who.Size().Width)
		}
	}
	if !strings.Contains(r.head.who.text.Text, longCode) {
		t.Errorf("with room for it the code is cut: %q", r.head.who.text.Text)
	}
	r.win.Resize(fyne.NewSize(800, 700))
	r.head.who.MouseIn(nil)
	if got := strings.ReplaceAll(r.tip.text(), "\n", ""); !strings.Contains(got, longCode) {
		t.Errorf("the mouse shows %q", got)
	}
}
