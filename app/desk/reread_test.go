package desk

import (
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"rootrule/app/reading"
	"rootrule/measure"
)

// TestSecondReadingIsBlindAndFeedsTheReadersUncertainty: three places of a
// canal are marked again with known errors; nothing enters the case, and from
// six places on the case can count with the result.
func TestSecondReadingIsBlindAndFeedsTheReadersUncertainty(t *testing.T) {
	r := opened(t)
	defer r.storeClicks(reading.Click{})
	r.calibrated()
	r.traced()
	before := r.session.marks
	im := r.session.saved()
	first := im.Canals[0].Marks
	for round := 1; round <= 2; round++ {
		r.selected = grip{item{kind: canal, index: 0}, -1}
		r.key(fyne.KeyQ)
		if r.again == nil || len(r.again.places) != 3 || r.mode() != "second reading" {
			t.Fatalf("no second reading has begun: %q", r.guide.text)
		}
		for _, i := range []int{0, 1, 3} {
			if !strings.Contains(r.guide.text, "hidden") {
				t.Errorf("the sentence is %q", r.guide.text)
			}
			r.pressAgain(measure.Pt(first[i].X+1, first[i].Y-1))
		}
		if r.again != nil || len(r.session.saved().Canals) != 1 {
			t.Fatal("the second reading has not ended, or left marks behind")
		}
	}
	want := 1 / math.Sqrt2 // marks 1 px apart have a standard deviation of 1/√2 each
	u, enough := r.ownClicks().StdUnc()
	if r.ownClicks().Places != 6 || !enough || math.Abs(u-want) > 1e-9 {
		t.Errorf("%d places give %g px, want %g", r.ownClicks().Places, u, want)
	}
	if !strings.Contains(r.guide.text, "n = 6") {
		t.Errorf("the window says %q", r.guide.text)
	}
	if r.session.marks.ClickPX != before.ClickPX {
		t.Error("the case counts with it unasked")
	}
	r.key(fyne.KeyF9)
	if c := r.session.marks.ClickPX; c == nil || math.Abs(*c-want) > 1e-9 {
		t.Error("the case doesn't count with the reader's clicks")
	}
	r.undo()
	if r.session.marks.ClickPX != nil {
		t.Error("that can't be undone")
	}
}

// TestSecondReadingIsLeft by Escape, by its key, by another task.
func TestSecondReadingIsLeft(t *testing.T) {
	for _, k := range []fyne.KeyName{fyne.KeyEscape, fyne.KeyQ, fyne.KeyT} {
		r := opened(t)
		r.traced()
		r.selected = grip{item{kind: canal, index: 0}, -1}
		r.key(fyne.KeyQ)
		r.pressAgain(measure.Pt(5, 5))
		r.key(k)
		if r.again != nil {
			t.Errorf("%s leaves the second reading on", k)
		}
		if len(r.session.saved().Canals) != 1 {
			t.Errorf("%s leaves marks behind", k)
		}
	}
}

// TestSecondOutlineTellsBothAreas: an outline is read again as a whole.
func TestSecondOutlineTellsBothAreas(t *testing.T) {
	r := opened(t)
	r.calibrated()
	ring := [][2]float64{{400, 400}, {500, 400}, {500, 500}, {400, 500}}
	r.edit("outline", func(im *measure.ImageMarks) error {
		l := measure.Lesion{Tooth: "46", Name: "A"}
		for _, p := range ring {
			l.Outline = append(l.Outline, measure.Pt(p[0], p[1]))
		}
		im.Lesions = append(im.Lesions, l)
		return nil
	})
	r.selected = grip{item{kind: lesion, index: 0}, -1}
	r.key(fyne.KeyQ)
	for _, p := range ring {
		r.pressAgain(measure.Pt(p[0], p[1]))
	}
	r.key(fyne.KeyReturn)
	if r.again != nil || strings.Count(r.guide.text, "mm²") != 2 {
		t.Errorf("after the second outline: %q", r.guide.text)
	}
	r.selected = nowhere
	r.key(fyne.KeyQ)
	if r.again != nil {
		t.Error("nothing is read a second time")
	}
}
