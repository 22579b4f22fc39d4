package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	sqlite3 "modernc.org/sqlite/lib"

	"pinwright/wheel"
)

// look refuses a file that this program, which knows tables up to version
// known, cannot take over. It reads the file and what lies beside it and
// changes neither. It returns the version of the tables, 0 where there are none.
func look(ctx context.Context, path string, known int64) (version int64, err error) {
	size, err := fileSize(path)
	if err != nil {
		return 0, err
	}
	logSize, err := fileSize(path + "-wal")
	switch {
	case err != nil:
		return 0, err
	case size == 0 && logSize > 0:
		return 0, wheel.Refuse(wheel.ErrDamaged, "%s is missing or empty, but %s-wal beside it holds changes to it; nothing was changed: put the database back where it was, or move that file away to start with an empty database", path, path)
	case size == 0:
		return 0, nil
	}
	uri, done, err := untouched(path, logSize > 0)
	if err != nil {
		return 0, wheel.RefuseFor(wheel.ErrUnavailable, err, "%s cannot be read, and nothing was changed: %s", path, err)
	}
	defer done()
	db, err := sql.Open("sqlite", uri)
	if err != nil {
		return 0, err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	version, err = tablesVersion(ctx, db, path)
	if err == nil && version > known {
		return 0, wheel.Refuse(wheel.ErrNewer, "%s was written by a newer version of this program: its tables are version %d, and this program knows versions up to %d. Nothing was changed; open it with the newer program", path, version, known)
	}
	if err == nil {
		err = soundness(ctx, db, path, size, logSize)
	}
	switch resultCode(err) {
	case sqlite3.SQLITE_NOTADB:
		return 0, wheel.RefuseFor(wheel.ErrDamaged, err, "%s is not a database, or is damaged at its beginning; nothing was changed: name another file, or go back to a copy", path)
	case sqlite3.SQLITE_CORRUPT:
		return 0, wheel.RefuseFor(wheel.ErrDamaged, err, "%s is damaged (%s); nothing was changed: go back to a copy", path, err)
	case sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return 0, wheel.RefuseFor(wheel.ErrUnavailable, err, "%s cannot be read, and nothing was changed: check that you may open it", path)
	}
	return version, err
}

// fileSize is 0 where there is no file.
func fileSize(path string) (int64, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return 0, nil
	case err != nil:
		return 0, wheel.RefuseFor(wheel.ErrUnavailable, err, "%q cannot be opened: %s", path, err)
	case info.IsDir():
		return 0, wheel.Refuse(wheel.ErrUnavailable, "%s is a folder; name a file in it", path)
	case !info.Mode().IsRegular():
		return 0, wheel.Refuse(wheel.ErrUnavailable, "%s is not a file that can hold a database", path)
	}
	return info.Size(), nil
}

// untouched names the database so that reading it leaves no trace, not even a
// lock file. Without a write-ahead log the file is all there is. A log that
// has changes in it counts too: with its index beside it both are read as
// they lie, and without one, when no program has them open, a copy is read.
func untouched(path string, log bool) (uri string, done func(), err error) {
	done = func() {}
	if !log {
		return fileURI(path, url.Values{"mode": {"ro"}, "immutable": {"1"}}), done, nil
	}
	if _, err := os.Stat(path + "-shm"); err == nil {
		return fileURI(path, url.Values{"mode": {"ro"}, "readonly_shm": {"1"}, "_busy_timeout": {fmt.Sprint(busyTimeoutMS)}}), done, nil
	}
	dir, err := os.MkdirTemp("", "pinwright-look-")
	if err != nil {
		return "", done, err
	}
	done = func() { _ = os.RemoveAll(dir) }
	copied := filepath.Join(dir, "copy.db")
	for _, suffix := range []string{"", "-wal"} {
		if err := copyFile(copied+suffix, path+suffix); err != nil {
			done()
			return "", func() {}, err
		}
	}
	return fileURI(copied, url.Values{}), done, nil
}

func copyFile(to, from string) error {
	r, err := os.Open(from)
	if err != nil {
		return err
	}
	defer r.Close()
	w, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(w, r)
	return errors.Join(err, w.Close())
}

// tablesVersion is the version of the tables in a database of ours, 0 before
// there are any.
func tablesVersion(ctx context.Context, db *sql.DB, path string) (version int64, err error) {
	var id, ours, others int64
	err = db.QueryRowContext(ctx, `
		SELECT count(*) FILTER (WHERE name = 'goose_db_version'),
		       count(*) FILTER (WHERE name <> 'goose_db_version' AND name NOT LIKE 'sqlite\_%' ESCAPE '\')
		FROM sqlite_schema`).Scan(&ours, &others)
	if err != nil {
		return 0, err
	}
	if err := db.QueryRowContext(ctx, `PRAGMA application_id`).Scan(&id); err != nil {
		return 0, err
	}
	if id != applicationID && (id != 0 || others > 0) {
		return 0, wheel.Refuse(wheel.ErrDamaged, "%s is a database of another program; nothing was changed: name another file", path)
	}
	if ours == 0 {
		return 0, nil
	}
	err = db.QueryRowContext(ctx, `SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied`).Scan(&version)
	return version, err
}

// soundness holds the database against SQLite's quick check, which sees that
// pages hang together. It does not see that the end of a page is missing; the
// file's size does, unless a log that is still to be written into it was cut
// off in the middle of that.
func soundness(ctx context.Context, db *sql.DB, path string, size, logSize int64) error {
	var pageSize int64
	if err := db.QueryRowContext(ctx, `PRAGMA page_size`).Scan(&pageSize); err != nil {
		return err
	}
	var found string
	if err := db.QueryRowContext(ctx, `PRAGMA quick_check(1)`).Scan(&found); err != nil {
		return err
	}
	if found == "ok" && logSize == 0 && size%pageSize != 0 {
		found = fmt.Sprintf("it breaks off %d bytes before the end of a page", pageSize-size%pageSize)
	}
	if found != "ok" {
		return wheel.Refuse(wheel.ErrDamaged, "%s is damaged (%s); nothing was changed: go back to a copy", path, found)
	}
	return nil
}
