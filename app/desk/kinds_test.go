package desk

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"rootrule/measure"
)

// pick does what a choice of a menu says.
func pick(t *testing.T, choices []*fyne.MenuItem, label string) {
	t.Helper()
	var all []string
	for _, c := range choices {
		if c.Label == label {
			c.Action()
			return
		}
		all = append(all, c.Label)
	}
	t.Fatalf("there is no choice %q among %q", label, all)
}

// TestEachKindOfMarks starts, saves, corrects and deletes each kind by mouse,
// each as one step.
func TestEachKindOfMarks(t *testing.T) {
	for _, c := range []struct {
		kind   kind
		way    string
		clicks [][2]float64
		ends   bool // by itself
		marks  int
	}{
		{filling, "", [][2]float64{{300, 470}, {300, 500}}, true, 2},
		{obstruction, measure.ObstructionInstrument, [][2]float64{{300, 300}, {300, 360}}, true, 2},
		{obstruction, measure.ObstructionMetalPoint, [][2]float64{{300, 300}, {302, 360}}, true, 2},
		{post, "", [][2]float64{{300, 210}, {300, 330}}, true, 2},
		{lesion, "", [][2]float64{{300, 520}, {340, 560}, {260, 560}}, false, 3},
	} {
		r := opened(t)
		r.traced()
		r.startAs(c.kind, c.way)
		r.clicks(c.clicks...)
		if !c.ends {
			r.key(fyne.KeyReturn)
		}
		it := item{c.kind, 0}
		if r.task != nil {
			t.Errorf("%v: the task goes on: %q", c.kind, r.guide.text)
		}
		r.expectMarks(it, c.marks)
		if by := madeBy(r.session.saved(), it); *by != measure.ByHand {
			t.Errorf("%v: made %q", c.kind, *by)
		}
		r.pull(c.clicks[0][0], c.clicks[0][1], c.clicks[0][0]+30, c.clicks[0][1], desktop.MouseButtonPrimary)
		if got := marksOf(r.session.saved(), it)[0].X; !near2(got, c.clicks[0][0]+30, 1.5) {
			t.Errorf("%v: the drag left the mark at %g", c.kind, got)
		}
		r.selected = grip{it, -1}
		r.key(fyne.KeyDelete)
		if count(r.session.saved(), c.kind) != 0 {
			t.Errorf("%v: it is not deleted", c.kind)
		}
		r.undo()
		r.expectMarks(it, c.marks)
	}
}

// TestAdditions: what belongs to a filling, an obstruction or a post is added
// to it, shown among its marks, and deleted alone.
func TestAdditions(t *testing.T) {
	for _, c := range []struct {
		to     kind
		add    kind
		clicks [][2]float64
		marks  int // of the owner then
		finish bool
	}{
		{filling, width, [][2]float64{{290, 450}, {310, 450}}, 4, false},
		{filling, void, [][2]float64{{296, 400}, {304, 400}, {300, 420}}, 2, true},
		{obstruction, dentineSide, [][2]float64{{330, 320}}, 3, false},
		{post, postTop, [][2]float64{{300, 100}}, 3, false},
		{post, postMargin, [][2]float64{{300, 160}}, 3, false},
		{post, postApex, [][2]float64{{300, 520}}, 3, false},
	} {
		r := opened(t)
		r.start(c.add)
		if r.task != nil || !strings.Contains(r.guide.text, "First mark") {
			t.Errorf("%v without its owner: %q", c.add, r.guide.text)
		}
		r.startAs(c.to, measure.ObstructionInstrument)
		r.clicks([2]float64{300, 300}, [2]float64{300, 380})
		r.selected = grip{item{c.to, 0}, -1}
		r.start(c.add)
		r.clicks(c.clicks...)
		if c.finish {
			r.key(fyne.KeyReturn)
		}
		owner := item{c.to, 0}
		r.expectMarks(owner, c.marks)
		if c.add == void {
			r.expectMarks(item{void, 0}, 3)
			continue
		}
		r.selected = grip{owner, c.marks - 1}
		r.key(fyne.KeyDelete)
		r.expectMarks(owner, 2)
	}
}

func TestNoVoidIsNotTheSameAsNoneMarked(t *testing.T) {
	r := opened(t)
	r.start(filling)
	r.clicks([2]float64{300, 300}, [2]float64{300, 380})
	pick(t, r.choices(), "There is no void")
	f := r.storedMarks().Images[0].Fillings[0]
	if f.Voids == nil || len(f.Voids) != 0 {
		t.Errorf("voids %v", f.Voids)
	}
}

