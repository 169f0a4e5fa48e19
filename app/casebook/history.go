package casebook

import (
	"bytes"
	"database/sql"
	"errors"
	"slices"
	"time"

	"rootrule/measure"
)

// Edit makes one undoable step: change gets a copy of the present marks and
// alters it. The step is on the disk before Edit returns nil. An error from
// change, or from the disk, leaves everything as it was; a change that changes
// nothing records nothing. The label is a few words for the undo menu
// ("move mark"). change must not call methods that write to the same case.
//
// If another window has changed the case meanwhile, what change did to the
// marks of this window is carried over to the newer state, where the two
// concern different images or different kinds of mark; otherwise nothing is
// written, the case takes on the newer state, and Edit returns [ErrChanged].
// In both cases [Case.Refresh] reports it.
func (c *Case) Edit(label string, change func(*measure.Marks) error) error {
	const doing = "saving the step"
	c.writing.Lock()
	defer c.writing.Unlock()
	base := c.current()
	altered := clone(base.marks)
	if err := change(&altered); err != nil {
		return err
	}
	mine, err := settle(altered)
	if err != nil {
		return explain(doing, err)
	}
	if bytes.Equal(mine.text, base.text) {
		return nil
	}
	return c.step(doing, func(tx *sql.Tx, fresh state) (state, error) {
		if fresh.rev != base.rev {
			if mine, err = merge(base.marks, mine.marks, fresh.marks); err != nil {
				return state{}, err
			}
			if bytes.Equal(mine.text, fresh.text) { // both windows did the same
				return fresh, nil
			}
		}
		return record(tx, c.id, fresh, label, mine)
	})
}

// Undo takes the last step back and returns its label; [ErrNothing] if there
// is none. If another window has made steps that this one hasn't seen, it only
// takes on the newer state and returns [ErrChanged].
func (c *Case) Undo() (label string, err error) {
	return c.move("undoing the step", func(s state) (int64, string) { return s.parent, s.label })
}

// Redo repeats the step that was undone last and returns its label;
// [ErrNothing] if there is none, [ErrChanged] as with [Case.Undo].
func (c *Case) Redo() (label string, err error) {
	return c.move("redoing the step", func(s state) (int64, string) { return s.next, s.nextLabel })
}

// CanUndo returns the label of the step that [Case.Undo] would take back, and
// whether there is one.
func (c *Case) CanUndo() (label string, ok bool) {
	s := c.current()
	return s.label, s.parent != 0
}

// CanRedo returns the label of the step that [Case.Redo] would repeat, and
// whether there is one.
func (c *Case) CanRedo() (label string, ok bool) {
	s := c.current()
	return s.nextLabel, s.next != 0
}

// move puts the cursor on the revision that where picks.
func (c *Case) move(doing string, where func(state) (rev int64, label string)) (label string, err error) {
	c.writing.Lock()
	defer c.writing.Unlock()
	base := c.current()
	err = c.step(doing, func(tx *sql.Tx, fresh state) (state, error) {
		if fresh.rev != base.rev || fresh.next != base.next {
			return state{}, ErrChanged
		}
		var to int64
		if to, label = where(fresh); to == 0 {
			return state{}, ErrNothing
		}
		return moveHead(tx, c.id, fresh, to)
	})
	return label, err
}

// step runs fn in a transaction on the state that is on the disk and takes on
// the state fn returns; when fn returns [ErrChanged] or [ErrAlreadyThere], the
// one on the disk. The caller holds c.writing.
func (c *Case) step(doing string, fn func(tx *sql.Tx, fresh state) (state, error)) error {
	base := c.current()
	var fresh, next state
	err := c.book.write(doing, func(tx *sql.Tx) (err error) {
		if fresh, err = readChanged(tx, c.id, base); err != nil {
			return err
		}
		next, err = fn(tx, fresh)
		return err
	})
	outside := fresh.rev != base.rev || fresh.next != base.next
	switch {
	case err == nil:
		c.become(next, outside)
	case errors.Is(err, ErrChanged), errors.Is(err, ErrAlreadyThere):
		c.become(fresh, outside)
	}
	return err
}

// record writes a new revision after from, puts the cursor on it, and returns
// it. What was undone before stays in the file but is off the path of redo.
func record(tx *sql.Tx, id int64, from state, label string, to state) (state, error) {
	to.parent, to.next, to.label, to.nextLabel = from.rev, 0, label, ""
	row := tx.QueryRow(`
		INSERT INTO revisions (case_id, parent, label, made, marks)
		VALUES (?, nullif(?, 0), ?, ?, ?) RETURNING id`,
		id, from.rev, label, time.Now().UnixMilli(), pack(to.text))
	if err := row.Scan(&to.rev); err != nil {
		return state{}, err
	}
	if _, err := tx.Exec(`UPDATE revisions SET next = ? WHERE id = ?`, to.rev, from.rev); err != nil {
		return state{}, err
	}
	return to, setHead(tx, id, from, to)
}

// moveHead puts the cursor on an existing revision and returns it.
func moveHead(tx *sql.Tx, id int64, from state, rev int64) (state, error) {
	if _, err := tx.Exec(`UPDATE cases SET head = ? WHERE id = ?`, rev, id); err != nil {
		return state{}, err
	}
	to, err := readState(tx, id)
	if err != nil {
		return state{}, err
	}
	return to, setHead(tx, id, from, to)
}

// setHead puts the cursor on a revision and keeps with it what lists show.
func setHead(tx *sql.Tx, id int64, from, to state) error {
	if _, err := tx.Exec(`UPDATE cases SET head = ? WHERE id = ?`, to.rev, id); err != nil {
		return err
	}
	if err := touch(tx, id, true); err != nil {
		return err
	}
	if g := gistOf(to.marks); g != gistOf(from.marks) {
		if err := keepGist(tx, id, g); err != nil {
			return err
		}
	}
	same := func(a, b measure.ImageMarks) bool {
		return a.ID == b.ID && a.SHA256 == b.SHA256 && a.Stage == b.Stage
	}
	if slices.EqualFunc(from.marks.Images, to.marks.Images, same) {
		return nil
	}
	return listImages(tx, id, to.marks.Images)
}

// listImages writes the list of a case's images anew.
func listImages(tx *sql.Tx, id int64, images []measure.ImageMarks) error {
	if _, err := tx.Exec(`DELETE FROM images WHERE case_id = ?`, id); err != nil {
		return err
	}
	for i, im := range images {
		_, err := tx.Exec(`
			INSERT INTO images (case_id, image_id, position, stage, sha256)
			VALUES (?, ?, ?, ?, nullif(?, ''))`, id, im.ID, i, im.Stage, im.SHA256)
		if err != nil {
			return err
		}
	}
	return nil
}
