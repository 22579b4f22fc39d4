package store

import (
	"context"
	"database/sql"
	"io/fs"
	"path/filepath"
	"testing"

	"github.com/pressly/goose/v3"

	"pinwright/wheel"
)

// A database as the first version left it is brought up to date with all that
// is in it.
func TestADatabaseOfTheFirstVersionIsBroughtUpToDate(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "pinwright.db")
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	files, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		t.Fatal(err)
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, files, goose.WithDisableGlobalRegistry(true), goose.WithLogger(goose.NopLogger()))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(ctx, 1); err != nil {
		t.Fatal(err)
	}
	m := smallMachine("Old", 2)
	text, err := textOf(m, wheel.ReadMachine)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`INSERT INTO machines (file, added_us, changed_us) VALUES (?, 5, 5)`, text); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	s := openAt(t, path)
	kept, err := s.Machine(ctx, 1)
	if err != nil || kept.Name != "Old" {
		t.Fatalf("%+v, %v", kept, err)
	}
	if changes, err := s.MachineChanges(ctx, 1); err != nil || len(changes) != 0 {
		t.Errorf("%v, %v", changes, err)
	}
	if err := s.ChangeMachine(ctx, 1, 1, "First since", []wheel.Set{{Path: "marble.clearance_mm", Value: 4}}); err != nil {
		t.Error(err)
	}
}
