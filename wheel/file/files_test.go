package file_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/file/filetest"
)

// drawn is what a file of any kind can have, from the ends of its range too.
func drawn(t *rapid.T, least, most float64) float64 {
	return rapid.OneOf(rapid.Float64Range(least, most), rapid.SampledFrom([]float64{least, most}),
		rapid.Map(rapid.IntRange(int(least), int(most)), func(n int) float64 { return float64(n) })).Draw(t, "number")
}

// drawnMaybe is a number or none.
func drawnMaybe(t *rapid.T, from, to float64) wheel.Maybe {
	if rapid.Bool().Draw(t, "left out") {
		return wheel.Maybe{}
	}
	return wheel.Known(drawn(t, from, to))
}

func drawnText(t *rapid.T, least int) string {
	return rapid.StringOfN(rapid.OneOf(rapid.RuneFrom([]rune("azAZ09 .,<>&\"'\\/é♯−𝄞\u2028")), rapid.RuneFrom([]rune("ab"))), least, 30, -1).
		Filter(func(s string) bool { return least == 0 || strings.TrimSpace(s) != "" }).Draw(t, "text")
}

func drawnCount(t *rapid.T, least, most int) int { return rapid.IntRange(least, most).Draw(t, "count") }

// someOf is a few of some words, none twice; nil where it is none.
func someOf(t *rapid.T, words []string) []string {
	var some []string
	for _, w := range words {
		if rapid.Bool().Draw(t, "this one") {
			some = append(some, w)
		}
	}
	return some
}

func drawnMachine(t *rapid.T) *wheel.Machine {
	m := &wheel.Machine{
		Format: wheel.MachineFormat,
		Name:   drawnText(t, 1),
		Note:   drawnText(t, 0),
		Marble: wheel.Marble{DiameterMM: drawn(t, 1, 1e6), ClearanceMM: drawn(t, 0, 1e6), DensityKgM3: drawn(t, 0, 1e5), Stock: drawnCount(t, 0, 1e8)},
		Wheel: wheel.Wheel{RadiusMM: drawn(t, 1, 1e6), SurfaceRadiusMM: drawn(t, 0, 1e6), Steps: drawnCount(t, 1, wheel.MaxSteps),
			StepsPerBeat: drawnCount(t, 1, 96), BeatsPerBar: drawnCount(t, 1, 64), FirstRowMM: drawn(t, 0, 1e6), RowPitchMM: drawn(t, 0, 1e6),
			PinDiameterMM: drawn(t, 0, 1e6), PinStock: drawnCount(t, 0, 1e8), CrankTurns: drawn(t, 0, 1e4)},
		Lift: rapid.SampledFrom([]wheel.Lift{{}, {Drive: "wheel", PocketsPerTurn: 480, Share: "cascade"}, {Drive: "motor", MarblesPerS: 0.3, CarryMS: 6e5}}).Draw(t, "lift"),
		Limits: wheel.Limits{TempoMinBPM: drawn(t, 1, 100), TempoMaxBPM: drawn(t, 101, wheel.MaxTempoBPM), FlamMS: drawn(t, 0, 600000),
			TripsAtOnce: drawnCount(t, 0, 1e6), Wander: drawnMaybe(t, 0, 0.5)},
	}
	var ids []string
	for i := range drawnCount(t, 0, 5) {
		id := fmt.Sprintf("lane-%d", i)
		ids = append(ids, id)
		m.Lanes = append(m.Lanes, wheel.Lane{ID: id, Kind: rapid.SampledFrom([]wheel.LaneKind{wheel.Fall, wheel.Ramp}).Draw(t, "kind"),
			LengthMM: drawnMaybe(t, 1, 1e6), SlopeDeg: drawnMaybe(t, -90, 90), RailGapMM: m.Marble.DiameterMM * drawn(t, 0, 0.999),
			Rolling: drawn(t, 0, 1), Keep: drawnMaybe(t, 0, 1), Note: drawnText(t, 0)})
	}
	for i := range drawnCount(t, 1, 5) {
		route := someOf(t, ids)
		split := drawnCount(t, 0, len(route))
		c := wheel.Channel{ID: fmt.Sprintf("♯channel-%d", i), Name: drawnText(t, 1), Row: 7 * i, Kind: rapid.SampledFrom(wheel.ChannelKinds).Draw(t, "kind"),
			Drum: rapid.Bool().Draw(t, "drum"), Service: rapid.SampledFrom([]wheel.Service{wheel.Playing, wheel.Resting}).Draw(t, "service"),
			Trip:   wheel.Trip{ReachMM: drawnMaybe(t, 0, 1e6), HoldMM: drawnMaybe(t, 0, 1e6), ReturnMS: drawnMaybe(t, 0, 6e5), LatchMS: drawnMaybe(t, 0, 6e5), JitterMS: drawnMaybe(t, 0, 6e5)},
			Gate:   wheel.Gate{ReloadMS: drawnMaybe(t, 0, 6e5), ReloadSDMS: drawnMaybe(t, 0, 6e5), FeedSlopeDeg: drawnMaybe(t, 0, 90), Rolling: drawn(t, 0, 1), ReleaseMMS: drawn(t, 0, 1e6)},
			Strike: wheel.Strike{ClearMS: drawnMaybe(t, 0, 6e5), Restitution: drawnMaybe(t, 0, 1)}, ExitMMS: drawnMaybe(t, 0, 1e6), Note: drawnText(t, 0)}
		c.Path = append(c.Path, route[:split]...)
		c.Exit = append(c.Exit, route[split:]...)
		c.Queue.Holds, c.Queue.Least = drawnCount(t, 0, 1e6), drawnCount(t, 0, 1e6)
		c.Queue.Most = drawnCount(t, c.Queue.Least, 1e6)
		for key := range drawnCount(t, 0, 3) {
			c.Keys = append(c.Keys, 127-key)
		}
		m.Channels = append(m.Channels, c)
	}
	return m
}

