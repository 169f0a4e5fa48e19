package casebook

import (
	"database/sql"
	"fmt"
	"sync"

	"rootrule/measure"
)

// Case is one case of a casebook: a patient's code, a tooth, and the marks on
// its images as this window last read or wrote them.
type Case struct {
	book *Book
	id   int64

	writing sync.Mutex // held through a step: steps follow one another

	mu          sync.Mutex // guards what follows, for moments only
	code, tooth string
	name        string // of the patient, empty unless it was typed
	place       string
	at          state
	outside     bool // changes of another window came in
}

// ID returns the number of the case in its casebook.
func (c *Case) ID() int64 { return c.id }

// Code returns the code that stands for the patient.
func (c *Case) Code() string { c.mu.Lock(); defer c.mu.Unlock(); return c.code }

// Tooth returns the tooth of the case, in FDI notation.
func (c *Case) Tooth() string { c.mu.Lock(); defer c.mu.Unlock(); return c.tooth }

// Name returns the patient's name, empty unless somebody typed it. It is for
// the window alone: it goes into no export, log or temporary file.
func (c *Case) Name() string { c.mu.Lock(); defer c.mu.Unlock(); return c.name }

// Marks returns a deep copy of the present marks.
func (c *Case) Marks() measure.Marks { return clone(c.current().marks) }

// current returns the present state, which nobody changes.
func (c *Case) current() state {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

// become sets the present state; outside says that it has changes that this
// window did not make.
func (c *Case) become(s state, outside bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = s
	c.outside = c.outside || outside
}

// Rename changes code, tooth and the patient's name. It is not a step of the
// history.
func (c *Case) Rename(code, tooth, name string) error {
	c.writing.Lock()
	defer c.writing.Unlock()
	err := c.book.write("renaming the case", func(tx *sql.Tx) error {
		if _, err := tx.Exec(`UPDATE cases SET code = ?, tooth = ?, name = ? WHERE id = ?`, code, tooth, name, c.id); err != nil {
			return err
		}
		return touch(tx, c.id, true)
	})
	if err != nil {
		return err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.code, c.tooth, c.name = code, tooth, name
	return nil
}

// Refresh reads the case again and reports whether changes from another
// window have come in since the last Refresh, be it now, by an [Case.Edit]
// that was merged with them, or by an [ErrChanged]. Call it when the window
// gets the focus and after each step; it reads a few kilobytes.
func (c *Case) Refresh() (outside bool, err error) {
	c.writing.Lock()
	defer c.writing.Unlock()
	if err := c.read(c.book.db); err != nil {
		return false, explain("reading the case again", err)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	outside, c.outside = c.outside, false
	return outside, nil
}

// querier is a database or a transaction.
type querier interface {
	QueryRow(query string, args ...any) *sql.Row
}

// read takes everything about the case from the casebook.
func (c *Case) read(q querier) error {
	var code, tooth, name, place string
	row := q.QueryRow(`SELECT code, tooth, name, place FROM cases WHERE id = ?`, c.id)
	if err := row.Scan(&code, &tooth, &name, &place); err != nil {
		return err
	}
	was := c.current()
	s, err := readChanged(q, c.id, was)
	if err != nil {
		return err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	other := s.rev != was.rev || s.next != was.next || code != c.code || tooth != c.tooth || name != c.name
	c.outside = c.outside || was.rev != 0 && other
	c.code, c.tooth, c.name, c.place, c.at = code, tooth, name, place, s
	return nil
}

// readChanged returns known if the cursor of a case is still there and nothing
// about it has changed, else the state that is on the disk.
func readChanged(q querier, id int64, known state) (state, error) {
	var rev int64
	var next sql.NullInt64
	row := q.QueryRow(`
		SELECT r.id, r.next FROM cases JOIN revisions r ON r.id = cases.head
		WHERE cases.id = ?`, id)
	if err := row.Scan(&rev, &next); err != nil {
		return state{}, err
	}
	if rev == known.rev && next.Int64 == known.next {
		return known, nil
	}
	return readState(q, id)
}

// readState reads the revision at the cursor of a case.
func readState(q querier, id int64) (state, error) {
	var rev int64
	var parent, next sql.NullInt64
	var label string
	var nextLabel sql.NullString
	var packed []byte
	row := q.QueryRow(`
		SELECT r.id, r.parent, r.next, r.label, n.label, r.marks
		FROM cases JOIN revisions r ON r.id = cases.head LEFT JOIN revisions n ON n.id = r.next
		WHERE cases.id = ?`, id)
	if err := row.Scan(&rev, &parent, &next, &label, &nextLabel, &packed); err != nil {
		return state{}, err
	}
	s, err := unpack(packed)
	if err != nil {
		return state{}, fmt.Errorf("step %d of the history: %w", rev, err)
	}
	s.rev, s.parent, s.next = rev, parent.Int64, next.Int64
	s.label, s.nextLabel = label, nextLabel.String
	return s, nil
}
