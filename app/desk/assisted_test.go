package desk

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// radiograph is a phantom with a canal, a file and a lesion, and its truth.
var radiograph = sync.OnceValues(func() ([]byte, phantom.Truth) {
	spec := phantom.NewSpec(11)
	spec.Width, spec.Height, spec.PixelMM = 660, 1000, 0.03
	spec.Lesion = &phantom.LesionSpec{SemiMM: [2]float64{2, 1.6}, BeyondMM: 1.6, EdgeMM: 0.1, Depth: 0.7}
	m, truth := phantom.Periapical(spec)
	g := image.NewGray16(image.Rect(0, 0, m.Width, m.Height))
	for i, v := range m.Pix {
		g.SetGray16(i%m.Width, i/m.Width, color.Gray16{Y: v})
	}
	var b bytes.Buffer
	if err := png.Encode(&b, g); err != nil {
		panic(err)
	}
	return b.Bytes(), truth
})

// assisting is a rig with the phantom on the bench and the assists on.
func assisting(t *testing.T) (*rig, phantom.Truth) {
	t.Helper()
	data, truth := radiograph()
	r := newRig(t)
	r.helping.byHand = false
	r.files["/x/phantom.png"] = data
	r.OpenFiles([]string{"/x/phantom.png"})
	if !r.session.ready {
		t.Fatalf("the phantom is not on the bench: %q", r.guide.error())
	}
	return r, truth
}

func xy(p measure.Point) [2]float64 { return [2]float64{p.X, p.Y} }

// above is a coronal reference point above the orifice.
func above(c phantom.CanalTruth) measure.Point { return measure.Pt(c.Orifice.X-4, c.Orifice.Y-150) }

// fromTruth is how far the points of a line lie from the true one, root mean
// square, in px.
func fromTruth(line, truth []measure.Point) float64 {
	sum := 0.0
	for _, p := range line {
		d := distanceTo(truth, p)
		sum += d * d / float64(len(line))
	}
	return math.Sqrt(sum)
}

// steps counts how often undo finds something to take back.
func (r *rig) steps() int {
	n := 0
	for label, ok := r.session.canUndo(); ok && label != ""; label, ok = r.session.canUndo() {
		r.undo()
		n++
	}
	for range n {
		r.redo()
	}
	return n
}

func TestTwoClicksTraceACanal(t *testing.T) {
	r, truth := assisting(t)
	c := truth.Canals[0]
	before := r.steps()
	r.key(fyne.KeyT)
	r.clicks(xy(c.Orifice), [2]float64{c.Apex.X + 2, c.Apex.Y - 2})
	draft := r.session.shown().Canals
	if len(draft) != 1 || len(r.session.saved().Canals) != 0 {
		t.Fatalf("after two clicks %d canals are drawn and %d saved, want 1 and 0: %q", len(draft), len(r.session.saved().Canals), r.guide.text)
	}
	if off := fromTruth(draft[0].Marks, c.CentreLine); off > 1.5 {
		t.Errorf("the line lies %.2f px from the true one", off)
	}
	r.clicks(xy(above(c)))
	if r.task != nil || r.steps() != before+1 {
		t.Fatalf("the canal took %d steps, want 1: %q", r.steps()-before, r.guide.text)
	}
	got := r.session.saved().Canals[0]
	if got.Orifice != 1 || got.By != measure.ByAssist || got.Marks[0].Dist(above(c)) > 1.5 {
		t.Errorf("orifice %d, made %q, reference point %.1f px off", got.Orifice, got.By, got.Marks[0].Dist(above(c)))
	}
	length := measure.NewLine(got.Marks).Length()
	want := measure.NewLine(c.CentreLine).Length() + above(c).Dist(c.Orifice)
	if math.Abs(length-want) > 0.01*want {
		t.Errorf("the length is %.1f px, in truth %.1f", length, want)
	}
}