func drawnPinning(t *rapid.T) *wheel.Pinning {
	p := &wheel.Pinning{
		Format:   wheel.PinningFormat,
		Title:    drawnText(t, 1),
		Machine:  drawnText(t, 0),
		TempoBPM: rapid.OneOf(rapid.Just(0.), rapid.Float64Range(1, wheel.MaxTempoBPM)).Draw(t, "tempo"),
		// 0 is left out.
		StepsPerBeat: wheel.Count(drawnCount(t, 0, wheel.MaxStepsPerBeat)),
		BeatsPerBar:  wheel.Count(drawnCount(t, 0, wheel.MaxBeatsPerBar)),
	}
	if rapid.Bool().Draw(t, "advances") {
		p.Advance = map[string]int{"a": drawnCount(t, -wheel.MaxSteps, wheel.MaxSteps), "b<&>": drawnCount(t, -3, 3)}
	}
	type hole struct {
		channel string
		step    int
	}
	holes := rapid.SliceOfNDistinct(rapid.Custom(func(t *rapid.T) hole {
		return hole{rapid.SampledFrom([]string{"a", "b<&>", "bar-c♯5", "a long id of \"odd\" characters"}).Draw(t, "channel"), drawnCount(t, 0, 300)}
	}), 0, 20, rapid.ID[hole]).Draw(t, "holes")
	for _, h := range holes {
		pin := wheel.Pin{Channel: h.channel, Step: h.step}
		if rapid.Bool().Draw(t, "aimed") {
			pin.Aim = wheel.AimAt(drawn(t, -1000, 1000))
		}
		p.Pins = append(p.Pins, pin)
	}
	return p
}

// What a machine or a pinning is survives being written, by WriteTo or by
// encoding/json as part of something else, and read.
func TestMachineThatIsWrittenIsReadBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { survives(t, drawnMachine(t), file.Machine, file.ReadMachine) })
}

func TestPinningThatIsWrittenIsReadBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { survives(t, drawnPinning(t), file.Pinning, file.ReadPinning) })
}

