package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(killedWriterEnv); path != "" {
		writeUntilKilled(path)
	}
	if path := os.Getenv(killedEditorEnv); path != "" {
		editUntilKilled(path)
	}
	if path := os.Getenv(killedTapperEnv); path != "" {
		tapUntilKilled(path)
	}
	os.Exit(m.Run())
}

// clock is a time that goes on by a second at every look.
func clock() func() time.Time {
	t := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	return func() time.Time {
		t = t.Add(time.Second)
		return t
	}
}

func openAt(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Open(context.Background(), path, clock())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func openNew(t testing.TB) *Store {
	t.Helper()
	return openAt(t, filepath.Join(t.TempDir(), "pinwright.db"))
}

// smallMachine has one lane and channels a, b, c ….
func smallMachine(name string, channels int) *wheel.Machine {
	m := &wheel.Machine{
		Format: wheel.MachineFormat,
		Name:   name,
		Marble: wheel.Marble{DiameterMM: 12, ClearanceMM: 2},
		Wheel:  wheel.Wheel{RadiusMM: 600, Steps: 256, StepsPerBeat: 4, BeatsPerBar: 4},
		Lanes:  []wheel.Lane{{ID: "drop", Kind: wheel.Fall, LengthMM: wheel.Known(240), Keep: wheel.Known(1)}},
		Limits: wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 240, FlamMS: 20},
	}
	for i := range channels {
		id := string(rune('a' + i))
		m.Channels = append(m.Channels, wheel.Channel{
			ID: id, Name: "Bar " + id, Row: i, Kind: "bar", Keys: []int{60 + i}, Service: wheel.Playing,
			Path: []string{"drop"}, Exit: []string{},
			Trip:   wheel.Trip{ReachMM: wheel.Known(0), HoldMM: wheel.Known(0), ReturnMS: wheel.Known(0), LatchMS: wheel.Known(0)},
			Gate:   wheel.Gate{ReloadMS: wheel.Known(0)},
			Strike: wheel.Strike{ClearMS: wheel.Known(0)},
		})
	}
	return m
}

// smallPinning has its pins on channel a.
func smallPinning(title string, pins int) *wheel.Pinning {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: title, TempoBPM: 84, Pins: []wheel.Pin{}}
	for i := range pins {
		p.Pins = append(p.Pins, wheel.Pin{Channel: "a", Step: i})
	}
	return p
}

func addMachine(t testing.TB, s *Store, m *wheel.Machine) int64 {
	t.Helper()
	id, err := s.AddMachine(context.Background(), m)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func addPinning(t testing.TB, s *Store, machineID, songID int64, p *wheel.Pinning) int64 {
	t.Helper()
	id, err := s.AddPinning(context.Background(), machineID, songID, p)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// songFile is a Standard MIDI File with one note of a key.
func songFile(t testing.TB, title string, key uint8) []byte {
	t.Helper()
	var b bytes.Buffer
	err := song.Write(&b, &song.Song{
		TicksPerQuarter: 96,
		Tracks:          []song.Track{{Name: title}},
		Notes:           []song.Note{{Ticks: 96, Key: key, Velocity: 80, Channel: 1}},
		EndTick:         96,
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func addSong(t testing.TB, s *Store, name string, data []byte) Song {
	t.Helper()
	added, err := s.AddSongs(context.Background(), name, data)
	if err != nil {
		t.Fatal(err)
	}
	return added[0].Song
}

// refused fails the test unless err is a refusal of the kind, in just the
// words given.
func refused(t testing.TB, err, kind error, words string) {
	t.Helper()
	var e *wheel.Error
	if !errors.As(err, &e) || !errors.Is(err, kind) {
		t.Fatalf("error is %v (%T), want one of kind %q", err, err, kind)
	}
	if err.Error() != words {
		t.Errorf("it says\n\t%s\nwant\n\t%s", err, words)
	}
}

// pragma reads one setting of every pool of the store.
func pragma(t testing.TB, s *Store, name string) (writer, reader string) {
	t.Helper()
	for _, of := range []struct {
		value *string
		db    querier
	}{{&writer, s.writer}, {&reader, s.reader}} {
		if err := of.db.QueryRowContext(context.Background(), "PRAGMA "+name).Scan(of.value); err != nil {
			t.Fatal(err)
		}
	}
	return writer, reader
}

// checkIntegrity holds the file against SQLite's own checks.
func checkIntegrity(t testing.TB, s *Store) {
	t.Helper()
	if found, _ := pragma(t, s, "integrity_check"); found != "ok" {
		t.Errorf("integrity_check: %s", found)
	}
	rows, err := s.writer.Query("PRAGMA foreign_key_check")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	if rows.Next() {
		t.Error("foreign_key_check finds a row without the one it belongs to")
	}
}

// folder is every file in a folder by name, with its bytes and times, and the
// folder's own time, which tells of files that came and went.
func folder(t testing.TB, dir string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(dir)
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]string{".": fmt.Sprint(info.ModTime().UnixNano())}
	for _, e := range entries {
		path := filepath.Join(dir, e.Name())
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		all[e.Name()] = fmt.Sprint(info.ModTime().UnixNano(), " ", info.Mode(), " ", string(data))
	}
	return all
}
