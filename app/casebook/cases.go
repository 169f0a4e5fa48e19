package casebook

import (
	"database/sql"
	"fmt"
	"time"

	"rootrule/measure"
)

// Summary is a line of the list of cases.
type Summary struct {
	ID          int64
	Code, Tooth string
	Images      int       // in the present marks
	LastStage   string    // stage of the last of them
	Changed     time.Time // of the last step, undo, redo or renaming; UTC
}

// Cases lists all cases, the most recently changed first.
func (b *Book) Cases() ([]Summary, error) {
	rows, err := b.db.Query(`
		SELECT id, code, tooth, changed,
			(SELECT count(*) FROM images WHERE case_id = cases.id),
			coalesce((SELECT stage FROM images WHERE case_id = cases.id ORDER BY position DESC LIMIT 1), '')
		FROM cases ORDER BY turn DESC`)
	if err != nil {
		return nil, explain("listing the cases", err)
	}
	defer rows.Close()
	var list []Summary
	for rows.Next() {
		var s Summary
		var changed int64
		if err := rows.Scan(&s.ID, &s.Code, &s.Tooth, &changed, &s.Images, &s.LastStage); err != nil {
			return nil, explain("listing the cases", err)
		}
		s.Changed = time.UnixMilli(changed).UTC()
		list = append(list, s)
	}
	return list, explain("listing the cases", rows.Err())
}

// New starts a case without images. The code stands for the patient, the
// tooth is in FDI notation; both may be empty and need not be unique.
func (b *Book) New(code, tooth string) (*Case, error) {
	const doing = "starting a case"
	first, err := settle(measure.Marks{Version: 1})
	if err != nil {
		return nil, explain(doing, err)
	}
	var id int64
	err = b.write(doing, func(tx *sql.Tx) error {
		row := tx.QueryRow(`
			INSERT INTO cases (code, tooth, changed, turn, opened)
			VALUES (?, ?, 0, 0, 0) RETURNING id`, code, tooth)
		if err := row.Scan(&id); err != nil {
			return err
		}
		_, err := record(tx, id, state{}, "", first)
		return err
	})
	if err != nil {
		return nil, err
	}
	return b.Case(id)
}

// Case reads the case with the given id, [ErrNone] if there is none. It
// doesn't become the one last open by that: [Case.SetPlace] and every change
// do that.
func (b *Book) Case(id int64) (*Case, error) {
	c := &Case{book: b, id: id}
	if err := c.read(b.db); err != nil {
		return nil, explain("reading a case", err)
	}
	return c, nil
}

// Last reads the case that was open last (started, changed, or looked at, see
// [Case.SetPlace]), [ErrNone] if there is none.
func (b *Book) Last() (*Case, error) {
	var id int64
	row := b.db.QueryRow(`SELECT id FROM cases ORDER BY opened DESC LIMIT 1`)
	if err := row.Scan(&id); err != nil {
		return nil, explain("reading the last case", err)
	}
	return b.Case(id)
}

// Holding finds the most recently changed case whose present marks have the
// image with the given SHA-256 (hex), and the image's id there; [ErrNone] if
// there is none.
func (b *Book) Holding(sha256 string) (*Case, string, error) {
	var id int64
	var image string
	row := b.db.QueryRow(`
		SELECT case_id, image_id FROM images JOIN cases ON cases.id = case_id
		WHERE sha256 = ? ORDER BY turn DESC LIMIT 1`, sha256)
	if err := row.Scan(&id, &image); err != nil {
		return nil, "", explain("looking for an image", err)
	}
	c, err := b.Case(id)
	return c, image, err
}

// touch notes that a case was opened, and with changed also that its content
// is new.
func touch(tx *sql.Tx, id int64, changed bool) error {
	const next = `(SELECT max(max(turn), max(opened)) + 1 FROM cases)`
	set := `opened = ` + next
	args := []any{id}
	if changed {
		set += `, turn = ` + next + `, changed = ?`
		args = []any{time.Now().UnixMilli(), id}
	}
	_, err := tx.Exec(fmt.Sprintf(`UPDATE cases SET %s WHERE id = ?`, set), args...)
	return err
}
