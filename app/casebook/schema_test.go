package casebook

import (
	"errors"
	"path/filepath"
	"testing"
)

// version reads the form of the file.
func version(t *testing.T, b *Book) (v int) {
	t.Helper()
	if err := b.db.QueryRow(`PRAGMA user_version`).Scan(&v); err != nil {
		t.Fatal(err)
	}
	return v
}

// Steps that don't exist yet, put after the real ones, show what an older
// casebook goes through.
func TestMigration(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	c := withHistory(t, b)
	before := look(t, b, c)
	now := len(steps)
	if v := version(t, b); v != now {
		t.Fatalf("a new casebook has form %d, want %d", v, now)
	}

	later := append(append([]step{}, steps...),
		step{sql: `ALTER TABLE cases ADD COLUMN chair TEXT NOT NULL DEFAULT 'one'; UPDATE cases SET chair = 'two'`},
		step{sql: `CREATE TABLE notes (text TEXT); INSERT INTO no_such_table VALUES (1)`},
		step{sql: `CREATE TABLE never (x)`})
	if err := migrate(b.db, later); err == nil {
		t.Fatal("a step that fails was accepted")
	}
	if v := version(t, b); v != now+1 {
		t.Errorf("after one good and one failed step the form is %d, want %d", v, now+1)
	}
	var chair string
	if err := b.db.QueryRow(`SELECT chair FROM cases`).Scan(&chair); err != nil || chair != "two" {
		t.Errorf("chair %q, %v: the good step is not there", chair, err)
	}
	var left int
	if err := b.db.QueryRow(`SELECT count(*) FROM sqlite_schema WHERE name IN ('notes', 'never')`).Scan(&left); err != nil || left != 0 {
		t.Errorf("the failed step left %d tables (%v)", left, err)
	}

	later[now+1] = step{sql: `CREATE TABLE notes (text TEXT)`}
	for range 2 { // the second time there is nothing to do
		if err := migrate(b.db, later); err != nil {
			t.Fatal(err)
		}
	}
	if v := version(t, b); v != len(later) {
		t.Errorf("form %d, want %d", v, len(later))
	}
	if got := look(t, b, c); got != before {
		t.Errorf("the case changed to %+v, was %+v", got, before)
	}
}

func TestRefusesNewerForm(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book")
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	newCase(t, b)
	if err := errors.Join(migrate(b.db, append(append([]step{}, steps...), step{sql: `CREATE TABLE future (x)`})), b.Close()); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(path); !errors.Is(err, ErrNewer) {
		t.Errorf("error %v, want ErrNewer", err)
	}
}

func TestDamagedOriginal(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	c := newCase(t, b)
	if _, err := b.db.Exec(`UPDATE originals SET data = 'firsT'`); err != nil {
		t.Fatal(err)
	}
	if data, err := c.Original("pre-operative"); !errors.Is(err, ErrDamaged) || data != nil {
		t.Errorf("%q, %v: want ErrDamaged", data, err)
	}
	if _, err := c.Original("recall"); !errors.Is(err, ErrNone) {
		t.Errorf("an image that isn't there: %v", err)
	}

	// Adding the same file to another case puts the good bytes back.
	newCase(t, b)
	if data, err := c.Original("pre-operative"); err != nil || string(data) != "first" {
		t.Errorf("after the file was added again: %q, %v", data, err)
	}
}

func TestDamagedHistory(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	c := newCase(t, b)
	var good []byte
	if err := b.db.QueryRow(`SELECT marks FROM revisions ORDER BY id DESC LIMIT 1`).Scan(&good); err != nil {
		t.Fatal(err)
	}
	for i := range good {
		bad := append([]byte{}, good...)
		bad[i] ^= 0x10
		if s, err := unpack(bad); err == nil && string(s.text) != string(c.current().text) {
			t.Errorf("flipping a bit of byte %d gives other marks without an error", i)
		}
	}
	if _, err := b.db.Exec(`UPDATE revisions SET marks = substr(marks, 1, length(marks) - 6)`); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Case(c.ID()); !errors.Is(err, ErrDamaged) {
		t.Errorf("a case with damaged marks: %v, want ErrDamaged", err)
	}
	if _, err := b.Cases(); err != nil {
		t.Errorf("one damaged case keeps the list from showing: %v", err)
	}
}