func TestDraggedMarkDrawsTheLineAnew(t *testing.T) {
	r, truth := assisting(t)
	c := truth.Canals[0]
	r.key(fyne.KeyT)
	r.clicks(xy(c.Orifice), xy(c.Apex), xy(above(c)))
	saved := r.session.saved().Canals[0]
	before := r.steps()
	k := len(saved.Marks) / 2
	from := saved.Marks[k]
	r.pull(from.X, from.Y, from.X+6, from.Y, desktop.MouseButtonPrimary)
	got, selected := r.session.saved().Canals[0], r.selected
	if r.steps() != before+1 || got.By != measure.ByCorrected {
		t.Fatalf("a drag made %d steps and a canal made %q: %q", r.steps()-before, got.By, r.guide.text)
	}
	i := nearestPoint(got.Marks, measure.Pt(from.X+6, from.Y))
	if got.Marks[i].Dist(measure.Pt(from.X+6, from.Y)) > 2.5 || // the mouse hits whole device pixels
		got.Marks[i].U != 0 {
		t.Errorf("no mark holds the line where it was dragged: nearest %v", got.Marks[i])
	} else if selected != (grip{item{canal, 0}, i}) {
		t.Errorf("%v is selected, not the dragged mark %d", selected, i)
	}
	r.undo()
	if !slices.Equal(r.session.saved().Canals[0].Marks, saved.Marks) {
		t.Error("undo does not bring the line back")
	}
}

func TestClickOnTheWayHoldsTheLine(t *testing.T) {
	r, truth := assisting(t)
	c := truth.Canals[0]
	r.key(fyne.KeyT)
	r.clicks(xy(c.Orifice), xy(c.Apex))
	mid := c.CentreLine[len(c.CentreLine)*2/3]
	r.clicks([2]float64{mid.X + 5, mid.Y}, xy(above(c)))
	got := r.session.saved().Canals[0]
	i := nearestPoint(got.Marks, measure.Pt(mid.X+5, mid.Y))
	if got.Marks[i].Dist(measure.Pt(mid.X+5, mid.Y)) > 1.5 || got.Marks[i].U != 0 {
		t.Errorf("the line passes %.1f px from the click", got.Marks[i].Dist(measure.Pt(mid.X+5, mid.Y)))
	}
}

func TestEnterKeepsACanalFromItsOrifice(t *testing.T) {
	r, truth := assisting(t)
	c := truth.Canals[0]
	r.key(fyne.KeyT)
	r.clicks(xy(c.Orifice))
	r.key(fyne.KeyReturn)
	if r.task == nil || len(r.session.saved().Canals) != 0 {
		t.Fatal("one click was kept as a canal")
	}
	r.clicks(xy(c.Apex))
	r.key(fyne.KeyReturn)
	got := r.session.saved().Canals
	if len(got) != 1 || got[0].Orifice != 0 || !strings.Contains(r.guide.text, "no coronal reference point") {
		t.Errorf("%d canals, said %q", len(got), r.guide.text)
	}
}

func TestTwoClicksCalibrateByAFile(t *testing.T) {
	r, truth := assisting(t)
	f := truth.File
	r.key(fyne.KeyC)
	r.typed("known length", plain(f.LengthMM))
	r.clicks([2]float64{f.Tip.X + 2, f.Tip.Y - 3}, [2]float64{f.Stop.X - 2, f.Stop.Y + 3})
	s, ok := r.session.scale()
	if !ok || r.task != nil {
		t.Fatalf("no scale after two clicks: %q", r.guide.text)
	}
	want := f.LengthMM / f.LengthPx
	if math.Abs(s.Value-want) > 0.005*want {
		t.Errorf("the scale is %.5f mm/px, in truth %.5f", s.Value, want)
	}
	if by := r.session.saved().Calibration[0].By; by != measure.ByAssist {
		t.Errorf("made %q", by)
	}
}

func TestOneClickOutlinesALesion(t *testing.T) {
	r, truth := assisting(t)
	l := truth.Lesion
	r.key(fyne.KeyL)
	r.clicks(xy(l.Centre))
	if len(r.session.saved().Lesions) != 1 {
		t.Fatalf("no outline: %q", r.guide.text)
	}
	area := func() float64 { return r.value("lesion A", measure.WhatArea) }
	if a := area(); math.Abs(a-l.AreaPx2) > 0.06*l.AreaPx2 {
		t.Errorf("the area is %.0f px², in truth %.0f", a, l.AreaPx2)
	}
	found := area()
	before := r.steps()
	r.selected = grip{item{lesion, 0}, -1}
	r.key(fyne.KeyE, fyne.KeyE)
	if a := area(); a < found*1.02 || r.steps() != before+2 {
		t.Errorf("two steps outward took the area from %.0f to %.0f px² in %d steps", found, a, r.steps()-before)
	}
	if by := r.session.saved().Lesions[0].By; by != measure.ByCorrected {
		t.Errorf("made %q", by)
	}
	r.undo()
	r.undo()
	if a := area(); math.Abs(a-found) > 1e-6 {
		t.Errorf("undo leaves an area of %.1f px², it was %.1f", a, found)
	}
}

