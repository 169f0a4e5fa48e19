package casebook

import (
	"database/sql"
	"errors"
	"fmt"
	"time"

	"rootrule/measure"
)

// Summary is a line of the list of cases.
type Summary struct {
	ID          int64
	Code, Tooth string
	Name        string    // of the patient; empty unless somebody typed it
	Images      int       // in the present marks
	LastStage   string    // stage of the last of them in order of treatment
	LastDate    string    // its date, YYYY-MM-DD, or empty
	Changed     time.Time // of the last step, undo, redo or renaming; UTC
	Recall      string    // when the next recall is due, YYYY-MM-DD, or empty
	RecallSet   bool      // the reader set that date; else it is a year after the root filling
	Opened      int64     // grows with the time at which the case was open last
	Archived    bool      // put away: still in the casebook, but out of the way
	Picture     string    // SHA-256 of the image open last, else of the last one
}

// Cases lists all cases, put-away ones too, the most recently changed first.
func (b *Book) Cases() ([]Summary, error) {
	const doing = "listing the cases"
	rows, err := b.db.Query(`
		SELECT id, code, tooth, name, changed, archived, images, last_stage, last_date, recall, recall_set, opened,
			coalesce((SELECT sha256 FROM images WHERE case_id = cases.id AND image_id = cases.place), last_picture)
		FROM cases ORDER BY turn DESC`)
	if err != nil {
		return nil, explain(doing, err)
	}
	defer rows.Close()
	var list []Summary
	for rows.Next() {
		var s Summary
		var changed int64
		if err := rows.Scan(&s.ID, &s.Code, &s.Tooth, &s.Name, &changed, &s.Archived, &s.Images,
			&s.LastStage, &s.LastDate, &s.Recall, &s.RecallSet, &s.Opened, &s.Picture); err != nil {
			return nil, explain(doing, err)
		}
		s.Changed = time.UnixMilli(changed).UTC()
		list = append(list, s)
	}
	return list, explain(doing, rows.Err())
}

// gist is what the list of cases shows of a case's marks.
type gist struct {
	images                         int
	lastStage, lastDate, lastImage string
	recall                         string
	recallSet                      bool
}

func gistOf(m measure.Marks) gist {
	g := gist{images: len(m.Images)}
	if images := InOrder(m.Images); len(images) > 0 {
		last := images[len(images)-1]
		g.lastStage, g.lastDate, g.lastImage = last.Stage, last.Date, last.SHA256
	}
	g.recall, g.recallSet = due(m)
	return g
}

// keepGist writes what the list shows of a case.
func keepGist(tx *sql.Tx, id int64, g gist) error {
	_, err := tx.Exec(`
		UPDATE cases SET images = ?, last_stage = ?, last_date = ?, last_picture = ?, recall = ?, recall_set = ?
		WHERE id = ?`, g.images, g.lastStage, g.lastDate, g.lastImage, g.recall, g.recallSet, id)
	return err
}

// fillGists computes what the list shows for all cases: a step between
// forms. A case with damaged marks is left without: opening it says so.
func fillGists(tx *sql.Tx) error {
	ids, err := allIDs(tx)
	if err != nil {
		return err
	}
	for _, id := range ids {
		s, err := readState(tx, id)
		if errors.Is(err, ErrDamaged) {
			continue
		}
		if err != nil {
			return err
		}
		if err := keepGist(tx, id, gistOf(s.marks)); err != nil {
			return err
		}
	}
	return nil
}

func allIDs(tx *sql.Tx) (ids []int64, err error) {
	rows, err := tx.Query(`SELECT id FROM cases`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		if err := rows.Scan(&id); err != nil {
			return nil, err
		}
		ids = append(ids, id)
	}
	return ids, rows.Err()
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
// [Case.SetPlace]) and is not put away, [ErrNone] if there is none.
func (b *Book) Last() (*Case, error) {
	var id int64
	row := b.db.QueryRow(`SELECT id FROM cases WHERE NOT archived ORDER BY opened DESC LIMIT 1`)
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

// Archive puts a case away, or with away false takes it out again. Nothing of
// it is destroyed: it stays in the casebook and in [Book.Cases].
func (b *Book) Archive(id int64, away bool) error {
	return b.write("putting a case away", func(tx *sql.Tx) error {
		var there int64
		return tx.QueryRow(`UPDATE cases SET archived = ? WHERE id = ? RETURNING id`, away, id).Scan(&there)
	})
}
