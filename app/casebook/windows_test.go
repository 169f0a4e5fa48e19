package casebook

import (
	"errors"
	"fmt"
	"path/filepath"
	"reflect"
	"sync"
	"testing"

	"rootrule/measure"
)

// twoWindows returns one case, with two images, as two windows have it open.
func twoWindows(t *testing.T) (a, b *Case) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book")
	a = newCase(t, open(t, path))
	addImage(t, a, "second")
	b, err := open(t, path).Last()
	if err != nil {
		t.Fatal(err)
	}
	return a, b
}

// lesion is an edit that adds a lesion to an image.
func lesion(image int, name string) func(*measure.Marks) error {
	return func(m *measure.Marks) error {
		im := &m.Images[image]
		im.Lesions = append(im.Lesions, measure.Lesion{Tooth: "46", Name: name})
		return nil
	}
}

func TestTwoWindowsOnDifferentMarks(t *testing.T) {
	a, b := twoWindows(t)
	edit(t, a, "MB")
	if err := b.Edit("outline", lesion(0, "D")); err != nil {
		t.Fatal(err)
	}
	if err := a.Edit("outline", lesion(1, "M")); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]*Case{"a": a, "b": b} {
		if outside, err := c.Refresh(); err != nil || !outside {
			t.Errorf("window %s isn't told of the other's changes (%v)", name, err)
		}
		if outside, err := c.Refresh(); err != nil || outside {
			t.Errorf("window %s is told twice (%v)", name, err)
		}
		m := c.Marks()
		if canals(c) != "MB" || len(m.Images[0].Lesions) != 1 || len(m.Images[1].Lesions) != 1 {
			t.Errorf("window %s: %+v", name, m)
		}
	}
}

func TestTwoWindowsOnTheSameMarks(t *testing.T) {
	a, b := twoWindows(t)
	edit(t, a, "MB")
	err := b.Edit("trace canal", addCanal("ML"))
	if !errors.Is(err, ErrChanged) {
		t.Fatalf("error %v, want ErrChanged", err)
	}
	if got := canals(b); got != "MB" {
		t.Errorf("window b shows %q, want the other window's canal", got)
	}
	edit(t, b, "ML")
	if outside, err := b.Refresh(); err != nil || !outside {
		t.Errorf("window b isn't told (%v)", err)
	}
	if outside, err := a.Refresh(); err != nil || !outside || canals(a) != "MB ML" {
		t.Errorf("window a shows %q (%v)", canals(a), err)
	}
}

func TestTwoWindowsUndo(t *testing.T) {
	a, b := twoWindows(t)
	edit(t, a, "MB")
	if _, err := b.Undo(); !errors.Is(err, ErrChanged) {
		t.Fatalf("undo of a step never seen: %v, want ErrChanged", err)
	}
	if got := canals(b); got != "MB" {
		t.Errorf("canals %q", got)
	}
	if label, err := b.Undo(); err != nil || label != "trace canal MB" {
		t.Errorf("second undo: %q, %v", label, err)
	}
	if _, err := a.Redo(); !errors.Is(err, ErrChanged) {
		t.Errorf("redo of a step not known to be undone: %v, want ErrChanged", err)
	}
	if label, err := a.Redo(); err != nil || label != "trace canal MB" || canals(a) != "MB" {
		t.Errorf("second redo: %q, %v", label, err)
	}
}

func TestTwoWindowsAddImages(t *testing.T) {
	a, b := twoWindows(t)
	one, err1 := a.AddImage("x", []byte("x"), "recall", "")
	two, err2 := b.AddImage("y", []byte("y"), "recall", "")
	if err1 != nil || err2 != nil || one != "recall" || two != "recall-2" {
		t.Errorf("ids %q, %q; %v, %v", one, two, err1, err2)
	}
	if id, err := a.AddImage("y", []byte("y"), "recall", ""); !errors.Is(err, ErrAlreadyThere) || id != two {
		t.Errorf("%q, %v: want the id of the other window's image", id, err)
	}
	if data, err := a.Original(two); err != nil || string(data) != "y" {
		t.Errorf("the other window's image: %q, %v", data, err)
	}
	if _, err := a.Refresh(); err != nil || len(a.Marks().Images) != 4 {
		t.Errorf("%d images, want 4 (%v)", len(a.Marks().Images), err)
	}
}

func TestTwoWindowsRename(t *testing.T) {
	a, b := twoWindows(t)
	if err := a.Rename("P-7", "11", ""); err != nil {
		t.Fatal(err)
	}
	if outside, err := b.Refresh(); err != nil || !outside || b.Code() != "P-7" || b.Tooth() != "11" {
		t.Errorf("window b: %v, %q, %q (%v)", outside, b.Code(), b.Tooth(), err)
	}
}

