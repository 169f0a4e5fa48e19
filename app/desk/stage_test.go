package desk

import (
	"fmt"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/storage"

	"rootrule/measure"
)

func TestGuessStage(t *testing.T) {
	pre, length, cone, post, recall := measure.StagePreOperative, measure.StageWorkingLength, measure.StageConeFit,
		measure.StagePostOperative, measure.StageRecall
	im := func(stage, date string) measure.ImageMarks {
		return measure.ImageMarks{ID: stage + date, Stage: stage, Date: date}
	}
	for _, c := range []struct {
		name   string
		images []measure.ImageMarks
		date   string
		want   string
	}{
		{"the first", nil, "", pre},
		{"the next, without dates", []measure.ImageMarks{im(pre, "")}, "", length},
		{"the next of a visit", []measure.ImageMarks{im(pre, "2026-01-01"), im(length, "2026-01-08")}, "2026-01-08", cone},
		{"after the cone", []measure.ImageMarks{im(pre, ""), im(length, ""), im(cone, "")}, "", post},
		{"soon after the filling", []measure.ImageMarks{im(post, "2026-01-08")}, "2026-03-01", recall},
		{"a year after the filling", []measure.ImageMarks{im(pre, "2025-01-01"), im(post, "2025-01-08")}, "2026-01-08", recall},
		{"after a recall", []measure.ImageMarks{im(post, "2025-01-08"), im(recall, "2026-01-01")}, "2027-01-08", recall},
		{"before all others", []measure.ImageMarks{im(length, "2025-01-08")}, "2025-01-01", pre},
		{"long after an unfilled one", []measure.ImageMarks{im(pre, "2024-01-08"), im(length, "2024-01-15")}, "2026-01-01", pre},
		{"between two", []measure.ImageMarks{im(pre, "2026-01-01"), im(post, "2026-02-01")}, "2026-01-15", length},
		{"treated again", []measure.ImageMarks{im(post, "2020-01-01"), im(recall, "2021-01-01"), im(pre, "2021-02-01")}, "2021-02-08", length},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := guessStage(c.images, c.date); got != c.want {
				t.Errorf("%q, want %q", got, c.want)
			}
		})
	}
}

// TestStageByOnePress: a press on a step of a card's rail corrects the stage,
// whichever image is on the bench, and undo takes it back.
func TestStageByOnePress(t *testing.T) {
	r := newRig(t)
	r.Dropped([]fyne.URI{storage.NewFileURI("/x/one.png"), storage.NewFileURI("/x/two.png")})
	rail := r.strip.cards[1].rail
	w := rail.Size().Width
	if w <= 0 {
		t.Fatal("the rail has no size")
	}
	rail.Tapped(&fyne.PointEvent{Position: fyne.NewPos(w*0.9, 5)})
	if got := r.storedMarks().Images[1].Stage; got != measure.StageRecall {
		t.Errorf("the last step makes it %q", got)
	}
	if r.session.image != r.session.marks.Images[0].ID {
		t.Error("the bench has changed its image")
	}
	r.undo()
	if got := r.session.marks.Images[1].Stage; got != measure.StageWorkingLength {
		t.Errorf("after undo it is %q", got)
	}
}

func TestTakeOutAndBack(t *testing.T) {
	r := newRig(t)
	r.Dropped([]fyne.URI{storage.NewFileURI("/x/one.png"), storage.NewFileURI("/x/two.png")})
	r.traced()
	id := r.session.image
	r.takeOut(id)
	if len(r.strip.cards) != 1 || r.session.image == id || !r.session.ready {
		t.Fatalf("%d images are left, %q is on the bench", len(r.strip.cards), r.session.image)
	}
	if !strings.Contains(r.guide.text, "Ctrl+Z") {
		t.Errorf("nobody says that undo helps: %q", r.guide.text)
	}
	r.undo()
	r.choose(id)
	r.expectMarks(item{canal, 0}, 4)
	r.takeOut(id)
	r.takeOut(r.session.image)
	if len(r.session.marks.Images) != 0 || r.bench.picture != nil || !strings.Contains(r.guide.text, "first radiograph") {
		t.Errorf("a case without images says %q", r.guide.text)
	}
}

// TestTakenOutWithWhatComparesIt: views and recalls of an image go with it.
func TestTakenOutWithWhatComparesIt(t *testing.T) {
	m := measure.Marks{Images: []measure.ImageMarks{{ID: "a"}, {ID: "b"}, {ID: "c"}},
		Views:   []measure.View{{Images: [2]string{"a", "b"}}, {Images: [2]string{"b", "c"}}},
		Recalls: []measure.Recall{{Before: "a", After: "b"}, {Before: "b", After: "c"}, {Before: "a", After: "c"}}}
	dropImage(&m, "c")
	if len(m.Images) != 2 || len(m.Views) != 1 || len(m.Recalls) != 1 {
		t.Errorf("%d images, %d views, %d recalls are left", len(m.Images), len(m.Views), len(m.Recalls))
	}
}

// TestThirtyImages: every image of a large case has its small picture, made
// once and kept with the casebook, and the strip scrolls to the chosen one.
func TestThirtyImages(t *testing.T) {
	r := newRig(t)
	var dropped []fyne.URI
	for i := range 30 {
		path := fmt.Sprintf("/x/%02d.png", i)
		r.files[path] = picture(60+i, 50, uint16(i+1))
		dropped = append(dropped, storage.NewFileURI(path))
	}
	r.Dropped(dropped)
	if len(r.strip.cards) != 30 {
		t.Fatalf("%d images on the strip", len(r.strip.cards))
	}
	for i, c := range r.strip.cards {
		if c.thumb.Image == nil {
			t.Fatalf("image %d has no small picture", i+1)
		}
		if _, err := r.book.Thumb(r.session.marks.Images[i].SHA256); err != nil {
			t.Fatalf("the small picture of image %d is not kept: %v", i+1, err)
		}
	}
	r.win.Resize(fyne.NewSize(1280, 800)) // the test window lays out on a change only
	r.choose(r.strip.cards[29].id)
	if r.strip.scroll.Offset.Y < 1000 {
		t.Errorf("the strip is scrolled to %g", r.strip.scroll.Offset.Y)
	}
	r.reopen(false)
	if r.strip.cards[29].thumb.Image == nil || !r.strip.cards[29].chosen {
		t.Error("after a new start the strip doesn't show where the case was left")
	}
}

// TestTurnedCardHasABadge: a picture is never turned in silence.
func TestTurnedCardHasABadge(t *testing.T) {
	r := opened(t)
	c := r.strip.cards[0]
	w := c.thumb.Image.Bounds().Dx()
	if c.plate.Visible() {
		t.Error("an image as stored has a badge")
	}
	r.key(fyne.KeyF5)
	if !c.plate.Visible() || c.thumb.Image.Bounds().Dy() != w || len(r.flags.said) == 0 || !strings.Contains(r.flags.said[0], "turned by 90°") {
		t.Errorf("badge %q, flags %q", c.badge.Text, r.flags.said)
	}
	r.key(fyne.KeyF4)
	if !strings.Contains(r.flags.said[0], "left and right exchanged") {
		t.Errorf("flags %q", r.flags.said)
	}
}

func TestFlags(t *testing.T) {
	r := opened(t)
	if got := strings.Join(r.flags.said, "; "); got != "Not calibrated: lengths are in px" {
		t.Errorf("flags %q", got)
	}
	r.calibrated()
	if len(r.flags.said) != 0 {
		t.Errorf("a calibrated image has the flags %q", r.flags.said)
	}
}
