package desk

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/png"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"rootrule/app/casebook"
	"rootrule/app/democase"
	"rootrule/imaging"
	"rootrule/measure"
)

// demoBook is a casebook with the demo case, made once.
var demoBook = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "demo")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "book.db")
	book, err := casebook.Open(path)
	if err != nil {
		return nil, err
	}
	c, err := democase.Open(book)
	if err == nil {
		err = c.SetPlace("")
	}
	if err = errors.Join(err, book.Close()); err != nil {
		return nil, err
	}
	return os.ReadFile(path)
})

// demoRig is a rig with the demo case on the desk, the first image on the
// bench.
func demoRig(t testing.TB) *rig {
	t.Helper()
	r := &rig{TB: t, path: filepath.Join(memory(t), "book.db"), clock: time.Unix(1_700_000_000, 0), files: map[string][]byte{}}
	data, err := demoBook()
	if err == nil {
		err = os.WriteFile(r.path, data, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	r.open()
	r.OpenLast()
	r.choose(r.session.marks.Images[0].ID)
	return r
}

// TestDemoWalk goes through the demo case: compare, aligned, difference,
// verdict, in three actions. The truth is the phantom's: the lesion shrinks from
// 12.4 to 3.6 mm² in the frame of the first image.
func TestDemoWalk(t *testing.T) {
	r := demoRig(t)
	r.key(fyne.KeyV)
	p := r.pair
	if p == nil || p.joining.joined == nil || !p.aligned || p.joining.diff == nil {
		t.Fatalf("the images are not aligned: %q %q", r.guide.error(), p.joining.refused)
	}
	rec := p.recall()
	if rec == nil || rec.Map == nil || rec.MapUPX == nil || rec.Model == "" || len(rec.Pairs) == 0 {
		t.Fatalf("the map is not recorded beside the pairs: %+v", rec)
	}
	f, ok := p.finding("", "lesion 37 M", measure.WhatAreaChange)
	if !ok || f.Verdict != measure.VerdictSmaller || f.Value > -8 || f.Value < -9.5 {
		t.Errorf("the lesion's area changes by %.1f mm², %q", f.Value, f.Verdict)
	}
	if !r.panel.box.Visible() || r.sheet.box.Visible() {
		t.Error("the panel does not stand in place of the worksheet")
	}
	part := r.panel.parts[0].(*lesionChange)
	if part.verdict.Text != "Smaller." || !part.plot.Visible() || part.rows[0].before.value.Text == "–" {
		t.Errorf("the panel says %q, before %q", part.verdict.Text, part.rows[0].before.value.Text)
	}
	r.key(fyne.KeyD)
	r.win.Canvas().Capture()
	if !p.hidesMarks() || !strings.Contains(r.guide.text, "denser") {
		t.Errorf("the difference is not shown: %q", r.guide.text)
	}
	r.undo()
	if rec := p.recall(); rec == nil || rec.Map != nil {
		t.Error("undo does not take the map back alone")
	}
	if !r.panel.keep.Visible() {
		t.Error("the map that was taken back can't be kept again")
	}
	r.panel.keep.OnTapped()
	if rec := p.recall(); rec == nil || rec.Map == nil {
		t.Error("the map is not kept again")
	}
}

// TestReaderConcludes: outcome, scores and the next date are steps of the case.
func TestReaderConcludes(t *testing.T) {
	r := demoRig(t)
	r.key(fyne.KeyV)
	if want := "2026-03-12"; r.panel.reader.proposed != want { // two years after the treatment began
		t.Errorf("the next recall is proposed for %q, want %q", r.panel.reader.proposed, want)
	}
	r.panel.reader.propose.OnTapped()
	r.panel.reader.outcome.SetSelectedIndex(2)
	r.typed("PAI 2 2", "3")
	if rec := r.pair.recall(); rec.Outcome != measure.OutcomeHealing || rec.Next != "2026-03-12" {
		t.Errorf("recorded: %q, %q", rec.Outcome, rec.Next)
	}
	_, after := r.pair.earlier()
	if l := imageIn(&r.session.marks, after).Lesions[0]; l.PAI2 == nil || *l.PAI2 != 3 || l.PAI == nil || *l.PAI != 2 {
		t.Error("the second reading of the index is not recorded beside the first")
	}
	if err := r.panel.reader.setNext("soon"); err == nil {
		t.Error("a date that is none is taken")
	}
}

// TestMirroredImageIsOfferedToBeFlipped: a recall that was stored mirrored is
// refused with its reason; one press turns it and aligns.
func TestMirroredImageIsOfferedToBeFlipped(t *testing.T) {
	r := demoRig(t)
	last := r.session.marks.Images[2]
	m, err := r.session.reader.Image(last.ID, last.File)
	if err != nil {
		t.Fatal(err)
	}
	r.files["/x/mirrored.png"] = encoded(t, m, imaging.TurnMirror)
	r.takeIn([]string{"/x/mirrored.png"})
	mirrored := r.session.image
	r.choose(r.session.marks.Images[0].ID)
	r.comparePair(mirrored)
	if !r.pair.joining.mirrored || !r.panel.flip.Visible() || !strings.Contains(r.panel.state.Text, "irror") {
		t.Fatalf("a mirrored image: %q", r.panel.state.Text)
	}
	r.panel.flip.OnTapped()
	if !r.pair.aligned || r.pair.joining.refused != "" || !imageIn(&r.session.marks, mirrored).Mirrored {
		t.Errorf("after the flip: %q, %q", r.panel.state.Text, r.guide.error())
	}
}

// encoded writes an image as PNG of 16 bits, turned.
func encoded(t testing.TB, m *imaging.Image, turn imaging.Turn) []byte {
	t.Helper()
	g := image.NewGray16(image.Rect(0, 0, m.Width, m.Height))
	for i, v := range turn.Apply(make([]uint16, len(m.Pix)), m.Pix, m.Width, m.Height) {
		binary.BigEndian.PutUint16(g.Pix[2*i:], v)
	}
	var b bytes.Buffer
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := enc.Encode(&b, g); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// unrelated is a rig that compares an image of 1000×800 with one of 500×400
// that has nothing in common with it.
func unrelated(t testing.TB) *rig {
	t.Helper()
	r := opened(t)
	random := rand.New(rand.NewPCG(1, 2))
	noise := &imaging.Image{Width: 500, Height: 400, Pix: make([]uint16, 500*400)}
	for i := range noise.Pix {
		noise.Pix[i] = uint16(random.Uint32())
	}
	r.files["/x/other.png"] = encoded(t, noise, imaging.TurnNone)
	r.takeIn([]string{"/x/other.png"})
	r.choose(r.session.marks.Images[0].ID)
	r.key(fyne.KeyV)
	return r
}

// TestUnrelatedImagesAreRefused with a reason, and can be marked in pairs.
func TestUnrelatedImagesAreRefused(t *testing.T) {
	r := unrelated(t)
	if r.pair.aligned || r.pair.joining.refused == "" || r.panel.state.Text == "" {
		t.Fatalf("two pictures of noise: aligned %v, %q", r.pair.aligned, r.panel.state.Text)
	}
	if r.pair.recall() != nil {
		t.Error("a refused pair is recorded")
	}
}

// TestPairsOfMarks: marks on both images, undone one by one; four of them
// align what the images can't tell.
func TestPairsOfMarks(t *testing.T) {
	r := unrelated(t)
	r.key(fyne.KeyF3)
	places := [][2]float64{{200, 200}, {800, 180}, {780, 640}, {220, 600}}
	for i, at := range places {
		r.pressPair(true, measure.Pt(at[0], at[1]))
		if r.pairing.first == nil {
			t.Fatal("the first mark does not wait for its partner")
		}
		r.pressPair(false, measure.Pt(at[0]/2+5, at[1]/2-3))
		if n := len(r.pair.pairs()); n != i+1 || r.pairing.first != nil {
			t.Fatalf("after %d pairs %d are recorded", i+1, n)
		}
	}
	r.key(fyne.KeyBackspace)
	if n := len(r.pair.pairs()); n != 3 {
		t.Errorf("backspace leaves %d pairs", n)
	}
	r.undo()
	if n := len(r.pair.pairs()); n != 4 {
		t.Errorf("undo of that leaves %d pairs", n)
	}
	r.key(fyne.KeyReturn)
	if r.pairing != nil || !r.pair.aligned {
		t.Fatalf("four pairs do not align: %q", r.panel.state.Text)
	}
	if got := r.pair.back().Map(measure.Pt(500, 400)); got.Dist(measure.Pt(255, 197)) > 0.01 {
		t.Errorf("through the pairs (500, 400) lies at %v", got)
	}
}

// TestAnotherImageBringsItsOwnFindings: when the image on the bench is changed
// for another one, nothing of the pair before is shown with it, neither at once
// nor later. Between the first two visits of the demo the lesion is the same.
func TestAnotherImageBringsItsOwnFindings(t *testing.T) {
	r := demoRig(t)
	r.key(fyne.KeyV)
	pre, wl := r.session.marks.Images[0].ID, r.session.marks.Images[1].ID
	work := r.beside
	var later []func()
	r.beside = func(do func()) { later = append(later, do) }
	r.key(fyne.KeyO) // the recall on the bench, the first image beside it
	r.choose(wl)
	if f, ok := r.pair.finding("", "lesion 37 M", measure.WhatAreaChange); ok || r.pair.joining.joined != nil {
		t.Errorf("while the other image is read, the change is told as %v", f.Value)
	}
	r.beside = work
	for len(later) > 0 {
		do := later[0]
		later = later[1:]
		do()
	}
	if r.session.image != wl || r.pair.other != pre {
		t.Fatalf("%s is compared with %s", r.session.image, r.pair.other)
	}
	f, ok := r.pair.finding("", "lesion 37 M", measure.WhatAreaChange)
	if !ok && r.pair.recall() != nil || f.Verdict == measure.VerdictSmaller {
		t.Errorf("between two visits of one month the lesion is told to be %q by %v", f.Verdict, f.Value)
	}
	if q := r.pair.joining.question; q.After.Digest != imageIn(&r.session.marks, wl).SHA256 {
		t.Error("the new pair is not aligned")
	}
	part := r.panel.parts[0].(*lesionChange)
	if part.verdict.Text == "Smaller." {
		t.Error("the panel tells the verdict of another pair")
	}
}
