package casebook

import (
	"database/sql"
	"errors"
	"fmt"
	"os"
)

// backUpBefore copies a casebook that is about to take on a newer form to a
// file beside it, "casebook.db.form-1", so that the program that wrote it can
// still read that. A new or an up-to-date file, and one copied before, is left
// alone.
func backUpBefore(db *sql.DB, path string, newest int) error {
	var form int
	if err := db.QueryRow(`PRAGMA user_version`).Scan(&form); err != nil {
		return err
	}
	if form <= 0 || form >= newest {
		return nil
	}
	to := fmt.Sprintf("%s.form-%d", path, form)
	if _, err := os.Stat(to); err == nil {
		return nil
	}
	return copyTo(db, to)
}

// copyTo writes a consistent copy of the casebook, for its owner's eyes only.
// The copy gets its name when it is complete and on the disk.
func copyTo(db *sql.DB, to string) error {
	part := fmt.Sprintf("%s.%d.part", to, os.Getpid())
	f, err := os.OpenFile(part, os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o600) // SQLite fills a file that is empty
	if err != nil {
		return err
	}
	if _, err = db.Exec(`VACUUM INTO ?`, part); err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(part, to)
	}
	if err != nil {
		os.Remove(part)
	}
	return err
}
