package arrange

import (
	"cmp"
	"fmt"
	"slices"
	"testing"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/file/filetest"
	"pinwright/wheel/song"
)

// row is a channel of a test machine.
type row struct {
	id       string
	keys     []int
	drum     bool
	resting  bool
	reachMM  float64
	latchMS  float64
	reloadMS float64
}

// machine is a machine with a wheel of 1 mm arc a step whose marbles strike as
// they are let go. The tempo to keep below is the bare limit.
func machine(steps, stepsPerBeat int, rows ...row) *wheel.Machine {
	m := &wheel.Machine{
		Format: wheel.MachineFormat,
		Name:   "Hailstone",
		Marble: wheel.Marble{DiameterMM: 12, ClearanceMM: 2},
		Wheel: wheel.Wheel{
			RadiusMM: float64(steps) / (2 * 3.141592653589793), Steps: steps,
			StepsPerBeat: stepsPerBeat, BeatsPerBar: 4,
		},
		Limits: wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180, FlamMS: 20},
	}
	for i, r := range rows {
		c := wheel.Channel{
			ID: r.id, Name: "Bar " + r.id, Row: i, Kind: "bar", Keys: r.keys, Drum: r.drum, Service: wheel.Playing,
			Trip: wheel.Trip{ReachMM: wheel.Known(r.reachMM), LatchMS: wheel.Known(r.latchMS)}, Gate: wheel.Gate{ReloadMS: wheel.Known(r.reloadMS)},
		}
		if r.resting {
			c.Service = wheel.Resting
		}
		m.Channels = append(m.Channels, c)
	}
	return bare(filetest.Complete(m))
}

// bare is a machine whose house puts up with any number of faults, so that the
// tempo to keep below is the bare limit. It changes the machine and returns it.
func bare(m *wheel.Machine) *wheel.Machine {
	m.Limits.SpoiltPerTurn, m.Limits.JamsPerTurn = wheel.Known(1e6), wheel.Known(1e6)
	return m
}

func compile(t testing.TB, m *wheel.Machine) *timing.Works {
	t.Helper()
	w, err := timing.Compile(m)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// bars is so many bars of one meter, from the tick where others end.
func bars(before []song.Bar, n, numerator, denominator int, ticksPerQuarter int64) []song.Bar {
	tick := int64(0)
	if len(before) > 0 {
		last := before[len(before)-1]
		tick = last.Tick + last.Ticks
	}
	for range n {
		ticks := ticksPerQuarter * 4 * int64(numerator) / int64(denominator)
		before = append(before, song.Bar{Tick: tick, Ticks: ticks, Numerator: numerator, Denominator: denominator})
		tick += ticks
	}
	return before
}

// tune is a song of 4/4 bars at 120 BPM, 480 ticks per quarter note.
func tune(nBars int, notes ...song.Note) *song.Song {
	s := &song.Song{
		Title: "Mill Race", TicksPerQuarter: 480,
		Tempos: []song.Tempo{{MicrosPerQuarter: 500_000}},
		Bars:   bars(nil, nBars, 4, 4, 480),
		Tracks: []song.Track{{}},
		Notes:  notes,
	}
	slices.SortStableFunc(s.Notes, func(a, b song.Note) int { return cmp.Compare(a.Tick, b.Tick) })
	return s
}

func note(tick int64, key uint8) song.Note {
	return song.Note{Tick: tick, Ticks: 60, Key: key, Velocity: 80, Channel: 1}
}

func percussion(tick int64, key uint8) song.Note {
	n := note(tick, key)
	n.Channel = 10
	return n
}

// set sets a song and fails the test where that cannot be done.
func set(t testing.TB, m *wheel.Machine, s *song.Song, r Request) (*wheel.Pinning, *Report) {
	t.Helper()
	p, report, err := Set(t.Context(), compile(t, m), s, r)
	if err != nil {
		t.Fatal(err)
	}
	return p, report
}

// holes writes pins as channel@step, with →aim where one is given.
func holes(p *wheel.Pinning) []string {
	var list []string
	for _, pin := range p.Pins {
		text := fmt.Sprintf("%s@%d", pin.Channel, pin.Step)
		if pin.Aim.Given {
			text += fmt.Sprintf("→%g", pin.Aim.Step)
		}
		list = append(list, text)
	}
	return list
}

func wantHoles(t *testing.T, p *wheel.Pinning, want ...string) {
	t.Helper()
	if got := holes(p); !slices.Equal(got, want) {
		t.Errorf("pins %v, want %v", got, want)
	}
}
