package casebook

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rootrule/measure"
)

// model is what a case should do, in the simplest form: a list of states with
// labels and a cursor.
type model struct {
	states []measure.Marks
	labels []string // labels[i] leads from states[i-1] to states[i]
	at     int
}

func (m *model) edit(label string, s measure.Marks) {
	m.states = append(m.states[:m.at+1:m.at+1], s)
	m.labels = append(m.labels[:m.at+1:m.at+1], label)
	m.at++
}

// Any sequence of edits, undos, redos, failing and empty edits and restarts
// leaves a case in the state in which the model is.
func TestHistoryAgainstModel(t *testing.T) {
	folder := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		f, err := os.CreateTemp(folder, "book")
		if err != nil {
			t.Fatal(err)
		}
		f.Close()
		h := &historyMachine{path: f.Name()}
		h.open(t)
		defer func() { h.book.Close() }()
		if h.c, err = h.book.New("P-1", "46"); err != nil {
			t.Fatal(err)
		}
		h.model = model{states: []measure.Marks{h.c.Marks()}, labels: []string{""}}
		t.Repeat(rapid.StateMachineActions(h))
	})
}

type historyMachine struct {
	path string
	book *Book
	c    *Case
	n    int
	model
}

func (h *historyMachine) open(t *rapid.T) {
	var err error
	if h.book, err = Open(h.path); err != nil {
		t.Fatal(err)
	}
}

func (h *historyMachine) Edit(t *rapid.T) {
	h.n++
	label := fmt.Sprintf("step %d", h.n)
	want := h.c.Marks()
	change := func(m *measure.Marks) error {
		im := measure.ImageMarks{ID: label, Date: "2026-01-31"}
		at := rapid.IntRange(0, len(m.Images)).Draw(t, "at")
		m.Images = slices.Insert(m.Images, at, im)
		want = clone(*m)
		return nil
	}
	if err := h.c.Edit(label, change); err != nil {
		t.Fatal(err)
	}
	h.edit(label, want)
}

func (h *historyMachine) AddImage(t *rapid.T) {
	h.n++
	id, err := h.c.AddImage("x.png", fmt.Appendf(nil, "image %d", h.n), "recall", "")
	if err != nil {
		t.Fatal(err)
	}
	with := h.c.Marks()
	if last := with.Images[len(with.Images)-1]; last.ID != id {
		t.Fatalf("id %q, last image %q", id, last.ID)
	}
	h.edit("add image", with)
}

func (h *historyMachine) EditNothing(t *rapid.T) {
	if err := h.c.Edit("nothing", func(*measure.Marks) error { return nil }); err != nil {
		t.Fatal(err)
	}
}

func (h *historyMachine) EditFails(t *rapid.T) {
	want := errors.New("no")
	err := h.c.Edit("failing", func(m *measure.Marks) error {
		m.Images = nil
		m.Version = 7
		return want
	})
	if err != want {
		t.Fatalf("error %v, want the one of the change", err)
	}
}

func (h *historyMachine) Undo(t *rapid.T) {
	label, err := h.c.Undo()
	if h.at == 0 {
		if !errors.Is(err, ErrNothing) {
			t.Fatalf("undo at the first state: %q, %v", label, err)
		}
		return
	}
	if err != nil || label != h.labels[h.at] {
		t.Fatalf("undo: %q, %v; want %q", label, err, h.labels[h.at])
	}
	h.at--
}

func (h *historyMachine) Redo(t *rapid.T) {
	label, err := h.c.Redo()
	if h.at == len(h.states)-1 {
		if !errors.Is(err, ErrNothing) {
			t.Fatalf("redo at the last state: %q, %v", label, err)
		}
		return
	}
	if err != nil || label != h.labels[h.at+1] {
		t.Fatalf("redo: %q, %v; want %q", label, err, h.labels[h.at+1])
	}
	h.at++
}

func (h *historyMachine) Restart(t *rapid.T) {
	if err := h.book.Close(); err != nil {
		t.Fatal(err)
	}
	h.open(t)
	var err error
	if h.c, err = h.book.Last(); err != nil {
		t.Fatal(err)
	}
}

// Check runs after each action.
func (h *historyMachine) Check(t *rapid.T) {
	if got := h.c.Marks(); !reflect.DeepEqual(got, h.states[h.at]) {
		t.Fatalf("marks %+v, want %+v", got, h.states[h.at])
	}
	undo, ok := h.c.CanUndo()
	if ok != (h.at > 0) || ok && undo != h.labels[h.at] {
		t.Fatalf("can undo %q, %v at %d", undo, ok, h.at)
	}
	redo, ok := h.c.CanRedo()
	if ok != (h.at < len(h.states)-1) || ok && redo != h.labels[h.at+1] {
		t.Fatalf("can redo %q, %v at %d of %d", redo, ok, h.at, len(h.states))
	}
	list, err := h.book.Cases()
	if err != nil || list[0].Images != len(h.states[h.at].Images) {
		t.Fatalf("list of cases: %+v, %v", list, err)
	}
}