func TestOrificeAndStartOfTheCurveByChoice(t *testing.T) {
	r := opened(t)
	r.traced()
	it := item{canal, 0}
	r.selected = grip{it, 2}
	pick(t, r.choices(), "The curve starts here")
	if s := r.session.saved().Canals[0].CurveStart; s == nil || *s != 2 {
		t.Fatalf("the curve starts at %v", s)
	}
	r.selected = grip{it, 0}
	r.key(fyne.KeyDelete) // the orifice is the first mark then
	if s := r.session.saved().Canals[0].CurveStart; s == nil || *s != 1 {
		t.Errorf("with a mark less the curve starts at %v", s)
	}
	r.selected = grip{it, 1}
	pick(t, r.choices(), "The orifice is here")
	if c := r.session.saved().Canals[0]; c.Orifice != 1 || c.CurveStart != nil {
		t.Errorf("orifice %d, curve from %v", c.Orifice, c.CurveStart)
	}
}

func TestPeriapicalIndexByChoice(t *testing.T) {
	r := opened(t)
	r.start(lesion)
	r.clicks([2]float64{300, 520}, [2]float64{340, 560}, [2]float64{260, 560})
	r.key(fyne.KeyReturn)
	for i, second := range []bool{false, true} {
		pick(t, r.choices()[i].ChildMenu.Items, paiWords()[2+i])
		l := r.session.saved().Lesions[0]
		got := l.PAI
		if second {
			got = l.PAI2
		}
		if got == nil || *got != 3+i {
			t.Errorf("reading %d is %v", i+1, got)
		}
	}
}

// TestKeysAlone traces a canal with the keys of the cross: arrows, Enter, and
// Enter again to end.
func TestKeysAlone(t *testing.T) {
	r := opened(t)
	r.key(fyne.KeyT)
	for i := range 4 {
		for range 3 {
			r.key(fyne.KeyDown)
		}
		if i == 3 {
			r.key(fyne.KeyRight)
		}
		r.key(fyne.KeyReturn)
	}
	r.expectMarks(item{canal, 0}, 4)
	r.key(fyne.KeyReturn)
	if r.task != nil {
		t.Fatalf("Enter on the same spot does not end the task: %q", r.guide.text)
	}
	r.key(fyne.KeyEscape, fyne.KeyEscape, fyne.KeyN)
	if r.selected != (grip{item{canal, 0}, 0}) {
		t.Errorf("the next mark is %v", r.selected)
	}
	before := marksOf(r.session.saved(), item{canal, 0})[0]
	r.key(fyne.KeyRight)
	if after := marksOf(r.session.saved(), item{canal, 0})[0]; !near2(after.X-before.X, fine, 1e-9) {
		t.Errorf("the arrow moved the mark by %g px", after.X-before.X)
	}
	r.key(fyne.KeyEscape)
	if r.selected != nowhere || r.cursor.on {
		t.Error("Escape leaves something selected")
	}
}

// TestCrossStaysInSight: however far the keys move it, the cross is on the
// picture and on the bench.
func TestCrossStaysInSight(t *testing.T) {
	r := opened(t)
	r.bench.zoom(100, 100, 4)
	for _, k := range []fyne.KeyName{fyne.KeyRight, fyne.KeyDown, fyne.KeyLeft, fyne.KeyUp} {
		for range 250 {
			r.key(k)
		}
		x, y := r.bench.view.Snapped().ToScreen(r.cursor.at.X, r.cursor.at.Y)
		if w, h := r.bench.area(); x < 0 || y < 0 || x > w || y > h {
			t.Fatalf("after %s the cross is at (%g, %g) of %g × %g", k, x, y, w, h)
		}
		p := r.bench.picture
		if c := r.cursor.at; c.X < 0 || c.Y < 0 || c.X > float64(p.Width-1) || c.Y > float64(p.Height-1) {
			t.Fatalf("after %s the cross is at %v of %d × %d px", k, c, p.Width, p.Height)
		}
	}
}

func TestWeightIsRemembered(t *testing.T) {
	r := opened(t)
	before := r.weight
	r.key(fyne.KeyK)
	t.Cleanup(func() { fyne.CurrentApp().Preferences().SetInt(keyWeight, before) })
	if r.weight == before || readWeight() != r.weight {
		t.Errorf("weight %d, kept %d", r.weight, readWeight())
	}
}