func TestDraggedEdgeTakesTheOutlineAlong(t *testing.T) {
	r, truth := assisting(t)
	r.key(fyne.KeyL)
	r.clicks(xy(truth.Lesion.Centre))
	marks := marksOf(r.session.saved(), item{lesion, 0})
	p, c := marks[0], truth.Lesion.Centre
	to := measure.Pt(p.X+(p.X-c.X)*0.15, p.Y+(p.Y-c.Y)*0.15)
	r.pull(p.X, p.Y, to.X, to.Y, desktop.MouseButtonPrimary)
	line := curveOf(r.session.saved(), item{lesion, 0})
	if d := distanceTo(line, to); d > 2 {
		t.Errorf("the outline passes %.1f px from where it was dragged: %q", d, r.guide.text)
	}
	if by := r.session.saved().Lesions[0].By; by != measure.ByCorrected {
		t.Errorf("made %q", by)
	}
}

func TestRefusedOutlineOffersTheHand(t *testing.T) {
	r, _ := assisting(t)
	r.key(fyne.KeyL)
	r.clicks([2]float64{15, 15})
	if len(r.session.saved().Lesions) != 0 || r.task == nil || !strings.Contains(r.guide.text, "by hand") {
		t.Fatalf("air was outlined, or nothing said: %q", r.guide.text)
	}
	r.key(fyne.KeyY)
	t.Cleanup(func() { fyne.CurrentApp().Preferences().SetBool(keyByHand, false) })
	if r.task == nil || r.task.assisted {
		t.Fatal("the task does not go on by hand")
	}
	r.clicks([2]float64{100, 100}, [2]float64{160, 100}, [2]float64{130, 160})
	r.key(fyne.KeyReturn)
	if l := r.session.saved().Lesions; len(l) != 1 || l[0].By != measure.ByHand {
		t.Errorf("by hand: %+v", l)
	}
}

// TestStaleAnswerIsDropped: answers that come after something else was done
// change nothing.
func TestStaleAnswerIsDropped(t *testing.T) {
	r, truth := assisting(t)
	c := truth.Canals[0]
	var waiting []func()
	r.beside = func(work func()) { waiting = append(waiting, work) }
	r.key(fyne.KeyT)
	r.clicks(xy(c.Orifice), xy(c.Apex))
	r.key(fyne.KeyEscape)
	for _, work := range waiting {
		work()
	}
	if r.session.draft != nil || len(r.session.saved().Canals) != 0 || r.task != nil {
		t.Errorf("an answer to a task that was left came through: %q", r.guide.text)
	}
}

// TestHurryKeepsTheClicks: whoever goes on before the line is found keeps what
// was clicked.
func TestHurryKeepsTheClicks(t *testing.T) {
	r, truth := assisting(t)
	c := truth.Canals[0]
	r.beside = func(func()) {}
	r.key(fyne.KeyT)
	r.clicks(xy(c.Orifice), xy(c.Apex), xy(above(c)))
	r.key(fyne.KeyL)
	got := r.session.saved().Canals
	if len(got) != 1 || len(got[0].Marks) != 3 || got[0].By != measure.ByHand || got[0].Orifice != 1 {
		t.Fatalf("kept: %+v", got)
	}
}

// TestDistanceIsClickedByHand: an assisted calibration that becomes one by a
// known distance takes its two clicks as they are.
func TestDistanceIsClickedByHand(t *testing.T) {
	r, _ := assisting(t)
	r.key(fyne.KeyC)
	r.setWay(measure.CalibrationDistance)
	r.clicks([2]float64{100, 300}, [2]float64{300, 300})
	got := r.session.saved().Calibration
	if len(got) != 1 || len(got[0].Marks) != 2 || got[0].By != measure.ByHand || r.task != nil {
		t.Errorf("%+v: %q", got, r.guide.text)
	}
}

// TestNameIsTypedWhileTracing: what is typed about an assisted canal before it
// is kept is kept with it.
func TestNameIsTypedWhileTracing(t *testing.T) {
	r, truth := assisting(t)
	c := truth.Canals[0]
	r.key(fyne.KeyT)
	r.clicks(xy(c.Orifice), xy(c.Apex))
	r.typed("tooth", "46")
	r.typed("name", "D")
	r.clicks(xy(above(c)))
	if got := r.session.saved().Canals; len(got) != 1 || got[0].Tooth != "46" || got[0].Name != "D" {
		t.Errorf("%+v, error %q", got, r.guide.error())
	}
}
