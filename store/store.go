package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"pinwright/wheel"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// applicationID marks a database of ours; the first migration writes it.
const applicationID = 0x50696e77

const (
	busyTimeoutMS  = 5000
	turnTimeout    = 10 * time.Second // to wait for another program that writes
	turnPoll       = 2 * time.Millisecond
	maxReaders     = 4
	openingRetries = 5 // two programs may find the same file new at once
)

// Store keeps everything in one file. It is safe for concurrent use.
type Store struct {
	writer *sql.DB // one connection
	reader *sql.DB
	now    func() time.Time

	edit       editStatements
	lastEdited atomic.Pointer[Machine] // of the pinning edited last, to be used while its revision stands
}

// Open opens the database at path, and makes the file, and folders to it,
// where there are none. Tables of an older version are brought up to date, after
// the file was copied beside itself; the copy stays until the next time. A
// file from a newer version, a damaged one, or one that is not ours is refused
// with an [wheel.Error] and not touched. The clock now dates what is added.
func Open(ctx context.Context, path string, now func() time.Time) (*Store, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, wheel.RefuseFor(wheel.ErrUnavailable, err, "the database %q cannot be opened: %s", path, err)
	}
	for try, upToDate := 1, false; ; try++ {
		version, err := look(ctx, path, newestVersion())
		if try == 1 {
			upToDate = err == nil && version == newestVersion()
		}
		var s *Store
		if err == nil {
			s, err = open(ctx, path, now)
		}
		var refusal *wheel.Error
		switch {
		case err == nil:
			if upToDate {
				dropCopies(path, newestVersion())
			}
			return s, nil
		case errors.As(err, &refusal) && (refusal.Code == wheel.ErrNewer || try == openingRetries):
			return nil, err
		case try == openingRetries || ctx.Err() != nil:
			return nil, failed("opening "+path, err)
		}
		// What looks unreadable or damaged may be another program in the middle
		// of making, or of closing, the same file.
		time.Sleep(time.Duration(try) * 20 * time.Millisecond)
	}
}

func open(ctx context.Context, path string, now func() time.Time) (_ *Store, err error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, wheel.RefuseFor(wheel.ErrUnavailable, err, "the folder for the database cannot be made: %s", err)
	}
	s := &Store{now: now}
	defer func() {
		if err != nil {
			s.Close()
		}
	}()
	pragmas := url.Values{
		"_busy_timeout": {fmt.Sprint(busyTimeoutMS)},
		"_foreign_keys": {"on"},
		"_journal_mode": {"wal"},
		"_synchronous":  {"full"},
		"_dqs":          {"0"},
		"_defensive":    {"1"},
		"_pragma":       {"trusted_schema(0)"},
		"_txlock":       {"immediate"},
	}
	if s.writer, err = sql.Open("sqlite", fileURI(path, pragmas)); err != nil {
		return nil, err
	}
	s.writer.SetMaxOpenConns(1)
	if err := bringUpToDate(ctx, s.writer, path); err != nil {
		return nil, err
	}
	if err := s.edit.prepare(ctx, s.writer); err != nil {
		return nil, err
	}
	if _, err := s.writer.ExecContext(ctx, `PRAGMA busy_timeout = 0`); err != nil { // see turn
		return nil, err
	}
	pragmas.Set("_query_only", "1")
	for _, forWriting := range []string{"_journal_mode", "_synchronous", "_txlock"} {
		pragmas.Del(forWriting)
	}
	if s.reader, err = sql.Open("sqlite", fileURI(path, pragmas)); err != nil {
		return nil, err
	}
	s.reader.SetMaxOpenConns(maxReaders)
	return s, s.reader.PingContext(ctx)
}

// Close ends all use of the store.
func (s *Store) Close() error {
	var errs []error
	for _, db := range []*sql.DB{s.reader, s.writer} { // the last to close tidies the log away
		if db != nil {
			errs = append(errs, db.Close())
		}
	}
	return errors.Join(errs...)
}

// bringUpToDate migrates tables of an older version, after the database was
// copied beside itself.
func bringUpToDate(ctx context.Context, db *sql.DB, path string) error {
	if err := copyBefore(ctx, db, path, newestVersion()); err != nil {
		return err
	}
	files, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, files,
		goose.WithDisableGlobalRegistry(true), goose.WithLogger(goose.NopLogger()))
	if err != nil {
		return err
	}
	_, err = p.Up(ctx)
	return err
}

// newestVersion is the version of the tables that this program knows.
func newestVersion() int64 {
	names, _ := fs.Glob(migrationFiles, "migrations/*.sql") // sorted; the pattern is right
	version, err := goose.NumericComponent(names[len(names)-1])
	if err != nil {
		panic(err) // the name is embedded, and every test opens a store
	}
	return version
}

// fileURI names a file for SQLite, whatever characters its path has.
func fileURI(path string, params url.Values) string {
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path // C:/… on Windows
	}
	return (&url.URL{Scheme: "file", Path: path, RawQuery: params.Encode()}).String()
}

// change does work in one transaction, on disk when it returns.
func (s *Store) change(ctx context.Context, doing string, work func(*sql.Tx) error) error {
	tx, err := s.turn(ctx)
	if err != nil {
		return failed(doing, err)
	}
	defer func() { _ = tx.Rollback() }() // does nothing after Commit
	if err := work(tx); err != nil {
		return failed(doing, err)
	}
	return failed(doing, tx.Commit())
}

// turn waits until no other program writes. SQLite's own waiting looks again
// ever less often, at last every 100 ms, and beside a program that writes
// without a pause would now and then find it writing each time, for seconds.
func (s *Store) turn(ctx context.Context) (*sql.Tx, error) {
	for begun := time.Now(); ; time.Sleep(turnPoll) {
		tx, err := s.writer.BeginTx(ctx, nil)
		if resultCode(err) != sqlite3.SQLITE_BUSY || time.Since(begun) > turnTimeout {
			return tx, err
		}
	}
}

// view reads in one transaction, so that nothing changes in between.
func (s *Store) view(ctx context.Context, doing string, read func(*sql.Tx) error) error {
	tx, err := s.reader.BeginTx(ctx, nil)
	if err != nil {
		return failed(doing, err)
	}
	defer func() { _ = tx.Rollback() }()
	return failed(doing, read(tx))
}

// list reads rows, one value each.
func list[T any](ctx context.Context, q querier, doing string, scan func(scanner) (T, error), query string, args ...any) ([]T, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, failed(doing, err)
	}
	defer rows.Close()
	var all []T
	for rows.Next() {
		one, err := scan(rows)
		if err != nil {
			return nil, failed(doing, err)
		}
		all = append(all, one)
	}
	return all, failed(doing, rows.Err())
}

// scanner is *sql.Row or *sql.Rows.
type scanner interface{ Scan(...any) error }

// querier is *sql.DB or *sql.Tx.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func (s *Store) nowUS() int64 { return s.now().UnixMicro() }

func timeOf(us int64) time.Time { return time.UnixMicro(us).UTC() }
