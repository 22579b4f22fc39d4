package store

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pinwright/wheel"
)

// oldWithMachine is a database of the third version with one machine in it.
func oldWithMachine(t *testing.T) (path string) {
	t.Helper()
	db, path := older(t, 3)
	text, err := machineText(smallMachine("Old", 2))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`INSERT INTO machines (file, added_us, changed_us) VALUES (?, 5, 5)`, text); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// versionAndMachine is what a database holds, read without this package.
func versionAndMachine(t *testing.T, path string) (version int, name string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := db.QueryRow(`SELECT max(version_id) FROM goose_db_version`).Scan(&version); err != nil {
		t.Fatal(err)
	}
	if err := db.QueryRow(`SELECT name FROM machines`).Scan(&name); err != nil {
		t.Fatal(err)
	}
	return version, name
}

func TestAnOlderDatabaseIsCopiedBeforeItIsMigratedAndTheCopyKeptUntilTheNextTime(t *testing.T) {
	path := oldWithMachine(t)
	if err := openAt(t, path).Close(); err != nil {
		t.Fatal(err)
	}
	copied := path + ".version-3"
	if version, name := versionAndMachine(t, copied); version != 3 || name != "Old" {
		t.Errorf("the copy has tables of version %d and machine %q", version, name)
	}
	if version, name := versionAndMachine(t, path); version != int(newestVersion()) || name != "Old" {
		t.Errorf("the database has tables of version %d and machine %q", version, name)
	}
	// The copy can be put back.
	back := filepath.Join(t.TempDir(), "pinwright.db")
	if err := copyFile(back, copied); err != nil {
		t.Fatal(err)
	}
	if m, err := openAt(t, back).Machine(context.Background(), 1); err != nil || m.Name != "Old" {
		t.Errorf("put back, the copy gives %+v, %v", m, err)
	}
	if err := openAt(t, path).Close(); err != nil {
		t.Fatal(err)
	}
	if left, _ := filepath.Glob(path + ".*"); len(left) > 0 {
		t.Errorf("after it was opened once more there is still %q", left)
	}
}

func TestADatabaseThatCannotBeCopiedIsNotMigrated(t *testing.T) {
	path := oldWithMachine(t)
	if err := os.MkdirAll(filepath.Join(path+".version-3", "in the way"), 0o700); err != nil {
		t.Fatal(err)
	}
	s, err := Open(context.Background(), path, time.Now)
	if err == nil {
		s.Close()
	}
	if !errors.Is(err, wheel.ErrUnavailable) {
		t.Fatalf("error %v", err)
	}
	if version, name := versionAndMachine(t, path); version != 3 || name != "Old" {
		t.Errorf("the database has tables of version %d and machine %q", version, name)
	}
}

// The first try migrates and then fails; a later try finds the new tables. The
// copy is still there, since the new database has not been opened before.
func TestTheCopyOutlastsATryThatFailsAfterTheMigration(t *testing.T) {
	path := oldWithMachine(t)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := bringUpToDate(context.Background(), db, path); err != nil { // as a try does
		t.Fatal(err)
	}
	version, err := look(context.Background(), path, newestVersion())
	if err != nil || version != newestVersion() {
		t.Fatalf("version %d, %v", version, err)
	}
	s, err := open(context.Background(), path, time.Now) // the next try
	if err != nil {
		t.Fatal(err)
	}
	s.Close()
	if version, name := versionAndMachine(t, path+".version-3"); version != 3 || name != "Old" {
		t.Errorf("the copy has tables of version %d and machine %q", version, name)
	}
}

func TestANewDatabaseIsNotCopied(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pinwright.db")
	if err := openAt(t, path).Close(); err != nil {
		t.Fatal(err)
	}
	if found, _ := filepath.Glob(path + ".*"); len(found) > 0 {
		t.Errorf("there is %q", found)
	}
}
