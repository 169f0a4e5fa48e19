package casebook

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/ncruces/go-sqlite3/driver"

	"rootrule/measure"
)

func dated(id, stage, date string) measure.ImageMarks {
	return measure.ImageMarks{ID: id, Stage: stage, Date: date}
}

func TestInOrder(t *testing.T) {
	pre, length, post, recall := measure.StagePreOperative, measure.StageWorkingLength, measure.StagePostOperative, measure.StageRecall
	for _, c := range []struct {
		name   string
		images []measure.ImageMarks
		want   string
	}{
		{"by date", []measure.ImageMarks{dated("c", recall, "2026-01-01"), dated("a", pre, "2024-01-01"), dated("b", post, "2025-01-01")}, "a b c"},
		{"one day: by stage", []measure.ImageMarks{dated("b", length, "2025-01-01"), dated("a", pre, "2025-01-01")}, "a b"},
		{"no dates: by stage, then as they came", []measure.ImageMarks{dated("c", post, ""), dated("a", pre, ""), dated("b", pre, "")}, "a b c"},
		{"treated again after years", []measure.ImageMarks{dated("a", pre, "2020-01-01"), dated("b", post, "2020-01-08"), dated("c", pre, "2024-01-01")}, "a b c"},
		{"one without a date goes behind its stage", []measure.ImageMarks{dated("a", pre, "2020-01-01"), dated("c", post, "2020-01-08"), dated("b", length, "")}, "a b c"},
		{"an unknown stage comes last", []measure.ImageMarks{dated("b", "", ""), dated("a", recall, "2020-01-01")}, "a b"},
		{"a pre-operative one without a date before a later stage", []measure.ImageMarks{dated("b", post, "2020-01-08"), dated("a", pre, "")}, "a b"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var ids []string
			for _, im := range InOrder(c.images) {
				ids = append(ids, im.ID)
			}
			if got := strings.Join(ids, " "); got != c.want {
				t.Errorf("%s, want %s", got, c.want)
			}
		})
	}
}

// TestNextRecall: a year after the root filling unless the reader set a date
// (European Society of Endodontology 2006: at least after 1 year).
func TestNextRecall(t *testing.T) {
	post := dated("post", measure.StagePostOperative, "2024-02-29")
	recall := dated("recall", measure.StageRecall, "2025-03-01")
	for _, c := range []struct {
		name string
		m    measure.Marks
		want string
		set  bool
	}{
		{"no image", measure.Marks{}, "", false},
		{"not filled yet", measure.Marks{Images: []measure.ImageMarks{dated("pre", measure.StagePreOperative, "2024-01-01")}}, "", false},
		{"filled, one year on (from a leap day)", measure.Marks{Images: []measure.ImageMarks{post}}, "2025-03-01", false},
		{"filled without a date", measure.Marks{Images: []measure.ImageMarks{dated("post", measure.StagePostOperative, "")}}, "", false},
		{"recall taken, nothing decided: another year on", measure.Marks{Images: []measure.ImageMarks{post, recall}}, "2026-03-01", false},
		{"recall without a date", measure.Marks{Images: []measure.ImageMarks{post, dated("recall", measure.StageRecall, "")}}, "", false},
		{"set by the reader", measure.Marks{Images: []measure.ImageMarks{post, recall},
			Recalls: []measure.Recall{{Before: "post", After: "recall", Next: "2025-09-01"}}}, "2025-09-01", true},
		{"set, and kept since", measure.Marks{Images: []measure.ImageMarks{post, recall, dated("recall-2", measure.StageRecall, "2025-09-03")},
			Recalls: []measure.Recall{{Before: "post", After: "recall", Next: "2025-09-01"}}}, "2026-03-01", false},
		{"treated again", measure.Marks{Images: []measure.ImageMarks{post, recall, dated("pre-2", measure.StagePreOperative, "2025-04-01")}}, "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, set := due(c.m); got != c.want || set != c.set {
				t.Errorf("%q, %v; want %q, %v", got, set, c.want, c.set)
			}
		})
	}
}

// TestListFollowsTheMarks: what the list shows is that of the present marks,
// after undo too.
func TestListFollowsTheMarks(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	c := newCase(t, b)
	if _, err := c.AddImage("p.png", []byte("p"), measure.StagePostOperative, "2026-03-01"); err != nil {
		t.Fatal(err)
	}
	one := func() Summary {
		t.Helper()
		list, err := b.Cases()
		if err != nil || len(list) != 1 {
			t.Fatalf("%d cases, %v", len(list), err)
		}
		return list[0]
	}
	if s := one(); s.Images != 2 || s.LastStage != measure.StagePostOperative || s.LastDate != "2026-03-01" || s.Recall != "2027-03-01" || s.RecallSet {
		t.Errorf("with a post-operative image: %+v", s)
	}
	if err := c.SetPlace("pre-operative"); err != nil {
		t.Fatal(err)
	}
	if s := one(); s.Picture != Digest([]byte("first")) {
		t.Error("the picture is not that of the image open last")
	}
	if _, err := c.Undo(); err != nil {
		t.Fatal(err)
	}
	if s := one(); s.Images != 1 || s.LastStage != measure.StagePreOperative || s.Recall != "" {
		t.Errorf("after undo: %+v", s)
	}
}

