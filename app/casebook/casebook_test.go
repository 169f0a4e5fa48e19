package casebook

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"rootrule/measure"
)

// open opens a casebook that the end of the test closes.
func open(t *testing.T, path string) *Book {
	t.Helper()
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := b.Close(); err != nil {
			t.Error(err)
		}
	})
	return b
}

// newCase starts a case that has one image, "pre-operative".
func newCase(t *testing.T, b *Book) *Case {
	t.Helper()
	c, err := b.New("P-1", "46")
	if err != nil {
		t.Fatal(err)
	}
	addImage(t, c, "first")
	return c
}

func addImage(t *testing.T, c *Case, content string) string {
	t.Helper()
	id, err := c.AddImage("folder/"+content+".png", []byte(content), measure.StagePreOperative, "2026-01-31")
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// addCanal is an edit that adds a canal to the first image.
func addCanal(name string) func(*measure.Marks) error {
	return func(m *measure.Marks) error {
		im := &m.Images[0]
		im.Canals = append(im.Canals, measure.Canal{
			Tooth: "46", Name: name, Marks: []measure.Point{{X: 1.1, Y: 2.2}, {X: 3.3, Y: 4.4, U: 0.5}},
		})
		return nil
	}
}

func edit(t *testing.T, c *Case, name string) {
	t.Helper()
	if err := c.Edit("trace canal "+name, addCanal(name)); err != nil {
		t.Fatal(err)
	}
}

// canals returns the names of the canals of the first image.
func canals(c *Case) string {
	var names []string
	for _, k := range c.Marks().Images[0].Canals {
		names = append(names, k.Name)
	}
	return strings.Join(names, " ")
}

func TestEverythingIsThereAfterReopening(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new folder", "100% sure? #1 & co.rootrule")
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	c := newCase(t, b)
	edit(t, c, "MB")
	edit(t, c, "ML")
	view := View{Low: 100.5, High: 4000, Invert: true, Zoom: 1.5, CX: 10, CY: 20}
	for _, err := range []error{c.SetView("pre-operative", view), c.SetPlace("pre-operative"), c.Rename("P-2", "47", "")} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if _, err := c.Undo(); err != nil {
		t.Fatal(err)
	}
	want := c.Marks()
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}

	c, err = open(t, path).Last()
	if err != nil {
		t.Fatal(err)
	}
	if got := c.Marks(); !reflect.DeepEqual(got, want) {
		t.Errorf("marks after reopening:\n%+v\nbefore:\n%+v", got, want)
	}
	if c.Code() != "P-2" || c.Tooth() != "47" || c.Place() != "pre-operative" {
		t.Errorf("code %q, tooth %q, place %q", c.Code(), c.Tooth(), c.Place())
	}
	if got, ok := c.View("pre-operative"); !ok || got != view {
		t.Errorf("view %+v, %v; want %+v", got, ok, view)
	}
	if got, err := c.Original("pre-operative"); err != nil || string(got) != "first" {
		t.Errorf("original %q, %v", got, err)
	}
	if label, ok := c.CanRedo(); !ok || label != "trace canal ML" {
		t.Errorf("redo %q, %v", label, ok)
	}
	if label, err := c.Redo(); err != nil || label != "trace canal ML" || canals(c) != "MB ML" {
		t.Errorf("redo %q, %v: canals %s", label, err, canals(c))
	}
}

func TestListOfCases(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	if _, err := b.Last(); !errors.Is(err, ErrNone) {
		t.Errorf("last case of an empty book: %v", err)
	}
	first := newCase(t, b)
	second, err := b.New("P-2", "11")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := second.AddImage("x.png", []byte("x"), measure.StageRecall, ""); err != nil {
		t.Fatal(err)
	}
	edit(t, first, "MB")
	list, err := b.Cases()
	if err != nil || len(list) != 2 {
		t.Fatalf("%d cases, %v", len(list), err)
	}
	for i, want := range []Summary{
		{ID: first.ID(), Code: "P-1", Tooth: "46", Images: 1, LastStage: "pre-operative", LastDate: "2026-01-31",
			Changed: list[0].Changed, Opened: list[0].Opened, Picture: Digest([]byte("first"))},
		{ID: second.ID(), Code: "P-2", Tooth: "11", Images: 1, LastStage: "recall",
			Changed: list[1].Changed, Opened: list[1].Opened, Picture: Digest([]byte("x"))},
	} {
		if list[i] != want {
			t.Errorf("case %d of the list: %+v, want %+v", i, list[i], want)
		}
	}
	if err := second.SetPlace(""); err != nil {
		t.Fatal(err)
	}
	if last, err := b.Last(); err != nil || last.ID() != second.ID() {
		t.Errorf("last case: %v, want the one looked at", err)
	}
	if list, _ := b.Cases(); list[0].ID != first.ID() {
		t.Error("looking at a case changed the order of the list")
	}
	if _, err := b.Case(99); !errors.Is(err, ErrNone) {
		t.Errorf("case 99: %v", err)
	}
}