// Windows that save at the same time, each repeating what was refused, lose
// none of their steps.
func TestWindowsAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book")
	first := newCase(t, open(t, path))
	const windows, each = 3, 20
	var wg sync.WaitGroup
	for w := range windows {
		c, err := open(t, path).Case(first.ID())
		if err != nil {
			t.Fatal(err)
		}
		wg.Go(func() {
			for i := range each {
				for {
					err := c.Edit("trace canal", addCanal(fmt.Sprintf("%d-%d", w, i)))
					if err == nil {
						break
					}
					if !errors.Is(err, ErrChanged) {
						t.Error(err)
						return
					}
				}
			}
		})
	}
	wg.Wait()
	if _, err := first.Refresh(); err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, k := range first.Marks().Images[0].Canals {
		seen[k.Name] = true
	}
	if len(seen) != windows*each {
		t.Errorf("%d steps are left, want %d", len(seen), windows*each)
	}
}

// One case used from several goroutines: for the race detector.
func TestOneCaseAtOnce(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	c := newCase(t, b)
	var wg sync.WaitGroup
	for i := range 4 {
		wg.Go(func() {
			if err := c.Edit("trace canal", addCanal(fmt.Sprint(i))); err != nil {
				t.Error(err)
			}
		})
		wg.Go(func() {
			look(t, b, c)
			if _, err := c.Refresh(); err != nil {
				t.Error(err)
			}
			if err := c.SetView("pre-operative", View{Zoom: float64(i)}); err != nil {
				t.Error(err)
			}
			if err := errors.Join(c.SetPlace("pre-operative"), c.Rename(fmt.Sprint(i), "46", "")); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if n := len(c.Marks().Images[0].Canals); n != 4 {
		t.Errorf("%d canals, want 4", n)
	}
	if outside, err := c.Refresh(); err != nil || outside {
		t.Errorf("own changes are taken for another window's (%v)", err)
	}
}

// Another program that keeps the casebook locked.
func TestBusy(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book")
	b, other := open(t, path), open(t, path)
	c := withHistory(t, b)
	before := look(t, b, c)
	b.db.SetMaxOpenConns(1)
	if _, err := b.db.Exec(`PRAGMA busy_timeout = 20`); err != nil {
		t.Fatal(err)
	}
	tx, err := other.db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range writingSteps {
		checkFailure(t, step.do(b, c), ErrBusy)
	}
	if got := look(t, b, c); got != before {
		t.Errorf("state changed to %+v", got)
	}
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	edit(t, c, "DL")
}

func TestMerge(t *testing.T) {
	image := func(id string, canals ...string) measure.ImageMarks {
		im := measure.ImageMarks{ID: id}
		for _, name := range canals {
			im.Canals = append(im.Canals, measure.Canal{Name: name})
		}
		return im
	}
	marks := func(images ...measure.ImageMarks) measure.Marks {
		return measure.Marks{Version: 1, Images: images}
	}
	staged := func(im measure.ImageMarks) measure.ImageMarks { im.Stage = "recall"; return im }
	withView := func(m measure.Marks, angle float64) measure.Marks {
		m.Views = []measure.View{{Images: [2]string{"a", "b"}, AngleDeg: angle}}
		return m
	}
	a, a1, a2 := image("a"), image("a", "1"), image("a", "2")
	b, b1, c := image("b"), image("b", "1"), image("c")
	for _, test := range []struct {
		name               string
		base, mine, theirs measure.Marks
		want               measure.Marks
		err                error
	}{
		{"different images", marks(a, b), marks(a1, b), marks(a, b1), marks(a1, b1), nil},
		{"different fields", marks(a), marks(staged(a)), marks(a1), marks(staged(a1)), nil},
		{"same field, same value", marks(a), marks(a1), marks(a1), marks(a1), nil},
		{"same field, other value", marks(a), marks(a1), marks(a2), measure.Marks{}, ErrChanged},
		{"added and changed", marks(a), marks(a, b), marks(a1), marks(a1, b), nil},
		{"both added others", marks(a), marks(a, b), marks(a, c), marks(a, c, b), nil},
		{"both added one alike", marks(a), marks(a, b), marks(a, b), marks(a, b), nil},
		{"both added one unlike", marks(a), marks(a, b), marks(a, b1), measure.Marks{}, ErrChanged},
		{"removed, other changed", marks(a, b), marks(b), marks(a, b1), marks(b1), nil},
		{"removed what they changed", marks(a, b), marks(b), marks(a1, b), measure.Marks{}, ErrChanged},
		{"changed what they removed", marks(a, b), marks(a1, b), marks(b), measure.Marks{}, ErrChanged},
		{"both removed", marks(a, b), marks(b), marks(b), marks(b), nil},
		{"they removed another", marks(a, b), marks(a1, b), marks(a), marks(a1), nil},
		{"reordered by us", marks(a, b), marks(b, a), marks(a1, b), measure.Marks{}, ErrChanged},
		{"reordered by them", marks(a, b), marks(a1, b), marks(b, a), marks(b, a1), nil},
		{"view and image", marks(a, b), withView(marks(a, b), 20), marks(a1, b), withView(marks(a1, b), 20), nil},
		{"views unlike", marks(a, b), withView(marks(a, b), 20), withView(marks(a, b), 15), measure.Marks{}, ErrChanged},
	} {
		t.Run(test.name, func(t *testing.T) {
			got, err := merge(test.base, test.mine, test.theirs)
			if !errors.Is(err, test.err) || !reflect.DeepEqual(got.marks, test.want) {
				t.Errorf("%+v, %v\nwant %+v, %v", got.marks, err, test.want, test.err)
			}
		})
	}
}
