package store

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// The kinds of [Error].
var (
	ErrNotFound    = errors.New("not found")            // no such machine, song, pinning, edit or mark
	ErrConflict    = errors.New("conflict")             // not with what is kept already
	ErrInvalid     = errors.New("invalid")              // a file or an edit that cannot be kept
	ErrTooLarge    = errors.New("too large")            // a file larger than is read
	ErrNewer       = errors.New("from a newer version") // the database itself
	ErrDamaged     = errors.New("damaged or foreign")   // the database itself
	ErrUnavailable = errors.New("unavailable")          // no room, no permission, in use
)

// Error is a refusal. Nothing was changed. Its text is whole sentences for
// the person at the bench.
type Error struct {
	Kind    error // one of the kinds above
	Message string
	Cause   error // what was found, such as wheel.Problems; may be nil
}

func (e *Error) Error() string { return e.Message }

// Unwrap lets errors.Is see the kind and errors.As the cause.
func (e *Error) Unwrap() []error {
	if e.Cause == nil {
		return []error{e.Kind}
	}
	return []error{e.Kind, e.Cause}
}

func refuse(kind error, format string, args ...any) error {
	return &Error{Kind: kind, Message: fmt.Sprintf(format, args...)}
}

func refuseFor(kind, cause error, format string, args ...any) error {
	return &Error{Kind: kind, Cause: cause, Message: fmt.Sprintf(format, args...)}
}

// checkLine refuses what is longer than most characters or is not one line of
// text.
func checkLine(what, text string, most int) error {
	if n := utf8.RuneCountInString(text); n > most {
		return refuse(ErrInvalid, "%s has %d characters; %d at most", what, n, most)
	}
	if !utf8.ValidString(text) || strings.ContainsFunc(text, unicode.IsControl) {
		return refuse(ErrInvalid, "%s has characters that are not text; write it in one line", what)
	}
	return nil
}

// failed puts an error of the database in words. Refusals pass through.
func failed(doing string, err error) error {
	var refusal *Error
	if err == nil || errors.As(err, &refusal) {
		return err
	}
	switch resultCode(err) {
	case sqlite3.SQLITE_FULL:
		return refuseFor(ErrUnavailable, err, "%s failed, and nothing was changed: the disk is full", doing)
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return refuseFor(ErrUnavailable, err, "%s failed, and nothing was changed: another program is writing to the database; try again", doing)
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return refuseFor(ErrUnavailable, err, "%s failed, and nothing was changed: the database cannot be written to; check that its folder and file are yours to change", doing)
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return refuseFor(ErrDamaged, err, "%s failed: the database is damaged; stop, and go back to a copy of it", doing)
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