func TestAddImage(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	c, err := b.New("", "")
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		name, data, stage, date, id string
		err                         error
	}{
		{"first", "a", "pre-operative", "2026-01-31", "pre-operative", nil},
		{"second of a stage", "b", "recall", "", "recall", nil},
		{"third", "c", "recall", "", "recall-2", nil},
		{"no stage", "d", "", "", "image", nil},
		{"own stage", "e", "Before Crown", "", "before-crown", nil},
		{"again", "c", "post-operative", "", "recall-2", ErrAlreadyThere},
	} {
		t.Run(test.name, func(t *testing.T) {
			id, err := c.AddImage("a/"+test.data+".png", []byte(test.data), test.stage, test.date)
			if id != test.id || !errors.Is(err, test.err) {
				t.Fatalf("id %q, error %v; want %q, %v", id, err, test.id, test.err)
			}
			got, err := c.Original(id)
			if err != nil || string(got) != test.data {
				t.Errorf("original %q, %v", got, err)
			}
		})
	}
	if n := len(c.Marks().Images); n != 5 {
		t.Errorf("%d images, want 5", n)
	}
	if f := c.Marks().Images[0].File; f != "a.png" {
		t.Errorf("file name kept as %q, want the last part", f)
	}
	for name, err := range map[string]error{
		"no bytes": second(c.AddImage("x", nil, "recall", "")),
		"bad date": second(c.AddImage("x", []byte("x"), "recall", "31.1.2026")),
	} {
		if err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func TestHolding(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	one, two := newCase(t, b), newCase(t, b)
	digest := Digest([]byte("first"))
	if c, id, err := b.Holding(digest); err != nil || c.ID() != two.ID() || id != "pre-operative" {
		t.Errorf("%q, %v: want the later case", id, err)
	}
	edit(t, one, "MB")
	if c, _, err := b.Holding(digest); err != nil || c.ID() != one.ID() {
		t.Errorf("%v: want the case changed last", err)
	}
	for _, c := range []*Case{one, one, two} { // undo canal and images
		if _, err := c.Undo(); err != nil {
			t.Fatal(err)
		}
	}
	if _, _, err := b.Holding(digest); !errors.Is(err, ErrNone) {
		t.Errorf("after undo: %v", err)
	}
	if _, err := one.Redo(); err != nil {
		t.Fatal(err)
	}
	if got, err := one.Original("pre-operative"); err != nil || string(got) != "first" {
		t.Errorf("undo lost the original: %q, %v", got, err)
	}
}

func TestFilesAreTheOwnersOnly(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Log("Windows has no mode bits: the user's own folder protects there")
		return
	}
	folder := filepath.Join(t.TempDir(), "a", "b")
	newCase(t, open(t, filepath.Join(folder, "book")))
	err := filepath.WalkDir(filepath.Dir(folder), func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		// The WAL index has numbers of pages and checksums only.
		if info.Mode().Perm()&0o077 != 0 && !strings.HasSuffix(path, "-shm") {
			t.Errorf("%s has mode %v", filepath.Base(path), info.Mode())
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

func TestRefusesOtherFiles(t *testing.T) {
	for name, content := range map[string][]byte{
		"text":         []byte("these are notes, not cases"),
		"long text":    bytes.Repeat([]byte("notes "), 1000),
		"other SQLite": append([]byte(sqliteMagic), make([]byte, 4080)...),
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "file")
			journal := []byte("something beside it")
			if err := errors.Join(os.WriteFile(path, content, 0o600), os.WriteFile(path+"-journal", journal, 0o600)); err != nil {
				t.Fatal(err)
			}
			if _, err := Open(path); !errors.Is(err, ErrForeign) {
				t.Fatalf("error %v, want ErrForeign", err)
			}
			for p, want := range map[string][]byte{path: content, path + "-journal": journal} {
				if got, err := os.ReadFile(p); err != nil || !bytes.Equal(got, want) {
					t.Errorf("%s was changed (%v)", filepath.Base(p), err)
				}
			}
		})
	}
	if _, err := Open(t.TempDir()); err == nil {
		t.Error("a folder was opened as a casebook")
	}
}