func TestPatientNameAndArchive(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book")
	b := open(t, path)
	c := newCase(t, b)
	if err := errors.Join(c.Rename("P-1", "46", "Erika Mustermann"), b.Archive(c.ID(), true)); err != nil {
		t.Fatal(err)
	}
	list, err := b.Cases()
	if err != nil || list[0].Name != "Erika Mustermann" || !list[0].Archived {
		t.Errorf("%+v, %v", list, err)
	}
	if _, err := b.Last(); !errors.Is(err, ErrNone) {
		t.Errorf("a case that is put away opens by itself: %v", err)
	}
	if again, err := b.Case(c.ID()); err != nil || again.Name() != "Erika Mustermann" || len(again.Marks().Images) != 1 {
		t.Errorf("a case that is put away: %v, %v", again, err)
	}
	if err := b.Archive(c.ID(), false); err != nil {
		t.Fatal(err)
	}
	if last, err := b.Last(); err != nil || last.ID() != c.ID() {
		t.Errorf("taken out again: %v", err)
	}
	if err := b.Archive(99, true); !errors.Is(err, ErrNone) {
		t.Errorf("case 99: %v", err)
	}
}

func TestThumbs(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	newCase(t, b)
	of := Digest([]byte("first"))
	if _, err := b.Thumb(of); !errors.Is(err, ErrNone) {
		t.Errorf("no small picture yet: %v", err)
	}
	for _, content := range []string{"small", "better"} {
		if err := b.SetThumb(of, []byte(content)); err != nil {
			t.Fatal(err)
		}
		if got, err := b.Thumb(of); err != nil || string(got) != content {
			t.Errorf("%q, %v", got, err)
		}
	}
	if b.SetThumb(of, nil) == nil || b.SetThumb(of, make([]byte, maxThumb+1)) == nil || b.SetThumb(Digest([]byte("?")), []byte("x")) == nil {
		t.Error("a small picture was taken that is empty, too large, or of no original")
	}
}

// formOne makes a casebook as the first version of the program left it.
func formOne(t *testing.T, path string) {
	t.Helper()
	if err := prepareFile(path); err != nil {
		t.Fatal(err)
	}
	db, err := driver.Open(dataSource(path, ""), prepareConnection)
	if err != nil {
		t.Fatal(err)
	}
	s, err := settle(measure.Marks{Version: 1, Images: []measure.ImageMarks{dated("post", measure.StagePostOperative, "2024-05-06")}})
	if err != nil {
		t.Fatal(err)
	}
	err = migrate(db, steps[:1])
	for _, q := range []string{
		`INSERT INTO cases (id, code, tooth, changed, turn, opened) VALUES (1, 'P-1', '46', 5, 1, 1), (2, 'P-2', '11', 6, 2, 2)`,
		`INSERT INTO revisions (id, case_id, label, made, marks) VALUES (1, 1, '', 5, x'` + fmt.Sprintf("%x", pack(s.text)) + `'), (2, 2, '', 6, x'00')`,
		`UPDATE cases SET head = id`,
	} {
		if err == nil {
			_, err = db.Exec(q)
		}
	}
	if err = errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
}

// TestOlderCasebook: it is copied before it takes on the new form, and its
// list is filled; a damaged case keeps nobody from the others.
func TestOlderCasebook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book of 'mine'")
	formOne(t, path)
	b := open(t, path)
	list, err := b.Cases()
	if err != nil || len(list) != 2 {
		t.Fatalf("%d cases, %v", len(list), err)
	}
	if s := list[1]; s.Images != 1 || s.LastStage != measure.StagePostOperative || s.Recall != "2025-05-06" {
		t.Errorf("the list of the old casebook shows %+v", s)
	}
	backup := path + ".form-1"
	info, err := os.Stat(backup)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Fatalf("the copy: %v, %v", info, err)
	}
	if left, _ := filepath.Glob(path + "*.part"); len(left) > 0 {
		t.Errorf("%q was left behind", left)
	}
	db, err := driver.Open(dataSource(backup, ""), prepareConnection)
	if err != nil {
		t.Fatal(err)
	}
	var form, cases int
	row := db.QueryRow(`SELECT user_version, (SELECT count(*) FROM cases) FROM pragma_user_version`)
	if err := errors.Join(row.Scan(&form, &cases), db.Close()); err != nil || form != 1 || cases != 2 {
		t.Errorf("the copy has form %d and %d cases (%v), want 1 and 2", form, cases, err)
	}
}

// BenchmarkCases lists 500 cases of 3 to 30 images.
func BenchmarkCases(b *testing.B) {
	book, err := Open(filepath.Join(b.TempDir(), "book"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { book.Close() })
	if _, err := book.db.Exec(`PRAGMA synchronous = OFF`); err != nil { // 500 cases are made, not timed
		b.Fatal(err)
	}
	for i := range 500 {
		c, err := book.New(fmt.Sprintf("P-%03d", i), "46")
		if err == nil {
			err = c.Edit("images", func(m *measure.Marks) error {
				for k := range 3 + i%28 {
					m.Images = append(m.Images, dated(fmt.Sprint(k), measure.StageRecall, "2026-01-31"))
				}
				return nil
			})
		}
		if err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		if list, err := book.Cases(); err != nil || len(list) != 500 {
			b.Fatal(len(list), err)
		}
	}
}
