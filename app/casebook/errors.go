package casebook

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"syscall"

	"github.com/ncruces/go-sqlite3"
)

// The errors that a caller may test for. Each is a sentence for the clinician.
var (
	// ErrNone: the case, image or original asked for is not in the casebook.
	ErrNone = errors.New("the casebook holds no such case or image")

	// ErrAlreadyThere: the same bytes are in the case already. Nothing was
	// changed.
	ErrAlreadyThere = errors.New("this image is already in the case")

	// ErrNothing: no step is left to undo, or none was undone to redo.
	ErrNothing = errors.New("there is no step to take back or to repeat")

	// ErrChanged: another window changed the same part of the case since this
	// one last read it. Nothing was written; the case now has the other
	// window's state, so the window must be drawn again.
	ErrChanged = errors.New("the case was changed in another window: it is shown as it is now; repeat the step if it is still wanted")

	// ErrFull: the disk has no room. Nothing was changed.
	ErrFull = errors.New("the disk is full: free some space and repeat the step; everything saved before it is safe")

	// ErrReadOnly: file or folder can't be written.
	ErrReadOnly = errors.New("the casebook can't be written: check that you may write to its file and its folder, and that the disk is not write-protected")

	// ErrBusy: another program holds the casebook for longer than a
	// transaction takes.
	ErrBusy = errors.New("another program is using the casebook: wait until it has finished (a backup, a copy) and repeat the step")

	// ErrNewer: a later version of the program wrote this file.
	ErrNewer = errors.New("this casebook was written by a newer version of the program: install that version to open it; nothing was changed")

	// ErrForeign: the file is something else.
	ErrForeign = errors.New("this file is not a casebook: choose another file; nothing was changed")

	// ErrDamaged: bytes on the disk are not what was stored. The likely
	// cause is a failing disk or a file changed by another program.
	ErrDamaged = errors.New("the casebook is damaged: stop working on it, keep a copy of the file as it is, and go back to a backup")
)

// explain puts what was being done before an error, in words of this package:
// the driver's own texts may name files.
func explain(doing string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", doing, plain(err))
}

// causes maps what SQLite reports to the sentences above.
var causes = []struct {
	code sqlite3.ErrorCode
	as   error
}{
	{sqlite3.FULL, ErrFull},
	{sqlite3.READONLY, ErrReadOnly},
	{sqlite3.CANTOPEN, ErrReadOnly},
	{sqlite3.PERM, ErrReadOnly},
	{sqlite3.BUSY, ErrBusy},
	{sqlite3.LOCKED, ErrBusy},
	{sqlite3.CORRUPT, ErrDamaged},
	{sqlite3.NOTADB, ErrDamaged},
}

// plain returns err without file names. Errors of this package pass as they
// are.
func plain(err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, sql.ErrNoRows) {
		return ErrNone
	}
	if errors.Is(err, syscall.ENOSPC) {
		return ErrFull
	}
	var code sqlite3.ErrorCode
	if errors.As(err, &code) {
		for _, c := range causes {
			if code == c.code {
				return c.as
			}
		}
		return fmt.Errorf("the disk or its file system failed (%w): check the disk, then repeat the step", code)
	}
	var path *fs.PathError
	if errors.As(err, &path) {
		if errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS) {
			return ErrReadOnly
		}
		return fmt.Errorf("%s: %w", path.Op, path.Err)
	}
	return err
}
