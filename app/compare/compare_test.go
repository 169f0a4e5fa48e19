package compare

import (
	"context"
	"errors"
	"math"
	"sync"
	"testing"

	"rootrule/imaging"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// demo is the program's own demo case: its truth says where each landmark is.
var demo = sync.OnceValue(func() phantom.Case { return phantom.Demo(5) })

// visits are the pre-operative exposure and the recall.
func visits() (before, after phantom.Exposure) {
	return demo().Exposures[0], demo().Exposures[2]
}

func question() Question {
	before, after := visits()
	return Question{Before: Image{Digest: "a", Picture: before.Image}, After: Image{Digest: "b", Picture: after.Image}}
}

// room is shared by the tests that ask the same question.
var room Room

func joined(t *testing.T) *Joined {
	t.Helper()
	j, err := room.Join(context.Background(), question())
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// worst is the largest distance by which the map misses the true landmarks;
// lie takes true pixels of the later image to those that were joined.
func worst(j *Joined, lie measure.Alignment) float64 {
	before, after := visits()
	most := 0.0
	for i, l := range before.Truth.Landmarks {
		most = math.Max(most, j.Matrix.Map(lie.Map(after.Truth.Landmarks[i].At)).Dist(l.At))
	}
	return most
}

var same = measure.Alignment{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}

func TestJoinFindsTheTrueMap(t *testing.T) {
	j := joined(t)
	if off := worst(j, same); off > 1 {
		t.Errorf("a landmark is missed by %.2f px", off)
	}
	if u := j.StdUnc(measure.Pt(850, 635)); !(u > 0 && u < 2) {
		t.Errorf("the map is said to be uncertain by %g px", u)
	}
	if again := joined(t); again != j {
		t.Error("the same question is worked out again")
	}
}

// TestJoinOfTurnedImages: an image that was stored mirrored or turned, and is
// shown upright, is joined in its stored pixels.
func TestJoinOfTurnedImages(t *testing.T) {
	before, after := visits()
	for turn, back := range map[imaging.Turn]imaging.Turn{imaging.TurnMirror: imaging.TurnMirror,
		imaging.TurnQuarter: imaging.TurnThreeQuarters, imaging.TurnTranspose: imaging.TurnTranspose} {
		stored := Image{Picture: after.Image, Turn: turn}.upright()
		q := Question{Before: Image{Digest: "a", Picture: before.Image}, After: Image{Digest: "b", Picture: stored, Turn: back}}
		j, err := new(Room).Join(context.Background(), q)
		if err != nil {
			t.Fatalf("%v: %v", turn, err)
		}
		if off := worst(j, Lie(turn, after.Image.Width, after.Image.Height)); off > 1 {
			t.Errorf("%v: a landmark is missed by %.2f px", turn, off)
		}
	}
}

func TestMirroredIsRefusedByName(t *testing.T) {
	q := question()
	q.After.Turn = imaging.TurnMirror
	_, err := room.Join(context.Background(), q)
	if reason, ok := Refused(err); !Mirrored(err) || !ok || reason == "" {
		t.Errorf("a mirrored image: %v", err)
	}
	if _, again := room.Join(context.Background(), q); again != err {
		t.Errorf("asked again: %v", again)
	}
}

func TestCancelIsNoAnswer(t *testing.T) {
	var r Room
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := r.Join(ctx, question()); !errors.Is(err, context.Canceled) {
		t.Fatalf("a cancelled alignment gives %v", err)
	}
	if _, err := r.Join(context.Background(), question()); err != nil {
		t.Errorf("after a cancelled one: %v", err)
	}
}

func TestRoomForgetsTheOldest(t *testing.T) {
	var r Room
	for i := range 3 * keep {
		if _, err := r.answer(Question{Exclude: [][]measure.Point{{measure.Pt(float64(i), 0)}}}); err != nil {
			t.Fatal(err)
		}
	}
	if len(r.kept) != keep {
		t.Errorf("%d answers are kept, want %d", len(r.kept), keep)
	}
	if _, err := r.answer(Question{Pairs: [][2]measure.Point{{{X: math.NaN()}}}}); err == nil {
		t.Error("a mark that is no number is taken")
	}
}

// TestDifferenceShowsTheHealedPart: the lesion of the demo shrinks, so that
// between its two outlines bone is denser; it is drawn around mid-grey.
func TestDifferenceShowsTheHealedPart(t *testing.T) {
	d, err := room.Difference(context.Background(), question())
	if err != nil {
		t.Fatal(err)
	}
	before, _ := visits()
	l := before.Truth.Lesion
	edge := l.Outline[0]
	at := measure.Pt(l.Centre.X+0.75*(edge.X-l.Centre.X), l.Centre.Y+0.75*(edge.Y-l.Centre.Y)) // between the outlines
	if u, ok := d.At(at); !ok || u < Limit {
		t.Errorf("healed bone differs by %.1f noise units (%v)", u, ok)
	}
	if _, ok := d.At(measure.Pt(-500, 20)); ok {
		t.Error("beyond the image the difference is known")
	}
	if mid := d.Window(8).Table()[32768]; mid < 126 || mid > 129 {
		t.Errorf("no difference is shown as %d, want mid-grey", mid)
	}
}

// TestPartnerFindsTheLandmark: from a guess that is some pixels off the same
// structure is found again.
func TestPartnerFindsTheLandmark(t *testing.T) {
	before, after := visits()
	guess, _ := joined(t).Matrix.Inverse()
	guess = measure.Alignment{{1, 0, 7}, {0, 1, -5}, {0, 0, 1}}.After(guess)
	found := 0
	for i, l := range before.Truth.Landmarks {
		at, likeness := Partner(before.Image, after.Image, l.At, guess, 20)
		if likeness < Alike {
			continue
		}
		found++
		if off := at.Dist(after.Truth.Landmarks[i].At); off > 3 {
			t.Errorf("%s is found %.1f px away, alike by %.2f", l.Name, off, likeness)
		}
	}
	if found < len(before.Truth.Landmarks)/2 {
		t.Errorf("of %d landmarks %d are found", len(before.Truth.Landmarks), found)
	}
	if p, l := Partner(before.Image, after.Image, measure.Pt(-50, 20), guess, 20); l != 0 || math.IsNaN(p.X) {
		t.Errorf("outside the image the partner is %v, alike by %g", p, l)
	}
}
