package desk

import (
	"encoding/json"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/storage"

	"rootrule/measure"
)

// TestFromImageToLength is the walk of a new user. The truth is by
// construction: 20 mm over 400 px, a straight canal of 300 px is 15 mm.
func TestFromImageToLength(t *testing.T) {
	r := opened(t)
	if !strings.Contains(r.guide.text, "Calibrate") {
		t.Errorf("after opening, the sentence is %q", r.guide.text)
	}
	r.calibrated()
	if !strings.Contains(r.guide.text, "Trace canal") {
		t.Errorf("after calibrating, the sentence is %q", r.guide.text)
	}
	r.traced()
	// a click hits to half a device pixel at a scale near 0.7: 0.7 px of 300
	if got := r.value("canal 46 MB", measure.WhatLength); !near2(got, 15, 0.08) {
		t.Errorf("length %v mm, want 15", got)
	}
	if got := r.value("canal 46 MB", measure.WhatWorkingLength); !near2(got, 14, 0.08) {
		t.Errorf("estimated working length %v mm, want 14", got)
	}
	if got := r.session.saved().Canals[0].Orifice; got != 1 {
		t.Errorf("the orifice is mark %d, want the second click", got)
	}
	length, working := r.figure("canal 46 MB", measure.WhatLength), r.figure("canal 46 MB", measure.WhatWorkingLength)
	if length.large.Text != "15.0 mm" || !strings.HasPrefix(length.small.Text, "±") || working.large.Text != "14.0 mm" || working.small.Text[0] != '(' {
		t.Errorf("the worksheet shows %q %q %q %q", length.large.Text, length.small.Text, working.large.Text, working.small.Text)
	}
}

func TestLengthWithoutCalibrationIsInPixelsAndSaysSo(t *testing.T) {
	r := opened(t)
	r.traced()
	f, _ := r.session.finding("canal 46 MB", measure.WhatLength)
	if f.Unit != measure.Pixel || !near2(f.Value, 300, 2) {
		t.Errorf("without calibration the length is %v %s", f.Value, f.Unit)
	}
	if !strings.Contains(r.guide.text, "px") || !strings.Contains(strings.ToLower(r.sheet.caution.Text), "calibrat") {
		t.Errorf("the window says %q and %q", r.guide.text, r.sheet.caution.Text)
	}
	if r.sheet.scale.Text != "Not calibrated: lengths are in px." {
		t.Errorf("the worksheet says %q", r.sheet.scale.Text)
	}
}

func TestWaysToEndATrace(t *testing.T) {
	for _, c := range []struct {
		name string
		end  func(*rig)
	}{
		{"Enter", func(r *rig) { r.key(fyne.KeyReturn) }},
		{"keypad Enter", func(r *rig) { r.key(fyne.KeyEnter) }},
		{"double click", func(r *rig) {
			r.downAgain(300, 500, desktop.MouseButtonPrimary)
			r.up(300, 500, desktop.MouseButtonPrimary)
		}},
		{"secondary click", func(r *rig) {
			r.down(310, 510, desktop.MouseButtonSecondary)
			r.up(310, 510, desktop.MouseButtonSecondary)
		}},
		{"the button", func(r *rig) { r.details.done.OnTapped() }},
		{"another task", func(r *rig) { r.key(fyne.KeyL) }},
		{"another image", func(r *rig) { r.takeIn([]string{"/x/two.png"}) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := opened(t)
			r.key(fyne.KeyT)
			r.clicks([2]float64{300, 200}, [2]float64{300, 260}, [2]float64{300, 500})
			c.end(r)
			if r.task != nil && r.task.kind == canal {
				t.Error("the trace is still under way")
			}
			if n := len(r.session.marks.Images[0].Canals[0].Marks); n != 3 {
				t.Errorf("the canal has %d marks, want 3", n)
			}
		})
	}
}

