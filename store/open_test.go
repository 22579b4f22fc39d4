package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"pinwright/wheel"
)

func TestANewDatabaseIsMadeWithItsFolder(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a folder", "of 100% #1?", "pinwright.db")
	s := openAt(t, path)
	if _, err := os.Stat(path); err != nil {
		t.Fatal(err)
	}
	rows, err := list(context.Background(), s.reader, "", func(row scanner) (name string, err error) {
		err = row.Scan(&name)
		return name, err
	}, `SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name`)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"changed_figures", "changed_texts", "edits", "goose_db_version", "holes", "job_pins", "machine_changes", "machines", "marks", "pinnings",
		"programme_versions", "programmes", "settings", "song_files", "songs", "troubles", "wheel_jobs", "wheel_pins", "wheel_taps", "wheels",
	}
	if !slices.Equal(rows, want) {
		t.Errorf("tables %v, want %v", rows, want)
	}
	checkIntegrity(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if left := slices.Sorted(maps.Keys(folder(t, filepath.Dir(path)))); !slices.Equal(left, []string{".", "pinwright.db"}) {
		t.Errorf("after closing there lie %v, want the database alone", left)
	}
}

// The numbers are SQLite's own: synchronous 2 is FULL, which syncs the
// write-ahead log at every commit (SQLite, "PRAGMA Statements").
func TestWritingIsDurableAndReadersOnlyRead(t *testing.T) {
	s := openNew(t)
	for name, want := range map[string]string{
		"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1",
		"busy_timeout": "0", "trusted_schema": "0",
	} {
		if got, _ := pragma(t, s, name); got != want {
			t.Errorf("%s is %s for the writer, want %s", name, got, want)
		}
	}
	if _, got := pragma(t, s, "busy_timeout"); got != "5000" {
		t.Errorf("busy_timeout is %s for a reader, want 5000", got)
	}
	if _, err := s.reader.Exec(`DELETE FROM settings`); err == nil {
		t.Error("a reader could write")
	}
}

