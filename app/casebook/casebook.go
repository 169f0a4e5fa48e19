// Package casebook keeps cases on disk: one SQLite file holds every case, the
// original bytes of every image under their SHA-256, the marks, and the whole
// history of the marks. Call [Open] first, then [Book.New], [Book.Case] or
// [Book.Last] for a [Case]; change its marks with [Case.Edit] only.
//
// What is promised. Each step is one transaction, on the disk when the call
// returns: a killed program, a crash or a power cut loses nothing that was
// reported as saved. A call that fails leaves file and memory as they were.
// Nothing is ever deleted: a case is put away, undo moves a cursor, an edit after undo starts a
// new branch and leaves the old one in the file, and originals stay for good.
// Two windows on one casebook don't overwrite each other: an edit made on an
// older state is merged when the two touch different things and refused with
// [ErrChanged] otherwise; see [Case.Edit] and [Case.Refresh].
//
// A casebook of an older form is copied beside itself before it takes on the
// new one.
//
// Marks are in pixels as package measure defines them, times are UTC, stored
// in milliseconds. Every method may be called from any goroutine.
//
// No error of this package contains a case code, a patient's name, a file name or a mark: what
// it says may be logged.
//
// The package computes no finding, decodes no image and draws nothing. The
// file is not encrypted; it is made for its owner's eyes only (mode 0600 in a
// folder of mode 0700). It belongs on a local disk: write-ahead logging does
// not work across a network drive shared by several computers.
package casebook

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/ncruces/go-sqlite3"
	"github.com/ncruces/go-sqlite3/driver"
)

// busyWait is how long a call waits for another window's transaction, which
// takes milliseconds, and for an image of 12 MB a tenth of a second (measured).
const busyWait = 5 * time.Second

// Book is an open casebook.
type Book struct {
	db *sql.DB
}

// Open opens the casebook at path and brings it to the present form; a file
// that does not exist yet, and its folder, are made. Errors: [ErrForeign] for
// a file that is something else, [ErrNewer] for one that a later version of
// the program has written (both are left untouched), [ErrReadOnly],
// [ErrBusy], [ErrFull], [ErrDamaged].
func Open(path string) (*Book, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("opening the casebook: %w", plain(err))
	}
	if err := prepareFile(path); err != nil {
		return nil, fmt.Errorf("opening the casebook: %w", err)
	}
	return openWith(path, "")
}

// openWith opens the file at an absolute path through a file system of SQLite.
func openWith(path, vfs string) (*Book, error) {
	db, err := driver.Open(dataSource(path, vfs), prepareConnection)
	if err != nil {
		return nil, explain("opening the casebook", err)
	}
	db.SetMaxOpenConns(2) // one that writes, one that reads beside it
	if err := backUpBefore(db, path, len(steps)); err != nil {
		return nil, errors.Join(explain("keeping a copy of the casebook before it takes on its new form", err), db.Close())
	}
	if err := migrate(db, steps); err != nil {
		return nil, errors.Join(explain("opening the casebook", err), db.Close())
	}
	return &Book{db: db}, nil
}

// Close ends the use of the casebook and of its cases.
func (b *Book) Close() error { return explain("closing the casebook", b.db.Close()) }

// dataSource returns the address of the file at an absolute path, with the
// journal files made in the mode of the casebook itself. An empty vfs is the
// operating system's file system. The form without slashes before the path is
// the one in which a drive letter is understood.
func dataSource(path, vfs string) string {
	escaped := (&url.URL{Path: filepath.ToSlash(path)}).EscapedPath()
	// SQLite does not read + as a space in parameters.
	mode := strings.ReplaceAll(url.QueryEscape(path), "+", "%20")
	source := "file:" + escaped + "?modeof=" + mode
	if vfs != "" {
		source += "&vfs=" + vfs
	}
	return source
}

// prepareFile makes the folder and an empty file where there is none, and
// refuses a file that is not a casebook before SQLite gets to see it, since
// SQLite would replay a journal it finds beside it.
func prepareFile(path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return plain(err)
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	switch {
	case err == nil:
		return plain(f.Close())
	case errors.Is(err, fs.ErrExist):
		return checkHeader(path)
	}
	return plain(err)
}

// checkHeader reads what kind of file is at path.
func checkHeader(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return plain(err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return plain(err)
	}
	if !info.Mode().IsRegular() {
		return ErrForeign
	}
	if info.Size() == 0 || unborn(path+"-journal") { // a first start that was cut off
		return nil
	}
	return checkApplication(f)
}

// unborn reports whether a rollback journal says that its database was empty
// before the transaction that it belongs to: SQLite will make it empty again.
func unborn(journal string) bool {
	f, err := os.Open(journal)
	if err != nil {
		return false
	}
	defer f.Close()
	return emptyBefore(f)
}

// prepareConnection sets what every connection needs, in the order in which
// the driver asks for it: waiting first.
func prepareConnection(c *sqlite3.Conn) error {
	if err := c.BusyTimeout(busyWait); err != nil {
		return err
	}
	return c.Exec(`
		PRAGMA synchronous = EXTRA; -- a commit is on the disk when it returns, in WAL and in rollback mode
		PRAGMA foreign_keys = ON;
		PRAGMA temp_store = MEMORY; -- no patient data in temporary files
		PRAGMA trusted_schema = OFF;
		PRAGMA cell_size_check = ON;`)
}

// write runs fn in a transaction that holds the casebook's write lock from
// its first statement on, so that what fn reads is still so when it commits.
func (b *Book) write(doing string, fn func(*sql.Tx) error) error {
	tx, err := b.db.Begin()
	if err != nil {
		return explain(doing, err)
	}
	defer tx.Rollback() // after a commit it does nothing
	if err := fn(tx); err != nil {
		return explain(doing, err)
	}
	return explain(doing, tx.Commit())
}