func survives[T any](t *rapid.T, value *T, write func(*T) io.WriterTo, read func([]byte) (*T, error)) {
	part, err := json.Marshal(value)
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range [][]byte{filetest.Written(t, write(value)), part} {
		again, err := read(text)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if !reflect.DeepEqual(again, value) {
			t.Fatalf("came back as\n\t%+v\nwas\n\t%+v\n%s", again, value, text)
		}
	}
}

func TestExampleFilesSurviveBeingWritten(t *testing.T) {
	for _, name := range []string{filetest.MachineFile, "every-key.json"} {
		m, err := file.ReadMachine([]byte(filetest.Example(t, name)))
		if err != nil {
			t.Fatal(err)
		}
		again, err := file.ReadMachine(filetest.Written(t, file.Machine(m)))
		if err != nil || !reflect.DeepEqual(again, m) {
			t.Errorf("%s came back, with error %v, as\n\t%+v\nwas\n\t%+v", name, err, again, m)
		}
	}
}

// One pin a line, and text as it stands.
func TestPinningFileIsForPeople(t *testing.T) {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Mill & Race", Machine: "Hailstone", TempoBPM: 84,
		Advance: map[string]int{"bar-e5": 1, "bar-c5": 2},
		Pins:    []wheel.Pin{{Channel: "bar-c5", Step: 14, Aim: wheel.AimAt(16)}, {Channel: "bar-c5", Step: 20}}}
	const want = `{
  "format": "pinwright-pinning/1",
  "title": "Mill & Race",
  "machine": "Hailstone",
  "tempo_bpm": 84,
  "advance": {
    "bar-c5": 2,
    "bar-e5": 1
  },
  "pins": [
    {"channel":"bar-c5","step":14,"aim":16},
    {"channel":"bar-c5","step":20}
  ]
}
`
	if got := string(filetest.Written(t, file.Pinning(p))); got != want {
		t.Errorf("written\n%s\nwant\n%s", got, want)
	}
}

func TestListsWithoutEntriesAreWrittenAsLists(t *testing.T) {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Silence"}
	m := &wheel.Machine{Channels: []wheel.Channel{{}}}
	for _, c := range []struct {
		file any
		want []string
	}{
		{p, []string{`"pins":[]`}},
		{*p, []string{`"pins":[]`}},
		{m, []string{`"lanes":[]`, `"keys":[]`, `"path":[]`, `"exit":[]`}},
		{*m, []string{`"lanes":[]`, `"keys":[]`, `"path":[]`, `"exit":[]`}},
		{wheel.Machine{}, []string{`"channels":[]`}},
	} {
		text, err := json.Marshal(c.file)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range c.want {
			if !bytes.Contains(text, []byte(want)) {
				t.Errorf("%T is written %s, want %s in it", c.file, text, want)
			}
		}
	}
}

type brokenDisk struct{ writes int }

var errDisk = errors.New("no room")

func (d *brokenDisk) Write(b []byte) (int, error) {
	d.writes++
	return len(b) / 2, errDisk
}

func TestFailureToWriteIsToldWithHowMuchWasWritten(t *testing.T) {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Mill Race"}
	whole := len(filetest.Written(t, file.Pinning(p)))
	if n, err := file.Pinning(p).WriteTo(&brokenDisk{}); !errors.Is(err, errDisk) || n != int64(whole/2) {
		t.Errorf("%d bytes with error %v, want %d and %v", n, err, whole/2, errDisk)
	}
}

// A file that would not be read back is not begun.
func TestFileThatCouldNotBeReadIsNotWritten(t *testing.T) {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "x", Pins: make([]wheel.Pin, 9000)}
	for i := range p.Pins {
		p.Pins[i] = wheel.Pin{Channel: strings.Repeat("x", 1000), Step: i}
	}
	var disk brokenDisk
	_, err := file.Pinning(p).WriteTo(&disk)
	if want := "the file would be larger than 8 MiB, and larger ones are not read"; err == nil || err.Error() != want {
		t.Errorf("error is %v, want %s", err, want)
	}
	if disk.writes > 0 {
		t.Error("it was begun")
	}
}
