package casebook

import (
	"bytes"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"rootrule/measure"
)

// MaxOriginal is the largest file, in bytes, that the casebook takes: well
// inside SQLite's limit for one value (1,000,000,000, sqlite.org/limits.html).
const MaxOriginal = 512 << 20

// AddImage stores the bytes of an image file and adds the image to the case as
// one undoable step. Of name only the last part is kept, stage is one of the
// Stage… names of package measure, date is YYYY-MM-DD or empty. The id it
// returns is made from the stage: "pre-operative", "recall", "recall-2".
// Bytes that the case has already: the id of that image and [ErrAlreadyThere].
func (c *Case) AddImage(name string, data []byte, stage, date string) (id string, err error) {
	const doing = "adding the image"
	if err := checkImage(data, date); err != nil {
		return "", explain(doing, err)
	}
	digest := Digest(data)
	c.writing.Lock()
	defer c.writing.Unlock()
	err = c.step(doing, func(tx *sql.Tx, fresh state) (state, error) {
		if im, ok := find(fresh.marks, func(im measure.ImageMarks) bool { return im.SHA256 == digest }); ok {
			id = im.ID
			return state{}, ErrAlreadyThere
		}
		if err := store(tx, digest, data); err != nil {
			return state{}, err
		}
		id = freeID(fresh.marks, stage)
		with := clone(fresh.marks)
		with.Images = append(with.Images, measure.ImageMarks{
			ID: id, File: filepath.Base(name), SHA256: digest, Stage: stage, Date: date,
		})
		next, err := settle(with)
		if err != nil {
			return state{}, err
		}
		return record(tx, c.id, fresh, "add image", next)
	})
	if err != nil && !errors.Is(err, ErrAlreadyThere) {
		id = ""
	}
	return id, err
}

// Original returns the bytes of an image of the case as they were added. It
// computes their SHA-256 again: bytes that don't agree are [ErrDamaged].
func (c *Case) Original(imageID string) ([]byte, error) {
	const doing = "reading the original of an image"
	digest, err := c.digestOf(imageID)
	if err != nil {
		return nil, explain(doing, err)
	}
	var data []byte
	row := c.book.db.QueryRow(`SELECT data FROM originals WHERE sha256 = ?`, digest)
	if err := row.Scan(&data); err != nil {
		return nil, explain(doing, err)
	}
	if Digest(data) != digest {
		return nil, explain(doing, fmt.Errorf("its SHA-256 is not the one it was stored under: %w", ErrDamaged))
	}
	return data, nil
}

// Digest returns the SHA-256 (FIPS 180-4) of data in hex, the name under which
// an original is kept.
func Digest(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// checkImage refuses what can't be an image of a case.
func checkImage(data []byte, date string) error {
	if len(data) == 0 {
		return errors.New("the file is empty: export it again from where it came")
	}
	if len(data) > MaxOriginal {
		return fmt.Errorf("the file has %d bytes, the casebook takes %d at most", len(data), MaxOriginal)
	}
	if date != "" {
		if _, err := time.Parse(time.DateOnly, date); err != nil {
			return errors.New("the date is not of the form YYYY-MM-DD")
		}
	}
	return nil
}

// store puts an original into the casebook unless it is there. One that is
// there with damaged bytes is replaced by the good ones.
func store(tx *sql.Tx, digest string, data []byte) error {
	var there []byte
	err := tx.QueryRow(`SELECT data FROM originals WHERE sha256 = ?`, digest).Scan(&there)
	if err == nil && bytes.Equal(there, data) {
		return nil
	}
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	_, err = tx.Exec(`
		INSERT INTO originals (sha256, data) VALUES (?, ?)
		ON CONFLICT (sha256) DO UPDATE SET data = excluded.data`, digest, data)
	return err
}

// digestOf returns the SHA-256 of an image in the present marks.
func (c *Case) digestOf(imageID string) (string, error) {
	im, ok := find(c.current().marks, func(im measure.ImageMarks) bool { return im.ID == imageID })
	if !ok || im.SHA256 == "" {
		return "", ErrNone
	}
	return im.SHA256, nil
}

// find returns the first image that fits.
func find(m measure.Marks, fits func(measure.ImageMarks) bool) (measure.ImageMarks, bool) {
	for _, im := range m.Images {
		if fits(im) {
			return im, true
		}
	}
	return measure.ImageMarks{}, false
}

// freeID makes an id for a new image from its stage: the stage itself, or with
// the smallest number from 2 on that no image has.
func freeID(m measure.Marks, stage string) string {
	stem := strings.Join(strings.Fields(strings.ToLower(stage)), "-")
	if stem == "" {
		stem = "image"
	}
	id := stem
	for n := 2; ; n++ {
		if _, taken := find(m, func(im measure.ImageMarks) bool { return im.ID == id }); !taken {
			return id
		}
		id = fmt.Sprintf("%s-%d", stem, n)
	}
}
