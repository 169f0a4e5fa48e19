package desk

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"rootrule/measure"
)

// figureOn returns the number on the worksheet for an item on an image; nil
// where there is none.
func (r *rig) figureOn(image, of, what string) *figure {
	for _, row := range r.sheet.grid.rows {
		for _, c := range row.cells {
			if f, ok := c.(*figure); ok && f.image == image && f.block.of == of && f.spec.what == what {
				return f
			}
		}
	}
	return nil
}

// figure is figureOn for the image on the bench.
func (r *rig) figure(of, what string) *figure {
	r.Helper()
	f := r.figureOn(r.session.image, of, what)
	if f == nil {
		r.Fatalf("the worksheet has no %s of %s on this image", what, of)
	}
	return f
}

// twoStages is a case with a canal traced on two images: 300 px at 0.05 mm/px
// on the first, 200 px without a calibration on the second.
func twoStages(t *testing.T) (r *rig, first, second string) {
	t.Helper()
	r = opened(t)
	r.calibrated()
	r.traced()
	first = r.session.image
	r.takeIn([]string{"/x/two.png"})
	second = r.session.image
	if first == second || !r.session.ready {
		t.Fatal("the second image is not on the bench")
	}
	r.key(fyne.KeyT)
	r.typed("tooth", "46")
	r.typed("name", "MB")
	r.clicks([2]float64{200, 100}, [2]float64{200, 160}, [2]float64{200, 220}, [2]float64{200, 300})
	r.key(fyne.KeyReturn)
	return r, first, second
}

func TestWorksheetHasAColumnForEachStage(t *testing.T) {
	r, first, second := twoStages(t)
	for _, c := range []struct{ image, what, want string }{
		{first, measure.WhatLength, "15.0 mm"}, {first, measure.WhatWorkingLength, "14.0 mm"}, {first, measure.WhatSchneiderAngle, "0°"},
		{second, measure.WhatLength, "200 px"}, {second, measure.WhatWorkingLength, "–"},
	} {
		f := r.figureOn(c.image, "canal 46 MB", c.what)
		if f == nil || f.large.Text != c.want {
			t.Errorf("%s on %s: %+v, want %q", c.what, c.image, f, c.want)
		}
	}
	if got := []string{r.sheet.grid.columns[0].scale.Text, r.sheet.grid.columns[1].scale.Text}; !strings.HasPrefix(got[0], "0.0") || !strings.HasSuffix(got[0], " mm/px") || got[1] != "!  no calibration" {
		t.Errorf("the heads of the columns say %q", got)
	}
}

// TestPressedNumberShowsItsMarks: of another image, too.
func TestPressedNumberShowsItsMarks(t *testing.T) {
	r, first, second := twoStages(t)
	test.Tap(r.figureOn(first, "canal 46 MB", measure.WhatLength))
	if r.session.image != first || r.selected != (grip{item{canal, 0}, -1}) {
		t.Errorf("image %s is on the bench, %+v selected", r.session.image, r.selected)
	}
	r.bench.zoom(0, 0, 20) // the canal is far out of sight now
	r.choose(second)
	test.Tap(r.figureOn(first, "canal 46 MB", measure.WhatSchneiderAngle))
	w, h := r.bench.area()
	for _, m := range r.session.saved().Canals[0].Marks {
		if x, y := r.bench.view.ToScreen(m.X, m.Y); x < 0 || y < 0 || x > w || y > h {
			t.Errorf("the mark at %v is at (%.0f, %.0f), out of sight", m, x, y)
		}
	}
}