func TestDragMovesAMarkInOneStepWithoutAJump(t *testing.T) {
	r := opened(t)
	r.calibrated()
	r.traced()
	before := r.session.saved().Canals[0].Marks[3]
	lengthBefore := r.value("canal 46 MB", measure.WhatLength)
	// take hold 4 px beside the mark: it must not jump to the mouse
	r.pull(304, 500, 304, 560, desktop.MouseButtonPrimary)
	after := r.session.saved().Canals[0].Marks[3]
	if !near2(after.X-before.X, 0, 0.8) || !near2(after.Y-before.Y, 60, 0.8) {
		t.Errorf("a drag by (0, 60) px moved the mark by (%g, %g)", after.X-before.X, after.Y-before.Y)
	}
	if got := r.value("canal 46 MB", measure.WhatLength) - lengthBefore; !near2(got, 3, 0.06) {
		t.Errorf("60 px at 0.05 mm/px changed the length by %g mm, want 3", got)
	}
	if label, _ := r.session.canUndo(); label != "move the apex of canal 46 MB" {
		t.Errorf("undo would take back %q", label)
	}
	r.undo()
	if got := r.session.saved().Canals[0].Marks[3]; got != before {
		t.Errorf("undo brought the mark to %v, it was at %v", got, before)
	}
}

func TestNumbersFollowTheDrag(t *testing.T) {
	r := opened(t)
	r.calibrated()
	r.traced()
	r.down(300, 500, desktop.MouseButtonPrimary)
	r.bench.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: r.on(300, 600)}})
	if got := r.figure("canal 46 MB", measure.WhatLength).large.Text; got != "20.0 mm" {
		t.Errorf("during the drag the worksheet shows %q, want 20.0 mm", got)
	}
	if got := r.storedMarks().Images[0].Canals[0].Marks[3].Y; !near2(got, 500, 1) {
		t.Errorf("the drag in progress is on the disk already: y = %g", got)
	}
	r.up(300, 600, desktop.MouseButtonPrimary)
	if got := r.storedMarks().Images[0].Canals[0].Marks[3].Y; !near2(got, 600, 1) {
		t.Errorf("after the drag the disk has y = %g", got)
	}
}

