package casebook

import (
	"bytes"
	"database/sql"
	"encoding/binary"
	"fmt"
	"io"
)

// applicationID marks an SQLite file as a casebook: "RtRl" in the header's
// application id.
const applicationID = 0x5274526c

// Where the headers of an SQLite file and of its rollback journal have their
// parts, numbers big-endian (sqlite.org/fileformat2.html, 1.3 and 3).
const (
	sqliteMagic       = "SQLite format 3\x00"
	offsetApplication = 68 // 4 bytes
	headerSize        = 100

	journalMagic       = "\xd9\xd5\x05\xf9\x20\xa1\x63\xd7"
	offsetInitialPages = 16 // 4 bytes: pages of the database before the transaction
	journalHeaderSize  = 28
)

// steps are the forms of the file in order: steps[i] leads from form i to form
// i+1, and PRAGMA user_version says which form a file has. A step that has
// been released is never changed; a new form is a new step.
var steps = []step{
	// 1. turn and opened count upwards over all cases: they order cases even
	// when the computer's clock is wrong.
	{sql: `
	CREATE TABLE originals (
		sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
		data   BLOB NOT NULL);

	CREATE TABLE cases (
		id      INTEGER PRIMARY KEY,
		code    TEXT NOT NULL,
		tooth   TEXT NOT NULL,
		head    INTEGER REFERENCES revisions (id), -- the cursor of undo and redo
		place   TEXT NOT NULL DEFAULT '',          -- image open last
		changed INTEGER NOT NULL,                  -- ms since 1970, UTC
		turn    INTEGER NOT NULL,
		opened  INTEGER NOT NULL);

	-- The history of the marks: a tree, in which next leads along the branch
	-- that redo takes. marks is the JSON of measure.Marks in zlib (RFC 1950).
	CREATE TABLE revisions (
		id      INTEGER PRIMARY KEY AUTOINCREMENT,
		case_id INTEGER NOT NULL REFERENCES cases (id),
		parent  INTEGER REFERENCES revisions (id),
		next    INTEGER REFERENCES revisions (id),
		label   TEXT NOT NULL,
		made    INTEGER NOT NULL,                  -- ms since 1970, UTC
		marks   BLOB NOT NULL);
	CREATE INDEX revisions_of_case ON revisions (case_id);

	-- The images in each case's present marks: kept with them, for lists and
	-- for finding the case that holds a file.
	CREATE TABLE images (
		case_id  INTEGER NOT NULL REFERENCES cases (id),
		image_id TEXT NOT NULL,
		position INTEGER NOT NULL,
		stage    TEXT NOT NULL,
		sha256   TEXT REFERENCES originals (sha256),
		PRIMARY KEY (case_id, image_id)) WITHOUT ROWID;
	CREATE INDEX images_of_original ON images (sha256);

	CREATE TABLE views (
		case_id INTEGER NOT NULL REFERENCES cases (id),
		sha256  TEXT NOT NULL REFERENCES originals (sha256),
		low REAL NOT NULL, high REAL NOT NULL, invert INTEGER NOT NULL,
		zoom REAL NOT NULL, cx REAL NOT NULL, cy REAL NOT NULL,
		PRIMARY KEY (case_id, sha256)) WITHOUT ROWID;

	CREATE TRIGGER originals_stay BEFORE DELETE ON originals
		BEGIN SELECT RAISE(ABORT, 'originals are never deleted'); END;
	CREATE TRIGGER history_stays BEFORE DELETE ON revisions
		BEGIN SELECT RAISE(ABORT, 'history is never deleted'); END;
	`},
	// 2. What the list of cases shows, kept with each case; small pictures of
	// the originals, which can be made again.
	{sql: `
	ALTER TABLE cases ADD COLUMN name         TEXT NOT NULL DEFAULT ''; -- the patient's
	ALTER TABLE cases ADD COLUMN archived     INTEGER NOT NULL DEFAULT 0;
	ALTER TABLE cases ADD COLUMN images       INTEGER NOT NULL DEFAULT 0;
	ALTER TABLE cases ADD COLUMN last_stage   TEXT NOT NULL DEFAULT '';
	ALTER TABLE cases ADD COLUMN last_date    TEXT NOT NULL DEFAULT '';
	ALTER TABLE cases ADD COLUMN last_picture TEXT NOT NULL DEFAULT ''; -- SHA-256
	ALTER TABLE cases ADD COLUMN recall       TEXT NOT NULL DEFAULT ''; -- YYYY-MM-DD
	ALTER TABLE cases ADD COLUMN recall_set   INTEGER NOT NULL DEFAULT 0;

	CREATE TABLE thumbs (
		sha256 TEXT PRIMARY KEY REFERENCES originals (sha256),
		data   BLOB NOT NULL);
	`, fill: fillGists},
}

// step leads from one form of the file to the next: statements, and then what
// they can't compute.
type step struct {
	sql  string
	fill func(*sql.Tx) error
}

func (s step) take(tx *sql.Tx) error {
	if _, err := tx.Exec(s.sql); err != nil || s.fill == nil {
		return err
	}
	return s.fill(tx)
}

// checkApplication reads the header of an SQLite file and refuses one that is
// not a casebook's.
func checkApplication(r io.Reader) error {
	var header [headerSize]byte
	if _, err := io.ReadFull(r, header[:]); err != nil {
		return ErrForeign
	}
	if !bytes.HasPrefix(header[:], []byte(sqliteMagic)) {
		return ErrForeign
	}
	if binary.BigEndian.Uint32(header[offsetApplication:]) != applicationID {
		return ErrForeign
	}
	return nil
}

// emptyBefore reads the header of a rollback journal and reports whether the
// database had no page before the transaction.
func emptyBefore(journal io.Reader) bool {
	var header [journalHeaderSize]byte
	if _, err := io.ReadFull(journal, header[:]); err != nil {
		return false
	}
	return bytes.HasPrefix(header[:], []byte(journalMagic)) &&
		binary.BigEndian.Uint32(header[offsetInitialPages:]) == 0
}

// stamp writes into the header that the file is a casebook, and its form.
func stamp(tx *sql.Tx, version int) error {
	_, err := tx.Exec(fmt.Sprintf(`PRAGMA application_id = %d; PRAGMA user_version = %d`, applicationID, version))
	return err
}

// migrate brings the file from the form it has to the last of steps, each
// step in a transaction of its own, so that a failed one leaves the form
// before it. The write-ahead log is switched on last: until then the file's
// header itself says that it is a casebook.
func migrate(db *sql.DB, steps []step) error {
	for {
		done, err := migrateOne(db, steps)
		if err != nil {
			return err
		}
		if done {
			break
		}
	}
	_, err := db.Exec(`PRAGMA journal_mode = WAL`)
	return err
}

// migrateOne takes the one step that the file needs next, and reports whether
// there was none. Another window may be doing the same: the form is read
// inside the transaction.
func migrateOne(db *sql.DB, steps []step) (done bool, err error) {
	tx, err := db.Begin()
	if err != nil {
		return false, err
	}
	defer tx.Rollback()
	var version int
	if err := tx.QueryRow(`PRAGMA user_version`).Scan(&version); err != nil {
		return false, err
	}
	if version > len(steps) || version < 0 {
		return false, ErrNewer
	}
	if version == len(steps) {
		return true, nil
	}
	if err := steps[version].take(tx); err != nil {
		return false, err
	}
	if err := stamp(tx, version+1); err != nil {
		return false, err
	}
	return false, tx.Commit()
}
