package store

import (
	"context"
	"database/sql"
	"io/fs"
	"math"
	"math/rand/v2"
	"path/filepath"
	"reflect"
	"testing"

	"github.com/pressly/goose/v3"

	"pinwright/wheel"
)

// older is a database as an earlier version left it.
func older(t *testing.T, version int64) (db *sql.DB, path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "pinwright.db")
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
	if _, err := p.UpTo(context.Background(), version); err != nil {
		t.Fatal(err)
	}
	return db, path
}

// A database as the first version left it is brought up to date with all that
// is in it.
func TestADatabaseOfTheFirstVersionIsBroughtUpToDate(t *testing.T) {
	ctx := context.Background()
	db, path := older(t, 1)
	m := smallMachine("Old", 2)
	text, err := machineText(m)
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

// Up to the second version the pins stood in the text of their pinning.
func TestPinningsOfTheSecondVersionKeepEveryPinToTheLastDigit(t *testing.T) {
	ctx := context.Background()
	db, path := older(t, 2)
	m := smallMachine("Old", 3)
	m.Channels[0].ID = `ba<r"\é日`
	machineText, err := machineText(m)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`INSERT INTO machines (file, added_us, changed_us) VALUES (?, 5, 5)`, machineText); err != nil {
		t.Fatal(err)
	}
	full := &wheel.Pinning{
		Format: wheel.PinningFormat, Title: "Mill <Race> \"é\u2028", TempoBPM: 83.33333333333333,
		Advance: map[string]int{m.Channels[0].ID: 2, "b": -1},
	}
	rng := rand.New(rand.NewPCG(5, 6))
	for step := range 256 {
		for _, c := range m.Channels {
			pin := wheel.Pin{Channel: c.ID, Step: step}
			switch rng.IntN(3) {
			case 0: // no aim
			case 1:
				pin.Aim = wheel.AimAt(rng.NormFloat64() * 256)
			case 2: // numbers that are hard to write and to read
				pin.Aim = wheel.AimAt([]float64{0, math.Copysign(0, -1), 5e-324, 1e-7, 0.1, 1.0 / 3, 262143.99999999997, 9007199254740993e-12}[rng.IntN(8)])
			}
			full.Pins = append(full.Pins, pin)
		}
	}
	shuffled := full.Clone()
	rng.Shuffle(len(shuffled.Pins), func(i, j int) { shuffled.Pins[i], shuffled.Pins[j] = shuffled.Pins[j], shuffled.Pins[i] })
	empty := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Nothing yet", Pins: []wheel.Pin{}}
	for i, p := range []*wheel.Pinning{shuffled, empty, empty} {
		text, err := pinningText(p)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec(`INSERT INTO pinnings (machine_id, file, revision, added_us, changed_us) VALUES (1, ?, ?, 6, 7)`, text, 8+i); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := db.Exec(`DELETE FROM pinnings WHERE id = 3`); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}

	s := openAt(t, path)
	got, err := s.Pinning(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	full.Machine = "Old"
	full.Sort()
	if !reflect.DeepEqual(got.File, full) {
		t.Errorf("it was\n%+v\nand is now\n%+v", full, got.File)
	}
	for i, pin := range got.File.Pins { // DeepEqual takes 0 and −0 for the same
		if math.Float64bits(pin.Aim.Step) != math.Float64bits(full.Pins[i].Aim.Step) {
			t.Errorf("pin %v aims at %v, want %v", pin, pin.Aim.Step, full.Pins[i].Aim.Step)
		}
	}
	want := PinningRow{ID: 1, MachineID: 1, Title: full.Title, TempoBPM: full.TempoBPM, Pins: len(full.Pins), Revision: 8, Added: timeOf(6), Changed: timeOf(7)}
	if got.PinningRow != want {
		t.Errorf("listed as %+v, want %+v", got.PinningRow, want)
	}
	if p, err := s.Pinning(ctx, 2); err != nil || p.Pins != 0 || p.Title != "Nothing yet" {
		t.Errorf("the empty one is %+v (%v)", p, err)
	}
	send(t, s, 1, anEdit("x1", 0, wheel.Pull(full.Pins[0]), wheel.Pull(full.Pins[700])))
	if _, err := s.Undo(ctx, 1, 0, "u1", ""); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Pinning(ctx, 1); err != nil || !reflect.DeepEqual(got.File, full) {
		t.Errorf("an edit and back it is another (%v)", err)
	}
	if id := addPinning(t, s, 1, 0, empty); id != 4 {
		t.Errorf("a new pinning has the id %d, want 4: the id of a removed one is not given again", id)
	}
	checkIntegrity(t, s)
}

// The third version knew nothing of the wheel.
func TestADatabaseOfTheThirdVersionLearnsOfTheWheel(t *testing.T) {
	ctx := context.Background()
	db, path := older(t, 3)
	text, err := machineText(smallMachine("Old", 2))
	must(t, err)
	head, err := headText(pinsAt("Kept"))
	must(t, err)
	for _, do := range []struct {
		query string
		args  []any
	}{
		{`INSERT INTO machines (file, added_us, changed_us) VALUES (?, 5, 5)`, []any{text}},
		{`INSERT INTO pinnings (machine_id, head, pins, added_us, changed_us) VALUES (1, ?, 2, 6, 7)`, []any{head}},
		{`INSERT INTO holes (pinning_id, step, channel, pinned, aim, seq) VALUES (1, 3, 'a', 1, '4.5', 0), (1, 7, 'b', 1, NULL, 0), (1, 8, 'b', 0, NULL, 0)`, nil},
	} {
		if _, err := db.Exec(do.query, do.args...); err != nil {
			t.Fatal(err)
		}
	}
	must(t, db.Close())
	s := openAt(t, path)
	w := workshop{s: s, machine: 1}
	if on := w.on(t); on.Known {
		t.Errorf("the wheel is known as %+v", on)
	}
	p, err := s.Pinning(ctx, 1)
	if err != nil || len(p.File.Pins) != 2 || p.File.Pins[0].Aim != wheel.AimAt(4.5) {
		t.Fatalf("the pinning is %+v (%v)", p, err)
	}
	must(t, s.SayOnWheel(ctx, 1, 1))
	w.carries(t, "a3", "b7")
	checkIntegrity(t, s)
}

// The fifth version took figures that a file leaves out for 0. They are unknown
// now, and what was changed before is still told.
func TestFiguresThatWereLeftOutAreUnknownSinceTheSixthVersion(t *testing.T) {
	ctx := context.Background()
	db, path := older(t, 5)
	const text = `{"format":"pinwright-machine/1","name":"Old","marble":{"diameter_mm":12,"clearance_mm":2},
		"wheel":{"radius_mm":600,"steps":256,"steps_per_beat":4,"beats_per_bar":4},
		"lanes":[{"id":"drop","kind":"fall","length_mm":240},{"id":"chute","kind":"ramp","length_mm":300,"slope_deg":9,"keep":0.5}],
		"channels":[{"id":"a","name":"Bar a","row":0,"kind":"bar","keys":[60],"service":"playing",
			"trip":{"reach_mm":3,"hold_mm":6,"return_ms":60},"gate":{"reload_ms":150},"path":["drop"],"strike":{},"exit":["chute"]}],
		"limits":{"tempo_min_bpm":30,"tempo_max_bpm":180,"flam_ms":20}}`
	for _, do := range []string{
		`INSERT INTO machines (file, added_us, changed_us) VALUES ('` + text + `', 5, 5)`,
		`INSERT INTO machine_changes (machine_id, at_us, reason) VALUES (1, 7000000, 'New spring')`,
		`INSERT INTO changed_figures (change_id, path, from_value, to_value) VALUES (1, 'channels.a.gate.reload_ms', 0, 150)`,
	} {
		if _, err := db.Exec(do); err != nil {
			t.Fatal(err)
		}
	}
	must(t, db.Close())
	s := openAt(t, path)
	m, err := s.Machine(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"channels.a.trip.latch_ms", "channels.a.strike.clear_ms", "channels.a.exit_mm_s"}
	if got := m.File.Unknown(wheel.AllChannels); !reflect.DeepEqual(got, want) {
		t.Errorf("unknown are %v, want %v", got, want)
	}
	changes, err := s.MachineChanges(ctx, 1)
	was := wheel.ChangedFigure{Path: "channels.a.gate.reload_ms", From: wheel.Known(0), To: wheel.Known(150)}
	if err != nil || len(changes) != 1 || changes[0].Reason != "New spring" || changes[0].At.Unix() != 7 || len(changes[0].Figures) != 1 || changes[0].Figures[0] != was || changes[0].Texts != nil {
		t.Errorf("changes are %+v, %v", changes, err)
	}
	must(t, s.ChangeMachine(ctx, 1, 1, "It is quick", []wheel.Set{{Path: "channels.a.trip.latch_ms", Value: 0}}))
	changes, err = s.MachineChanges(ctx, 1)
	if now := (wheel.ChangedFigure{Path: "channels.a.trip.latch_ms", To: wheel.Known(0)}); err != nil || len(changes) != 2 || changes[0].Figures[0] != now {
		t.Errorf("changes are %+v, %v", changes, err)
	}
	checkIntegrity(t, s)
}