func TestPointedAtNumberTellsHowItWasMade(t *testing.T) {
	r, first, second := twoStages(t)
	f := r.figureOn(first, "canal 46 MB", measure.WhatLength)
	f.MouseIn(&desktop.MouseEvent{})
	for _, want := range []string{"Canal 46 MB, length: 15.0 ± ", "Method: ", "Scale: 0.0", " mm/px, ", "95 of 100"} {
		if !strings.Contains(r.tip.text(), want) {
			t.Errorf("the note lacks %q:\n%s", want, r.tip.text())
		}
	}
	size, at := r.tip.card.Size(), r.tip.card.Position()
	if whole := r.tip.layer.Size(); at.X < 0 || at.Y < 0 || at.X+size.Width > whole.Width || at.Y+size.Height > whole.Height {
		t.Errorf("the note at %v of %v is not wholly in the window", at, size)
	}
	f.MouseOut()
	if r.tip.text() != "" {
		t.Error("the note stays")
	}
	r.figureOn(second, "canal 46 MB", measure.WhatLength).MouseIn(&desktop.MouseEvent{})
	if !strings.Contains(r.tip.text(), "not calibrated") {
		t.Errorf("without a calibration the note says\n%s", r.tip.text())
	}
}

// TestTabGoesDownTheColumn: readings are typed one after another, on an image
// that is not on the bench too.
func TestTabGoesDownTheColumn(t *testing.T) {
	r, first, _ := twoStages(t)
	r.choose(first)
	r.sheet.grid.all = true
	r.refresh()
	c := r.win.Canvas()
	r.Desk.o.Window.Canvas().Focus(r.parts["EAL canal 46 MB"].(*field))
	for _, typed := range []string{"14,5", "1.5", "13", "13.5", "14"} {
		f, ok := c.Focused().(*field)
		if !ok {
			t.Fatalf("before %q the focus is on %T", typed, c.Focused())
		}
		f.SetText(typed)
		f.TypedKey(&fyne.KeyEvent{Name: fyne.KeyTab})
	}
	got := r.storedMarks().Images[0].Canals[0]
	for i, v := range []*float64{got.EALMM, got.OffsetMM, got.UsedMM, got.ConeFitMM, got.FilledMM} {
		if want := []float64{14.5, 1.5, 13, 13.5, 14}[i]; v == nil || *v != want {
			t.Errorf("reading %d is %v, want %g", i, v, want)
		}
	}
	f, ok := c.Focused().(*field) // the top of the next column
	if !ok {
		t.Fatalf("after the last reading the focus is on %T", c.Focused())
	}
	f.SetText("30")
	f.KeyDown(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	f.TypedKey(&fyne.KeyEvent{Name: fyne.KeyTab})
	marks := r.storedMarks()
	if v := marks.Images[1].Canals[0].EALMM; v == nil || *v != 30 || r.session.image != first {
		t.Errorf("the reading on the other image is %v, with image %s on the bench", v, r.session.image)
	}
	if back, ok := c.Focused().(*field); !ok || back.Text != "14" {
		t.Errorf("Shift+Tab goes to %T", c.Focused())
	}
	if d := r.figureOn(first, "canal 46 MB", measure.WhatEALDifference); d == nil || d.large.Text != "−0.5 mm" {
		t.Errorf("14.5 mm of 15.0 mm give %+v", d)
	}
}

func TestPAIReadings(t *testing.T) {
	r := opened(t)
	r.key(fyne.KeyL)
	r.clicks([2]float64{300, 300}, [2]float64{400, 300}, [2]float64{400, 400}, [2]float64{300, 400})
	r.key(fyne.KeyReturn)
	r.typed("PAI lesion A", "4")
	r.typed("PAI second lesion A", "3")
	l := r.storedMarks().Images[0].Lesions[0]
	if l.PAI == nil || *l.PAI != 4 || l.PAI2 == nil || *l.PAI2 != 3 {
		t.Errorf("the readings are %v and %v", l.PAI, l.PAI2)
	}
	r.typed("PAI lesion A", "6")
	if !strings.Contains(r.guide.error(), "1 to 5") || r.parts["PAI lesion A"].(*field).Text != "4" {
		t.Errorf("6 is answered with %q and shows %q", r.guide.error(), r.parts["PAI lesion A"].(*field).Text)
	}
	r.typed("PAI lesion A", "")
	if l := r.storedMarks().Images[0].Lesions[0]; l.PAI != nil {
		t.Errorf("the reading taken away is still %d", *l.PAI)
	}
}

func TestKeysWalkTheWorksheet(t *testing.T) {
	r, first, second := twoStages(t)
	g := r.sheet.grid
	r.win.Canvas().Focus(g.ring)
	down := func(n int, k fyne.KeyName) {
		for range n {
			g.ring.TypedKey(&fyne.KeyEvent{Name: k})
		}
	}
	if f, ok := g.ring.cell().(*figure); !ok || f.image != first || f.spec.what != measure.WhatLength {
		t.Fatalf("the ring begins at %+v", g.ring.cell())
	}
	down(2, fyne.KeyDown)
	if f := g.ring.cell().(*figure); f.spec.what != measure.WhatSchneiderAngle || !strings.Contains(r.tip.text(), "Schneider") {
		t.Errorf("two lines down is %s, the note says %q", f.spec.what, r.tip.text())
	}
	down(1, fyne.KeyReturn)
	if r.session.image != first || r.selected.kind != canal || r.win.Canvas().Focused() != fyne.Focusable(g.ring) {
		t.Errorf("Enter: image %s, selected %+v, focus on %T", r.session.image, r.selected, r.win.Canvas().Focused())
	}
	down(1, fyne.KeyRight)
	if f := g.ring.cell().(*figure); f.image != second {
		t.Errorf("to the right is image %s", f.image)
	}
	down(1, fyne.KeyDown)
	down(1, fyne.KeyReturn)
	f, ok := r.win.Canvas().Focused().(*field)
	if !ok {
		t.Fatalf("Enter on a reading puts the focus on %T", r.win.Canvas().Focused())
	}
	f.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	if r.win.Canvas().Focused() != fyne.Focusable(r.bench) {
		t.Error("Escape doesn't go back to the bench")
	}
}

// TestManyImages: thirty columns don't fit; the one on the bench is among
// those shown, and others can be turned to.
func TestManyImages(t *testing.T) {
	r := opened(t)
	r.traced()
	for i := range 29 {
		name := "/x/more" + string(rune('A'+i)) + ".png"
		r.files[name] = picture(64+i, 64, uint16(40+i))
		r.takeIn([]string{name})
	}
	g := r.sheet.grid
	if n := len(g.shown()); len(g.images) != 30 || n < 2 || n > 6 {
		t.Fatalf("%d images, %d columns", len(g.images), n)
	}
	if i := g.columnOf(r.session.image) - g.first; i < 0 || i >= g.fits {
		t.Errorf("the image on the bench is column %d of %d", i, g.fits)
	}
	r.choose(g.images[0].ID)
	if g.first != 0 || !strings.HasSuffix(r.figure("canal 46 MB", measure.WhatLength).large.Text, " px") {
		t.Errorf("the first column is %d, the length %q", g.first, r.figure("canal 46 MB", measure.WhatLength).large.Text)
	}
	if r.sheet.after.Disabled() {
		t.Errorf("can't turn to the columns after %q", r.sheet.which.Text)
	}
	test.Tap(r.sheet.after)
	if g.first != 1 || !strings.HasPrefix(r.sheet.which.Text, "2–") {
		t.Errorf("after a turn the first column is %d: %q", g.first, r.sheet.which.Text)
	}
}

// TestRoots: roots of the usual canals by any textbook of dental anatomy.
func TestRoots(t *testing.T) {
	for _, c := range []struct{ tooth, canal, want string }{
		{"46", "MB", "mesial root"}, {"46", "ML", "mesial root"}, {"46", "D", "distal root"}, {"37", "DL", "distal root"},
		{"16", "MB2", "mesiobuccal root"}, {"16", "DB", "distobuccal root"}, {"16", "P", "palatal root"},
		{"14", "B", "buccal root"}, {"14", "P", "palatal root"}, {"75", "D", "distal root"}, {"11", "main", ""}, {"44", "B", ""}, {"", "MB", ""},
	} {
		if _, got := rootOf(c.tooth, c.canal); got != c.want {
			t.Errorf("%s %s lies in %q, want %q", c.tooth, c.canal, got, c.want)
		}
	}
}