func TestArrowKeysNudge(t *testing.T) {
	r := opened(t)
	r.traced()
	r.click(300, 500)
	start := r.session.saved().Canals[0].Marks[3]
	r.key(fyne.KeyRight, fyne.KeyRight, fyne.KeyUp)
	r.bench.KeyDown(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	r.key(fyne.KeyDown)
	r.bench.KeyUp(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	r.key(fyne.KeyLeft)
	got := r.session.saved().Canals[0].Marks[3]
	if !near2(got.X-start.X, 0.1, 1e-9) || !near2(got.Y-start.Y, 0.9, 1e-9) {
		t.Errorf("the keys moved the mark by (%g, %g), want (0.1, 0.9)", got.X-start.X, got.Y-start.Y)
	}
}

func TestDeleteMarkAndItem(t *testing.T) {
	r := opened(t)
	r.traced()
	r.click(300, 380)
	r.key(fyne.KeyDelete)
	r.expectMarks(item{canal, 0}, 3)
	r.key(fyne.KeyDelete) // now the canal is selected
	if n := len(r.session.saved().Canals); n != 0 {
		t.Fatalf("%d canals left", n)
	}
	r.undo()
	r.undo()
	r.expectMarks(item{canal, 0}, 4)
}

func TestDoubleClickAddsAMarkToALine(t *testing.T) {
	r := opened(t)
	r.traced()
	r.click(300, 320)
	r.downAgain(300, 320, desktop.MouseButtonPrimary)
	r.up(300, 320, desktop.MouseButtonPrimary)
	r.expectMarks(item{canal, 0}, 5)
	if got := r.session.saved().Canals[0].Marks[2]; !near2(got.Y, 320, 1) {
		t.Errorf("the new mark is at %v, want it third", got)
	}
}

func TestOutlineClosesOnItsFirstMark(t *testing.T) {
	r := opened(t)
	r.calibrated()
	r.key(fyne.KeyL)
	// a regular polygon round a circle of 60 px radius: 3 mm
	for _, p := range [][2]float64{{560, 500}, {542, 542}, {500, 560}, {458, 542}, {440, 500}, {458, 458}, {500, 440}, {542, 458}} {
		r.click(p[0], p[1])
	}
	r.click(560, 500)
	if r.task != nil {
		t.Fatal("the click on the first mark has not closed the outline")
	}
	r.expectMarks(item{lesion, 0}, 8)
	if got := r.value("lesion A", measure.WhatArea); !near2(got, 28.27, 0.7) { // π·3²; clicks hit to 0.7 px of a radius of 60
		t.Errorf("area %v mm², a circle of 3 mm radius has 28.27", got)
	}
	if got := r.value("lesion A", measure.WhatLongestDiameter); !near2(got, 6, 0.1) {
		t.Errorf("longest diameter %v mm, want 6", got)
	}
}

func TestApexLocatorReading(t *testing.T) {
	r := opened(t)
	r.calibrated()
	r.traced()
	r.typed("EAL canal 46 MB", "15,5")
	if got := r.session.saved().Canals[0].EALMM; got == nil || *got != 15.5 {
		t.Fatalf("the reading is %v", got)
	}
	if got := r.value("canal 46 MB", measure.WhatEALDifference); !near2(got, 0.5, 0.1) {
		t.Errorf("difference %v mm, want 0.5", got)
	}
	r.typed("EAL canal 46 MB", "twenty")
	if !strings.Contains(r.guide.error(), "Apex locator reading") || *r.session.saved().Canals[0].EALMM != 15.5 {
		t.Errorf("a word as a reading: %q", r.guide.error())
	}
	r.typed("EAL canal 46 MB", "")
	if r.session.saved().Canals[0].EALMM != nil {
		t.Error("an emptied field leaves the reading")
	}
}

// TestUndoWorksWhileAFieldHasTheFocus: a text field eats Ctrl+Z unless the
// main menu has the shortcut; the toolkit asks the menu first.
func TestUndoWorksWhileAFieldHasTheFocus(t *testing.T) {
	r := opened(t)
	r.calibrated()
	if r.menu.undo.Shortcut.ShortcutName() != (&fyne.ShortcutUndo{}).ShortcutName() ||
		r.menu.redo.Shortcut.ShortcutName() != (&fyne.ShortcutRedo{}).ShortcutName() {
		t.Fatal("the menu has not the shortcuts of undo and redo")
	}
	f := r.parts["date"].(*field)
	r.win.Canvas().Focus(f)
	r.menu.undo.Action()
	if len(r.session.saved().Calibration) != 0 || r.menu.redo.Disabled {
		t.Fatal("undo by the menu took nothing back")
	}
	f.TypedShortcut(shortcutRedoToo)
	if !r.menu.redo.Disabled || r.win.Canvas().Focused() != fyne.Focusable(f) {
		t.Error("Ctrl+Shift+Z in a field has not redone, or took the focus away")
	}
}

func TestErrorsTellDamagedFromNotHandled(t *testing.T) {
	for _, c := range []struct{ path, line string }{
		{"/x/cut.png", "Damaged file"},
		{"/x/letter.docx", "Kind of file not handled"},
		{"/x/gone.png", "the file is still there"},
	} {
		r := opened(t)
		r.traced()
		r.Dropped([]fyne.URI{storage.NewFileURI(c.path), storage.NewFileURI("/x/two.png")})
		if got := r.guide.error(); !strings.Contains(strings.ToLower(got), strings.ToLower(c.line)) {
			t.Errorf("%s: the window says %q", c.path, got)
		}
		if n := len(r.session.marks.Images); n != 2 {
			t.Errorf("%s: the case has %d images, want the two good ones", c.path, n)
		}
		if len(r.session.marks.Images[0].Canals) != 1 {
			t.Errorf("%s: the marks are lost", c.path)
		}
		r.guide.clear()
		r.refresh()
		if r.guide.error() != "" {
			t.Error("the message stays")
		}
	}
}

func TestDropSeveral(t *testing.T) {
	r := newRig(t)
	r.Dropped([]fyne.URI{storage.NewFileURI("/x/one.png"), storage.NewFileURI("/x/two.png"), storage.NewFileURI("/x/three.png")})
	if n := len(r.strip.cards); n != 3 {
		t.Fatalf("the strip has %d images, want 3", n)
	}
	for i, stage := range []string{measure.StagePreOperative, measure.StageWorkingLength, measure.StageConeFit} {
		if got := r.strip.cards[i].stage.Text; got != stage {
			t.Errorf("image %d is proposed as %q, want %q", i+1, got, stage)
		}
	}
	if !r.strip.cards[0].chosen || r.strip.cards[1].chosen || r.strip.cards[0].title.Text == "1" || r.strip.cards[1].title.Text != "2" {
		t.Error("the strip doesn't say which image is on the bench")
	}
	r.key(fyne.KeyPageDown)
	if r.session.image != r.strip.cards[1].id || !r.session.ready {
		t.Error("Page Down has not brought the next image")
	}
}

func TestFilesNamedAtTheStart(t *testing.T) {
	r := opened(t)
	r.traced()
	first := r.session.kase.ID()
	r.OpenFiles([]string{"/x/one.png"})
	if r.session.kase.ID() != first || len(r.session.saved().Canals) != 1 {
		t.Error("the same file again doesn't find its case")
	}
	r.OpenFiles([]string{"/x/two.png"})
	if r.session.kase.ID() == first {
		t.Error("another file was put into the case that happened to be open")
	}
}

func TestReopenFindsEverything(t *testing.T) {
	for _, killed := range []bool{false, true} {
		r := opened(t)
		r.calibrated()
		r.traced()
		r.bench.zoom(200, 300, 3)
		r.invert()
		r.keepView() // what the timer does once the view rests
		view, marks := r.bench.view, r.session.marks
		r.reopen(killed)
		if !r.session.ready {
			t.Fatalf("killed %v: no image on the bench: %q", killed, r.guide.error())
		}
		if a, b := asJSON(t, r.session.marks), asJSON(t, marks); a != b {
			t.Errorf("killed %v: marks\n%s\nwere\n%s", killed, a, b)
		}
		if got := r.bench.view; !near2(got.Scale, view.Scale, 1e-9) || !near2(got.X, view.X, 1) || !near2(got.Y, view.Y, 1) || !r.bench.window.Invert {
			t.Errorf("killed %v: view %+v was %+v, inverted %v", killed, got, view, r.bench.window.Invert)
		}
		r.undo()
		r.expectMarks(item{canal, 0}, 3)
	}
}

func TestStateHoldsNoPatientData(t *testing.T) {
	r := newRig(t)
	r.files["/x/Mueller_Anna_1980.png"] = r.files["/x/one.png"]
	c, err := r.book.New("Mueller, Anna", "46")
	if err != nil {
		t.Fatal(err)
	}
	r.OpenCase(c)
	r.takeIn([]string{"/x/Mueller_Anna_1980.png"})
	r.fitBench()
	r.calibrated()
	r.traced()
	state := asJSON(t, r.State())
	for _, secret := range []string{"Mueller", "Anna", "1980"} {
		if strings.Contains(state, secret) {
			t.Errorf("the state for tests tells %q", secret)
		}
	}
	if !strings.Contains(state, `"canal 46 MB/length":"15.0 ± `) {
		t.Errorf("the state doesn't tell the length: %s", state)
	}
}

func TestRenameShowsInTheHeader(t *testing.T) {
	r := opened(t)
	if !strings.Contains(r.head.who.text.Text, "no tooth yet") {
		t.Errorf("the header says %q", r.head.who.text.Text)
	}
	if err := r.session.kase.Rename("K-17", "46", ""); err != nil {
		t.Fatal(err)
	}
	r.refresh()
	if r.head.who.text.Text != "Case K-17 · tooth 46" || r.head.state.Text != "All is saved" {
		t.Errorf("the header says %q, %q", r.head.who.text.Text, r.head.state.Text)
	}
}

func TestTwoCanalsDontShareAName(t *testing.T) {
	r := opened(t)
	r.traced()
	r.key(fyne.KeyT)
	r.typed("name", "MB")
	if !strings.Contains(r.guide.error(), "already") || r.task.name == "MB" {
		t.Errorf("a second 46 MB: task %q, error %q", r.task.name, r.guide.error())
	}
	if r.task.tooth != "46" || r.task.name != "ML" {
		t.Errorf("the next canal is proposed as %q %q", r.task.tooth, r.task.name)
	}
}

func asJSON(t *testing.T, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return strings.ReplaceAll(string(b), "\\u00b1", "±")
}
