package main

import (
	"context"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel/arrange"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

func newStore(t *testing.T) *store.Store {
	t.Helper()
	now := func() time.Time { return time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC) }
	st, err := store.Open(context.Background(), filepath.Join(t.TempDir(), databaseName), now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	return st
}

var demoTitles = []string{"Frère Jacques", "Mill Race", "Nine Knocks"}

// kept is the names of everything in a store.
func kept(t *testing.T, st *store.Store) (machines, songs, pinnings []string) {
	t.Helper()
	ctx := context.Background()
	rows, err := st.Machines(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range rows {
		machines = append(machines, m.Name)
		on, err := st.Pinnings(ctx, m.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range on {
			pinnings = append(pinnings, p.Title)
		}
	}
	all, err := st.Songs(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		songs = append(songs, s.Title)
	}
	return machines, songs, pinnings
}

func wantDemo(t *testing.T, st *store.Store) {
	t.Helper()
	machines, songs, pinnings := kept(t, st)
	if !slices.Equal(machines, []string{"Hailstone"}) || !slices.Equal(songs, demoTitles) || !slices.Equal(pinnings, demoTitles) {
		t.Errorf("machines %q, songs %q, pinnings %q", machines, songs, pinnings)
	}
}

func TestNewStoreHasTheDemoAndEverySongOfItSetSafely(t *testing.T) {
	ctx := context.Background()
	st := newStore(t)
	if err := seed(ctx, st); err != nil {
		t.Fatal(err)
	}
	wantDemo(t, st)
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	songs, err := st.Songs(ctx)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := st.Pinnings(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		if row.SongID != songs[i].ID {
			t.Errorf("%s is of song %d, want %d", row.Title, row.SongID, songs[i].ID)
		}
		p, err := st.Pinning(ctx, row.ID)
		if err != nil {
			t.Fatal(err)
		}
		v, err := works.Check(p.File, row.TempoBPM)
		if err != nil {
			t.Fatal(err)
		}
		// Silent pins there are none, so all that could be wrong is the tempo.
		if !v.Safe || v.Together == nil || row.TempoBPM < v.Together.FromBPM || row.TempoBPM > v.Together.ToBPM {
			t.Errorf("%s at %g BPM: %d findings, together %+v", row.Title, row.TempoBPM, len(v.Findings), v.Together)
		}
	}
}

func TestDemoThatWasRemovedDoesNotComeBack(t *testing.T) {
	ctx := context.Background()
	st := newStore(t)
	if err := seed(ctx, st); err != nil {
		t.Fatal(err)
	}
	if err := seed(ctx, st); err != nil {
		t.Fatal(err)
	}
	wantDemo(t, st)
	rows, err := st.Pinnings(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		if err := st.RemovePinning(ctx, row.ID); err != nil {
			t.Fatal(err)
		}
		if _, err := st.RemoveSong(ctx, row.SongID); err != nil {
			t.Fatal(err)
		}
	}
	if err := st.RemoveMachine(ctx, 1); err != nil {
		t.Fatal(err)
	}
	if err := seed(ctx, st); err != nil {
		t.Fatal(err)
	}
	if machines, songs, pinnings := kept(t, st); len(machines)+len(songs)+len(pinnings) > 0 {
		t.Errorf("machines %q, songs %q, pinnings %q came back", machines, songs, pinnings)
	}
}

// However far a first start came before it was cut short, the next has the
// whole demo, and nothing of it twice.
func TestSeedingCutShortIsCompletedByTheNextStart(t *testing.T) {
	ctx := context.Background()
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	for cut := range 8 { // a machine, and three times a song and its pinning
		st := newStore(t)
		steps := 0
		next := func() bool { steps++; return steps <= cut }
		if next() {
			if _, err := st.AddMachine(ctx, demo.Machine()); err != nil {
				t.Fatal(err)
			}
		}
		for _, file := range demo.Songs() {
			if !next() {
				break
			}
			added, err := st.AddSongs(ctx, file.FileName, file.Bytes)
			if err != nil {
				t.Fatal(err)
			}
			if !next() {
				break
			}
			songs, err := song.Parse(file.Bytes, file.FileName)
			if err != nil {
				t.Fatal(err)
			}
			p, _, err := arrange.Set(t.Context(), works, songs[0], arrange.Request{})
			if err != nil {
				t.Fatal(err)
			}
			if _, err := st.AddPinning(ctx, 1, added[0].ID, p); err != nil {
				t.Fatal(err)
			}
		}
		if err := seed(ctx, st); err != nil {
			t.Fatalf("cut after %d steps: %v", cut, err)
		}
		wantDemo(t, st)
	}
}

// A machine that the crew calls Hailstone is theirs.
func TestDemoKeepsAwayFromAMachineOfItsName(t *testing.T) {
	ctx := context.Background()
	st := newStore(t)
	theirs := demo.Machine()
	theirs.Marble.DiameterMM++
	if _, err := st.AddMachine(ctx, theirs); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := seed(ctx, st); err != nil {
			t.Fatal(err)
		}
		machines, songs, pinnings := kept(t, st)
		if !slices.Equal(machines, []string{"Hailstone"}) || len(songs)+len(pinnings) > 0 {
			t.Errorf("machines %q, songs %q, pinnings %q", machines, songs, pinnings)
		}
	}
}

func TestSeedingEndsWithItsContext(t *testing.T) {
	st := newStore(t)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := seed(ctx, st); err == nil {
		t.Error("it went on")
	}
	if added, err := st.DemoAdded(context.Background()); err != nil || added {
		t.Errorf("the demo counts as added: %v, %v", added, err)
	}
}