// What an edit after undo leaves behind is out of redo's way but on the disk.
func TestHistoryIsKept(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	c := withHistory(t, b)
	edit(t, c, "DL")
	if _, ok := c.CanRedo(); ok {
		t.Error("the undone step can still be redone after another edit")
	}
	var kept int
	if err := b.db.QueryRow(`SELECT count(*) FROM revisions WHERE label = 'trace canal ML'`).Scan(&kept); err != nil || kept != 1 {
		t.Errorf("the undone step is there %d times (%v), want once", kept, err)
	}
	for _, table := range []string{"revisions", "originals"} {
		if _, err := b.db.Exec(`DELETE FROM ` + table); err == nil {
			t.Errorf("%s could be deleted", table)
		}
	}
}

func TestEditRefuses(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	c := withHistory(t, b)
	before := look(t, b, c)
	for name, change := range map[string]func(*measure.Marks){
		"a position that is no number":  func(m *measure.Marks) { m.Images[0].Canals[0].Marks[0].X = math.NaN() },
		"an infinite position":          func(m *measure.Marks) { m.Images[0].Canals[0].Marks[0].Y = math.Inf(1) },
		"two images with one id":        func(m *measure.Marks) { m.Images = append(m.Images, m.Images[0]) },
		"an image without id":           func(m *measure.Marks) { m.Images[0].ID = "" },
		"more than can be read back":    func(m *measure.Marks) { m.Images[0].File = strings.Repeat("x", maxSnapshot) },
		"an original that isn't there":  func(m *measure.Marks) { m.Images[0].SHA256 = Digest([]byte("elsewhere")) },
		"a digest that isn't a SHA-256": func(m *measure.Marks) { m.Images[0].SHA256 = "x" },
	} {
		t.Run(name, func(t *testing.T) {
			err := c.Edit("bad", func(m *measure.Marks) error { change(m); return nil })
			if err == nil {
				t.Error("accepted")
			}
			if got := look(t, b, c); got != before {
				t.Errorf("state changed to %+v", got)
			}
		})
	}
}

// A panic in a change is a programmer's mistake; it must not take the
// casebook with it.
func TestEditPanics(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	c := newCase(t, b)
	func() {
		defer func() { recover() }()
		c.Edit("panic", func(*measure.Marks) error { panic("mistake") })
	}()
	edit(t, c, "MB")
	if got := canals(c); got != "MB" {
		t.Errorf("canals %q", got)
	}
}

// Marks given out and marks taken in are never shared with the case.
func TestMarksAreCopies(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	c := newCase(t, b)
	var kept *measure.Marks
	curve, offset := 1, 0.5
	err := c.Edit("fill", func(m *measure.Marks) error {
		addCanal("MB")(m)
		m.Images[0].Canals[0].CurveStart, m.Images[0].Canals[0].OffsetMM = &curve, &offset
		m.Recalls = []measure.Recall{{Before: "a", After: "b", Pairs: [][2]measure.Point{{{X: 1}, {X: 2}}}}}
		kept = m
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	want := c.Marks()
	for _, m := range []*measure.Marks{kept, new(c.Marks())} {
		*m.Images[0].Canals[0].CurveStart = 99
		*m.Images[0].Canals[0].OffsetMM = 99
		m.Images[0].Canals[0].Marks[0].X = 99
		m.Recalls[0].Pairs[0][1].X = 99
		m.Images[0].ID = "other"
	}
	if got := c.Marks(); !reflect.DeepEqual(got, want) {
		t.Errorf("marks changed from outside:\n%+v\nwant\n%+v", got, want)
	}
}

// fill sets every field that can be reached from v to a value of its own.
func fill(v reflect.Value, n *int) {
	*n++
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			fill(v.Field(i), n)
		}
	case reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i), n)
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		fill(v.Index(0), n)
		fill(v.Index(1), n)
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), n)
	case reflect.String:
		v.SetString(fmt.Sprintf("text %d", *n))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int:
		v.SetInt(int64(*n))
	case reflect.Float64:
		v.SetFloat(float64(*n) / 7) // has no short decimal form
	default:
		panic("a kind of field that this test doesn't know: " + v.Kind().String())
	}
}

// Whatever field marks have now or get later, it comes back from the disk, to
// the last digit.
func TestEveryFieldIsStored(t *testing.T) {
	var want measure.Marks
	fill(reflect.ValueOf(&want).Elem(), new(int))
	s, err := settle(want)
	if err != nil {
		t.Fatal(err)
	}
	back, err := unpack(pack(s.text))
	if err != nil {
		t.Fatal(err)
	}
	for name, got := range map[string]measure.Marks{"memory": s.marks, "disk": back.marks, "copy": clone(want)} {
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s:\n%+v\nwant\n%+v", name, got, want)
		}
	}
}