func TestWhatWasKeptIsThereAfterReopening(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pinwright.db")
	s := openAt(t, path)
	id := addMachine(t, s, smallMachine("Hailstone", 2))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	m, err := openAt(t, path).Machine(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	if m.Name != "Hailstone" || m.Channels != 2 {
		t.Errorf("read back %+v", m.MachineRow)
	}
}

func TestOpeningAtOnceMakesOneDatabase(t *testing.T) {
	for range 2 {
		path := filepath.Join(t.TempDir(), "pinwright.db")
		var all sync.WaitGroup
		for i := range 4 {
			all.Go(func() {
				s, err := Open(context.Background(), path, clock())
				if err != nil {
					t.Error(err)
					return
				}
				defer s.Close()
				if _, err := s.AddMachine(context.Background(), smallMachine(fmt.Sprint("M", i), 1)); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		s := openAt(t, path)
		if rows, err := s.Machines(context.Background()); err != nil || len(rows) != 4 {
			t.Errorf("%d machines are there (%v), want 4", len(rows), err)
		}
		var times int
		if err := s.reader.QueryRow(`SELECT count(*) FROM goose_db_version WHERE version_id = 1`).Scan(&times); err != nil || times != 1 {
			t.Errorf("the first migration is noted %d times (%v), want once", times, err)
		}
	}
}

// newer makes the tables of a database version 99, as a later program would.
func newer(t *testing.T, s *Store) {
	t.Helper()
	if _, err := s.writer.Exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1)`); err != nil {
		t.Fatal(err)
	}
}

// copyAs puts a running store's files, as a killed process would leave them,
// in a folder of their own.
func copyAs(t *testing.T, from string, suffixes ...string) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "pinwright.db")
	for _, suffix := range suffixes {
		if err := copyFile(path+suffix, from+suffix); err != nil {
			t.Fatal(err)
		}
	}
	return path
}

func refusedUntouched(t *testing.T, path string, kind error, words string) {
	t.Helper()
	before := folder(t, filepath.Dir(path))
	s, err := Open(context.Background(), path, clock())
	if err == nil {
		s.Close()
		t.Fatal("it was opened")
	}
	refused(t, err, kind, words)
	if after := folder(t, filepath.Dir(path)); !maps.Equal(before, after) {
		t.Errorf("the folder held %v and now holds %v, or their bytes or times differ",
			slices.Sorted(maps.Keys(before)), slices.Sorted(maps.Keys(after)))
	}
}

const newerSays = "%s was written by a newer version of this program: its tables are version 99, and this program knows versions up to 7. Nothing was changed; open it with the newer program"

func TestANewerDatabaseIsRefusedAndNotTouched(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pinwright.db")
	s := openAt(t, path)
	addMachine(t, s, smallMachine("Hailstone", 1))
	newer(t, s)

	for name, suffixes := range map[string][]string{
		"killed, its log and index beside it": {"", "-wal", "-shm"},
		"killed, its log beside it":           {"", "-wal"},
	} {
		t.Run(name, func(t *testing.T) {
			copied := copyAs(t, path, suffixes...)
			refusedUntouched(t, copied, wheel.ErrNewer, fmt.Sprintf(newerSays, copied))
		})
	}
	t.Run("in use", func(t *testing.T) {
		before := folder(t, filepath.Dir(path))
		_, err := Open(context.Background(), path, clock())
		refused(t, err, wheel.ErrNewer, fmt.Sprintf(newerSays, path))
		after := folder(t, filepath.Dir(path))
		for _, suffix := range []string{"", "-wal"} { // the index, -shm, is shared by all who read
			if name := filepath.Base(path) + suffix; before[name] != after[name] {
				t.Errorf("%s has changed", name)
			}
		}
		addMachine(t, s, smallMachine("Second", 1)) // and its user goes on
	})
	t.Run("closed", func(t *testing.T) {
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		refusedUntouched(t, path, wheel.ErrNewer, fmt.Sprintf(newerSays, path))
	})
	t.Run("closed, in a folder that cannot be written to", func(t *testing.T) {
		if os.Geteuid() == 0 {
			t.Log("root may write anywhere, so this shows no more than the case before")
		}
		if err := os.Chmod(filepath.Dir(path), 0o500); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = os.Chmod(filepath.Dir(path), 0o700) })
		refusedUntouched(t, path, wheel.ErrNewer, fmt.Sprintf(newerSays, path))
	})
}

// A killed program of this version leaves a log whose changes must come back.
func TestALogLeftBehindIsTakenUp(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pinwright.db")
	s := openAt(t, path)
	id := addMachine(t, s, smallMachine("Hailstone", 1))
	for _, suffixes := range [][]string{{"", "-wal", "-shm"}, {"", "-wal"}} {
		again := openAt(t, copyAs(t, path, suffixes...))
		if _, err := again.Machine(context.Background(), id); err != nil {
			t.Errorf("with %q: %v", suffixes, err)
		}
	}
}

func TestALogWithoutItsDatabaseIsNotThrownAway(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pinwright.db")
	s := openAt(t, path)
	addMachine(t, s, smallMachine("Hailstone", 1))
	copied := copyAs(t, path, "-wal")
	refusedUntouched(t, copied, wheel.ErrDamaged, fmt.Sprintf("%s is missing or empty, but %s-wal beside it holds changes to it; nothing was changed: put the database back where it was, or move that file away to start with an empty database", copied, copied))
}

// closedDatabase is a database of ours with some pages in it.
func closedDatabase(t *testing.T) (path string, data []byte) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "pinwright.db")
	s := openAt(t, path)
	id := addMachine(t, s, smallMachine("Hailstone", 20))
	for i := range 20 {
		addPinning(t, s, id, 0, smallPinning(fmt.Sprint("Pinning ", i), 200))
	}
	// The bytes of a large file lie in pages of their own, at the end.
	if _, err := s.writer.Exec(`INSERT INTO song_files (sha256, name, bytes) VALUES (zeroblob(32), 'long.mid', zeroblob(20000))`); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return path, data
}

func TestAFileThatIsNoDatabaseOfOursIsRefusedAndNotTouched(t *testing.T) {
	_, sound := closedDatabase(t)
	overwritten := slices.Clone(sound)
	copy(overwritten, "# Notes on the mill race, 1 March\n")
	const notOne = "%s is not a database, or is damaged at its beginning; nothing was changed: name another file, or go back to a copy"
	for name, of := range map[string]struct {
		data []byte
		says string
	}{
		"text":                   {[]byte("Hailstone\nbar c5 sticks\n"), notOne},
		"zeros":                  {make([]byte, 8192), notOne},
		"two bytes":              {[]byte("SQ"), notOne},
		"its first page is gone": {overwritten, notOne},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "pinwright.db")
			if err := os.WriteFile(path, of.data, 0o600); err != nil {
				t.Fatal(err)
			}
			refusedUntouched(t, path, wheel.ErrDamaged, fmt.Sprintf(of.says, path))
		})
	}
	t.Run("a database of another program", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "other.db")
		db, err := sql.Open("sqlite", path)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec(`CREATE TABLE tickets (id INTEGER PRIMARY KEY, price REAL)`); err != nil {
			t.Fatal(err)
		}
		db.Close()
		refusedUntouched(t, path, wheel.ErrDamaged, path+" is a database of another program; nothing was changed: name another file")
	})
	t.Run("a folder", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "songs")
		if err := os.Mkdir(path, 0o700); err != nil {
			t.Fatal(err)
		}
		_, err := Open(context.Background(), path, clock())
		refused(t, err, wheel.ErrUnavailable, path+" is a folder; name a file in it")
	})
	t.Run("a device", func(t *testing.T) {
		_, err := Open(context.Background(), os.DevNull, clock())
		refused(t, err, wheel.ErrUnavailable, os.DevNull+" is not a file that can hold a database")
	})
}

func TestADamagedDatabaseIsRefusedAndNotTouched(t *testing.T) {
	_, sound := closedDatabase(t)
	const page = 4096 // SQLite's size of pages unless told otherwise
	if len(sound) < 10*page {
		t.Fatalf("only %d bytes to damage", len(sound))
	}
	for name, damage := range map[string]func([]byte) []byte{
		"cut short":              func(b []byte) []byte { return b[:len(b)/2] },
		"cut inside a page":      func(b []byte) []byte { return b[:len(b)-page/2] },
		"a page of zeros":        func(b []byte) []byte { clear(b[2*page : 3*page]); return b },
		"every page but 1 noise": func(b []byte) []byte { fill(b[page:]); return b },
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "pinwright.db")
			if err := os.WriteFile(path, damage(slices.Clone(sound)), 0o600); err != nil {
				t.Fatal(err)
			}
			before := folder(t, filepath.Dir(path))
			_, err := Open(context.Background(), path, clock())
			if !errors.Is(err, wheel.ErrDamaged) || !strings.HasPrefix(err.Error(), path+" is damaged (") ||
				!strings.HasSuffix(err.Error(), "; nothing was changed: go back to a copy") {
				t.Errorf("it says %v", err)
			}
			if !maps.Equal(before, folder(t, filepath.Dir(path))) {
				t.Error("the folder has changed")
			}
		})
	}
}

// fill writes bytes that make no page: a fixed linear congruence, so that the
// test is the same every time.
func fill(b []byte) {
	x := uint32(1)
	for i := range b {
		x = x*1664525 + 1013904223
		b[i] = byte(x >> 24)
	}
}

// SQLite's own check finds nothing amiss here: the page that breaks off holds
// bytes of a song and nothing else.
func TestADatabaseThatBreaksOffInsideASongIsRefusedAndNotTouched(t *testing.T) {
	path, sound := closedDatabase(t)
	if err := os.WriteFile(path, sound[:len(sound)-100], 0o600); err != nil {
		t.Fatal(err)
	}
	refusedUntouched(t, path, wheel.ErrDamaged, path+" is damaged (it breaks off 100 bytes before the end of a page); nothing was changed: go back to a copy")
}

func TestNoDamageToTheFileMakesItPanic(t *testing.T) {
	ctx := context.Background()
	path, sound := closedDatabase(t)
	refusals := 0
	x := uint32(7)
	for range 30 {
		data := slices.Clone(sound)
		for range 20 {
			x = x*1664525 + 1013904223
			data[int(x)%len(data)] ^= byte(x>>16) | 1
		}
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := Open(ctx, path, clock())
		if err != nil {
			refusals++
			continue
		}
		machines, _ := s.Machines(ctx)
		for _, m := range machines {
			_, _ = s.Machine(ctx, m.ID)
			pinnings, _ := s.Pinnings(ctx, m.ID)
			for _, p := range pinnings {
				if full, err := s.Pinning(ctx, p.ID); err == nil && len(full.File.Check()) > 0 {
					t.Errorf("a wrong pinning was handed out: %v", full.File.Check())
				}
			}
		}
		s.Close()
	}
	if refusals == 0 {
		t.Error("no damage was ever noticed on opening")
	}
}

func TestOpeningStopsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	path := filepath.Join(t.TempDir(), "pinwright.db")
	if _, err := Open(ctx, path, clock()); !errors.Is(err, context.Canceled) {
		t.Errorf("error is %v, want that the context was cancelled", err)
	}
}
