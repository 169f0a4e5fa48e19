package casebook

import (
	"database/sql"
	"errors"
	"math"
)

// View is how an image was last looked at: the grey values Low and High that
// are shown as black and white, whether they are swapped, the zoom in device
// pixels per image pixel, and the image position (CX, CY), in pixels, at the
// centre of the bench. It belongs to the image's bytes within the case, is
// not part of the history, and changes no finding.
type View struct {
	Low, High float64
	Invert    bool
	Zoom      float64
	CX, CY    float64
}

// View returns how an image of the case was last looked at, and whether that
// is known.
func (c *Case) View(imageID string) (View, bool) {
	digest, err := c.digestOf(imageID)
	if err != nil {
		return View{}, false
	}
	var v View
	row := c.book.db.QueryRow(`
		SELECT low, high, invert, zoom, cx, cy FROM views
		WHERE case_id = ? AND sha256 = ?`, c.id, digest)
	err = row.Scan(&v.Low, &v.High, &v.Invert, &v.Zoom, &v.CX, &v.CY)
	return v, err == nil
}

// SetView keeps how an image is looked at. It waits for the disk: call it when
// the view has come to rest, not at each step of a drag.
func (c *Case) SetView(imageID string, v View) error {
	const doing = "keeping the view"
	for _, x := range []float64{v.Low, v.High, v.Zoom, v.CX, v.CY} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return explain(doing, errors.New("a value of the view is not a finite number"))
		}
	}
	digest, err := c.digestOf(imageID)
	if err != nil {
		return explain(doing, err)
	}
	if was, ok := c.View(imageID); ok && was == v {
		return nil
	}
	return c.book.write(doing, func(tx *sql.Tx) error {
		_, err := tx.Exec(`
			INSERT INTO views (case_id, sha256, low, high, invert, zoom, cx, cy)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?)
			ON CONFLICT (case_id, sha256) DO UPDATE SET
				low = excluded.low, high = excluded.high, invert = excluded.invert,
				zoom = excluded.zoom, cx = excluded.cx, cy = excluded.cy`,
			c.id, digest, v.Low, v.High, v.Invert, v.Zoom, v.CX, v.CY)
		return err
	})
}

// Place returns the id of the image that was open last, empty if none was or
// if it is no longer in the case.
func (c *Case) Place() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, im := range c.at.marks.Images {
		if im.ID == c.place {
			return c.place
		}
	}
	return ""
}

// SetPlace notes which image is open, or with an empty id that the case is,
// and makes the case the one that [Book.Last] returns.
func (c *Case) SetPlace(imageID string) error {
	c.writing.Lock()
	defer c.writing.Unlock()
	err := c.book.write("keeping the place", func(tx *sql.Tx) error {
		if _, err := tx.Exec(`UPDATE cases SET place = ? WHERE id = ?`, imageID, c.id); err != nil {
			return err
		}
		return touch(tx, c.id, false)
	})
	if err != nil {
		return err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.place = imageID
	return nil
}
