package desk

import (
	"math"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"rootrule/measure"
)

// paired is a rig that compares an image of 1000×800 with one of 500×400.
func paired(t testing.TB) *rig {
	t.Helper()
	r := opened(t)
	r.takeIn([]string{"/x/two.png"})
	r.choose(r.session.marks.Images[0].ID)
	r.key(fyne.KeyV)
	if r.pair == nil || r.pair.picture == nil {
		t.Fatalf("no comparison has begun: %q, %q", r.guide.text, r.guide.error())
	}
	r.win.Resize(fyne.NewSize(1280, 800))
	return r
}

func TestCompareNeedsTwoImages(t *testing.T) {
	r := opened(t)
	r.key(fyne.KeyV)
	if r.pair != nil {
		t.Error("one image is compared with itself")
	}
}

func TestCompareIsLeftByEscapeAndByItsKey(t *testing.T) {
	for _, k := range []fyne.KeyName{fyne.KeyEscape, fyne.KeyV} {
		r := paired(t)
		if !r.side.Visible() || !r.compareBar.box.Visible() {
			t.Fatal("the second image is not in sight")
		}
		r.key(k)
		if r.pair != nil || r.side.Visible() || r.compareBar.box.Visible() {
			t.Errorf("%s leaves the comparison on", k)
		}
	}
}

// TestSwapKeepsTheAnatomyWhereItIs: what is in the middle of the half stays
// there, and as large, when the other image is put on the bench and back.
func TestSwapKeepsTheAnatomyWhereItIs(t *testing.T) {
	r := paired(t)
	r.bench.zoom(100, 120, 2)
	w, h := r.bench.area()
	x, y := r.bench.view.ToImage((w-1)/2, (h-1)/2)
	scale, first := r.bench.view.Scale, r.session.image
	r.key(fyne.KeyO)
	if r.session.image == first || r.pair.other != first {
		t.Fatal("the images have not changed places")
	}
	// the second image is half as wide: its pixels are shown twice as large
	x2, y2 := r.bench.view.ToImage((w-1)/2, (h-1)/2)
	if math.Abs(2*x2+0.5-x) > 0.01 || math.Abs(2*y2+0.5-y) > 0.01 || math.Abs(r.bench.view.Scale/scale-2) > 1e-9 {
		t.Errorf("in the middle was (%g, %g) at %g, now (%g, %g) at %g", x, y, scale, x2, y2, r.bench.view.Scale)
	}
	if r.bench.Position().X < r.side.Position().X {
		t.Error("the later image lies left")
	}
	r.key(fyne.KeyO)
	if x3, y3 := r.bench.view.ToImage((w-1)/2, (h-1)/2); math.Hypot(x3-x, y3-y) > 0.01 || r.session.image != first {
		t.Errorf("back again, the middle is (%g, %g), it was (%g, %g)", x3, y3, x, y)
	}
}

// TestGhostFollowsTheMouseOfTheOtherHalf: hovering one image marks the same
// place on the other.
func TestGhostFollowsTheMouseOfTheOtherHalf(t *testing.T) {
	r := paired(t)
	r.move(300, 200)
	if g := r.pair.ghost; g.on != onBench || g.at.Dist(measure.Pt(300, 200)) > 2 {
		t.Errorf("over the bench the ghost is %+v", g)
	}
	r.side.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: r.on(420, 310)}})
	if g := r.pair.ghost; g.on != onSide || g.at.Dist(measure.Pt(420, 310)) > 2 {
		t.Errorf("over the second image the ghost is %+v", g)
	}
	r.side.MouseOut()
	if r.pair.ghost.on != nowhere2 {
		t.Error("the ghost stays when the mouse has left")
	}
}

// TestClickOnTheSecondImagePutsItOnTheBench: a drag there only moves both.
func TestClickOnTheSecondImagePutsItOnTheBench(t *testing.T) {
	r := paired(t)
	second := r.pair.other
	at := fyne.NewPos(100, 100)
	press := &desktop.MouseEvent{Button: desktop.MouseButtonPrimary, PointEvent: fyne.PointEvent{Position: at}}
	r.side.MouseDown(press)
	r.side.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: at.AddXY(30, 20)}})
	r.side.MouseUp(press)
	if r.session.image == second || r.bench.fitted {
		t.Error("a drag on the second image does not move both")
	}
	r.side.MouseDown(press)
	r.side.MouseUp(press)
	if r.session.image != second {
		t.Error("a click on the second image does not put it on the bench")
	}
}

