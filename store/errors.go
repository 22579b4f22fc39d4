package store

import (
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"pinwright/wheel"
)

// failed puts an error of the database in words. Refusals pass through.
func failed(doing string, err error) error {
	var refusal *wheel.Error
	if err == nil || errors.As(err, &refusal) {
		return err
	}
	switch resultCode(err) {
	case sqlite3.SQLITE_FULL:
		return wheel.RefuseFor(wheel.ErrUnavailable, err, "%s failed, and nothing was changed: the disk is full", doing)
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return wheel.RefuseFor(wheel.ErrUnavailable, err, "%s failed, and nothing was changed: another program is writing to the database; try again", doing)
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return wheel.RefuseFor(wheel.ErrUnavailable, err, "%s failed, and nothing was changed: the database cannot be written to; check that you may change its folder and file", doing)
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return wheel.RefuseFor(wheel.ErrDamaged, err, "%s failed: the database is damaged; stop, and go back to a copy of it", doing)
	}
	return fmt.Errorf("%s: %w", doing, err)
}

// resultCode is SQLite's primary result code, 0 for an error of another kind.
func resultCode(err error) int {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return 0
	}
	return e.Code() & 0xff
}