// TestSplitLineMoves by drag and by key, and never out of sight.
func TestSplitLineMoves(t *testing.T) {
	r := paired(t)
	r.key(fyne.KeyX)
	r.win.Canvas().Capture()
	w, _ := r.bench.area()
	press := func(x float64) *desktop.MouseEvent {
		return &desktop.MouseEvent{Button: desktop.MouseButtonPrimary, PointEvent: fyne.PointEvent{Position: fyne.NewPos(float32(x), 200)}}
	}
	r.bench.MouseDown(press(w / 2))
	for _, x := range []float64{w * 0.4, w * 0.3} {
		r.bench.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(float32(x), 200)}})
	}
	r.bench.MouseUp(press(w * 0.3))
	if math.Abs(r.pair.split-0.3) > 0.01 {
		t.Errorf("the line is at %g of the bench, it was dragged to 0.3", r.pair.split)
	}
	before := r.pair.split
	r.key(fyne.KeyRight)
	if r.pair.split <= before {
		t.Error("the arrow key doesn't move the line")
	}
	r.pair.moveLine(-500)
	if r.pair.split <= 0 {
		t.Error("the line can be lost")
	}
}

// TestBlinkingIsSafe: no rate and no key makes more than three flashes, six
// changes, in a second (WCAG 2.2, 2.3.1).
func TestBlinkingIsSafe(t *testing.T) {
	r := paired(t)
	r.key(fyne.KeyJ)
	for _, rate := range []float64{-1, 0.5, 3, 50} {
		r.setRate(rate)
		if every := r.pair.blink.every(); every < time.Second/6 || every > 2*time.Second {
			t.Errorf("at a rate of %g the image changes every %v", rate, every)
		}
	}
	changes := 0
	for range 100 { // a second of the fastest fingers
		r.clock = r.clock.Add(10 * time.Millisecond)
		before := r.pair.blink.second
		r.holdBlink(!r.pair.blink.held)
		if r.pair.blink.second != before {
			changes++
		}
	}
	if changes > 6 {
		t.Errorf("by hand the image changed %d times in a second", changes)
	}
}

// TestStripAndPair: Ctrl and a tap on a card compare with it, a tap on the
// second image swaps, a tap on a third takes the place of the one on the bench.
func TestStripAndPair(t *testing.T) {
	r := opened(t)
	r.takeIn([]string{"/x/two.png"})
	r.takeIn([]string{"/x/three.png"})
	r.choose(r.session.marks.Images[0].ID)
	ids := []string{r.session.marks.Images[0].ID, r.session.marks.Images[1].ID, r.session.marks.Images[2].ID}
	card := r.strip.cards[1]
	press := &desktop.MouseEvent{Button: desktop.MouseButtonPrimary, Modifier: fyne.KeyModifierControl}
	card.MouseDown(press)
	card.Tapped(nil)
	if r.pair == nil || r.pair.other != ids[1] {
		t.Fatal("Ctrl and a tap do not compare")
	}
	card.MouseDown(&desktop.MouseEvent{Button: desktop.MouseButtonPrimary})
	card.Tapped(nil)
	if r.session.image != ids[1] || r.pair == nil || r.pair.other != ids[0] {
		t.Error("a tap on the second image does not swap the two")
	}
	r.strip.cards[2].Tapped(nil)
	if r.session.image != ids[2] || r.pair == nil || r.pair.other != ids[0] {
		t.Error("a tap on a third image does not put that on the bench")
	}
	before, after := r.pair.earlier()
	if q := r.pair.joining.question; q.Before.Digest != imageIn(&r.session.marks, before).SHA256 || q.After.Digest != imageIn(&r.session.marks, after).SHA256 {
		t.Error("the new pair is not aligned")
	}
}
