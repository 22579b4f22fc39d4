package demo_test

import (
	"bytes"
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/demo"
	"pinwright/wheel/file"
	"pinwright/wheel/song"
)

// The names of percussion keys are those of General MIDI Level 1's percussion
// key map. Middle C, key 60, is C4 (common practice; MIDI leaves it open).
func TestHailstoneHasWhatItsChannelsAreCalled(t *testing.T) {
	percussion := map[int]string{
		36: "Low Drum",   // Bass Drum 1
		38: "Side Drum",  // Acoustic Snare
		75: "Claves",     // Claves
		76: "High Block", // Hi Wood Block
		77: "Low Block",  // Low Wood Block
		81: "Triangle",   // Open Triangle
	}
	pitches := []string{"C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B"}
	kinds := map[wheel.ChannelKind][]int{}
	var resting []string
	for row, ch := range demo.Machine().Channels {
		if ch.Row != row || len(ch.Keys) != 1 {
			t.Errorf("%s is in row %d with keys %v", ch.ID, ch.Row, ch.Keys)
		}
		key := ch.Keys[0]
		want := percussion[key]
		if !ch.Drum {
			want = fmt.Sprintf("%s %s%d", map[wheel.ChannelKind]string{"bar": "Bar", "tube": "Tube"}[ch.Kind], pitches[key%12], key/12-1)
		}
		if ch.Name != want {
			t.Errorf("%s is called %q, and its key %d is %q", ch.ID, ch.Name, key, want)
		}
		kinds[ch.Kind] = append(kinds[ch.Kind], key)
		if ch.Service == wheel.Resting {
			resting = append(resting, ch.ID)
			if ch.Note == "" {
				t.Errorf("%s rests and does not say why", ch.ID)
			}
		}
	}
	want := map[wheel.ChannelKind][]int{
		"bar":   {67, 68, 69, 70, 71, 72, 73, 74, 75, 76, 77, 78, 79, 80, 81, 82, 83, 84},
		"tube":  {48, 50, 53, 55},
		"block": {76, 77, 75},
		"drum":  {36, 38},
		"other": {81},
	}
	if !reflect.DeepEqual(kinds, want) {
		t.Errorf("keys by kind %v, want %v", kinds, want)
	}
	if !slices.Equal(resting, []string{"bar-cs5"}) {
		t.Errorf("resting are %v, want bar-cs5 alone", resting)
	}
}

func TestHailstoneReadsBackAsItIsWritten(t *testing.T) {
	var b bytes.Buffer
	if _, err := file.Machine(demo.Machine()).WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	again, err := file.ReadMachine(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(again, demo.Machine()) {
		t.Error("written and read again it is another machine")
	}
}

func TestEveryLaneOfHailstoneIsUsedAndMostAreShared(t *testing.T) {
	m := demo.Machine()
	users := map[string]int{}
	for i := range m.Channels {
		for _, id := range m.Channels[i].Route() {
			users[id]++
		}
	}
	shared := 0
	for _, l := range m.Lanes {
		if users[l.ID] == 0 {
			t.Errorf("no channel uses %s", l.ID)
		}
		if users[l.ID] > 1 {
			shared++
		}
	}
	if shared < len(m.Lanes)/2 {
		t.Errorf("only %d of %d lanes are shared", shared, len(m.Lanes))
	}
}

// The marbles that all gates hold when full, and those under way, are fewer
// than the stock. Under way are at most what the wheel lets go in the time
// that the lift and the longest way back take, at the highest tempo.
func TestHailstoneHasMarblesEnoughForFullGates(t *testing.T) {
	m := demo.Machine()
	full := 0
	for _, ch := range m.Channels {
		full += ch.Queue.Most
	}
	home := 0.0
	for _, ch := range compiled(t).Channels {
		home = max(home, ch.Home)
	}
	away := m.Lift.CarryMS/1000 + home
	turn := m.Wheel.StepPeriod(m.Limits.TempoMaxBPM) * float64(m.Wheel.Steps)
	under := m.Lift.PocketsPerTurn * away / turn
	if float64(full)+under > float64(m.Marble.Stock) {
		t.Errorf("%d in full gates and %.0f under way, of a stock of %d", full, under, m.Marble.Stock)
	}
}

func compiled(t testing.TB) *timing.Works {
	t.Helper()
	w, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// named parses one of the demo's songs.
func named(t testing.TB, fileName string) *song.Song {
	t.Helper()
	for _, s := range demo.Songs() {
		if s.FileName == fileName {
			songs, err := song.Parse(s.Bytes, s.FileName)
			if err != nil || len(songs) != 1 {
				t.Fatalf("%s: %d songs, %v", fileName, len(songs), err)
			}
			return songs[0]
		}
	}
	t.Fatalf("there is no %s", fileName)
	return nil
}

func set(t testing.TB, w *timing.Works, s *song.Song, advance bool) (*wheel.Pinning, *arrange.Report) {
	t.Helper()
	p, r, err := arrange.Set(t.Context(), w, s, arrange.Request{Advance: advance, Repeat: true})
	if err != nil {
		t.Fatal(err)
	}
	return p, r
}

func TestTheSongsAreSoundFilesOfTheirTempoBarsAndParts(t *testing.T) {
	for fileName, want := range map[string]struct {
		title string
		bpm   float64
		bars  int
		parts []string
	}{
		"mill-race.mid":     {"Mill Race", 84, 16, []string{"Tune", "Water", "Tubes", "Drums and blocks"}},
		"frere-jacques.mid": {"Frère Jacques", 80, 16, []string{"First voice", "Second voice", "Third voice", "Fourth voice", "Drone"}},
		"nine-knocks.mid":   {"Nine Knocks", 80, 4, []string{"Knocks", "Answers", "Tubes", "Drums"}},
	} {
		s := named(t, fileName)
		if len(s.Warnings) > 0 {
			t.Errorf("%s: %v", fileName, s.Warnings)
		}
		var parts []string
		for _, track := range s.Tracks[1:] {
			parts = append(parts, track.Name)
		}
		if s.Title != want.title || s.Tracks[0].Name != want.title || !slices.Equal(parts, want.parts) {
			t.Errorf("%s: %q has parts %q", fileName, s.Title, parts)
		}
		// A file says the tempo in whole µs per quarter note, within ½ of
		// 60e6/84 = 714 285.7: 84 × ½ ÷ 714 285.7 is 6e-5 BPM.
		if len(s.Tempos) != 1 || math.Abs(s.Tempos[0].BPM()-want.bpm) > 6e-5 {
			t.Errorf("%s: tempos %v, want %v BPM", fileName, s.Tempos, want.bpm)
		}
		if len(s.Bars) != want.bars || s.EndTick != int64(want.bars*4*480) {
			t.Errorf("%s: %d bars to tick %d, want %d", fileName, len(s.Bars), s.EndTick, want.bars)
		}
		for i, n := range s.Notes {
			if n.Tick%120 != 0 || n.Ticks%120 != 0 || n.Ticks == 0 || n.Tick+n.Ticks > s.EndTick {
				t.Errorf("%s: note %d at tick %d, %d long, is not on the wheel's steps", fileName, i, n.Tick, n.Ticks)
			}
		}
	}
}

func TestTheSongsAreTheSameBytesEveryTime(t *testing.T) {
	if first, second := demo.Songs(), demo.Songs(); !reflect.DeepEqual(first, second) {
		t.Error("two calls gave different songs")
	}
}

func TestEveryNoteFindsItsChannelButOneOnTheRestingBar(t *testing.T) {
	w := compiled(t)
	for _, of := range demo.Songs() {
		s := named(t, of.FileName)
		p, r := set(t, w, s, false)
		resting := 0
		if of.FileName == "mill-race.mid" {
			resting = 1
		}
		if r.OutOfRange != 0 || r.Dropped != resting || r.Shifted != 0 || r.WorstErrorMS != 0 {
			t.Errorf("%s: %+v", of.FileName, r)
		}
		if len(p.Pins) != r.Placed || r.Notes != r.Placed+r.Dropped+r.Merged {
			t.Errorf("%s: %d pins, %+v", of.FileName, len(p.Pins), r)
		}
		if pins := float64(len(p.Pins)); pins > demo.Machine().Lift.PocketsPerTurn {
			t.Errorf("%s: %v pins a turn are more than the lift brings back", of.FileName, pins)
		}
	}
}

// Safe and together at the song's own tempo, which advances make possible: the
// tubes' longer drop makes them late by √(2·0.7/g) − √(2·0.24/g) = 0.157 s and
// a slower latch, about one step (0.179 s at 84 BPM).
func TestTheSongsAreSafeAndTogetherAtTheirTempo(t *testing.T) {
	w := compiled(t)
	for _, of := range demo.Songs() {
		s := named(t, of.FileName)
		for _, advance := range []bool{false, true} {
			p, _ := set(t, w, s, advance)
			v, err := w.Check(p, p.TempoBPM)
			if err != nil {
				t.Fatal(err)
			}
			if !v.Safe || v.MaxSafeBPM == nil || *v.MaxSafeBPM < 100 || *v.MaxSafeBPM > 150 {
				t.Errorf("%s, advanced %v: %d findings, highest safe tempo %v", of.FileName, advance, len(v.Findings), v.MaxSafeBPM)
			}
			together := *v.FlamMS <= demo.Machine().Limits.FlamMS
			if together != advance {
				t.Errorf("%s, advanced %v: a flam of %.1f ms", of.FileName, advance, *v.FlamMS)
			}
		}
	}
}

// Worked by hand. Two knocks are one step apart, and nothing else on any
// channel is nearer than two. The gate of Bar C5 reloads in 140 ms, so a step
// has to last 140 ms: at four steps to the beat a beat lasts 560 ms, and
// 60 s ÷ 0.56 s = 107.142857… beats a minute. What comes next is:
//
//	tubes and drums in the drain, where tubes are set early by a step: the
//	tube's pin touches at 4.5 mm ÷ 14.726 mm = 0.3056 steps less 1, the drum's
//	at 3.5 mm, 0.2377, so the tube leads by 0.9321 steps. It then takes
//	28 + 377.8 + 75 = 480.8 ms to the drain and the drum 18 + 221.2 + 165 =
//	404.2 ms. The marbles enter at 0.56 m/s and gather 1.2513 m/s², so 14 mm
//	take 24.3 ms, and 0.9321 p − 76.6 ms ≥ 24.3 ms holds to p = 108.3 ms,
//	138.5 BPM;
//	the lever: (1 − 6 mm ÷ 14.726 mm) p ≥ 60 ms, p = 101.25 ms, 148.1 BPM;
//	the chute: marbles 14 mm apart, 95.2 ms, 157.6 BPM;
//	the plate: 90 ms, 166.7 BPM;
//	knocks two steps apart: 2 p ≥ 140 ms, 214.3 BPM, above the machine's range.
func TestNineKnocksIsLimitedByTheReloadOfOneGate(t *testing.T) {
	w := compiled(t)
	s := named(t, "nine-knocks.mid")
	knocks := 0
	for _, n := range s.Notes {
		if n.Key == 72 {
			knocks++
		}
	}
	if knocks != 9 {
		t.Errorf("%d knocks", knocks)
	}
	p, _ := set(t, w, s, true)
	v, err := w.Check(p, p.TempoBPM)
	if err != nil {
		t.Fatal(err)
	}
	if len(v.Bands) != 1 || v.MaxSafeBPM == nil || math.Abs(*v.MaxSafeBPM-60/(4*0.140)) > 1e-9 {
		t.Fatalf("highest safe tempo %v, bands %v", v.MaxSafeBPM, v.Bands)
	}
	id := func(channel int) string { return w.Machine.Channels[channel].ID }
	if by := v.Bands[0].StoppedBy; by == nil || by.Kind != timing.Unready || id(by.Channel) != "bar-c5" {
		t.Errorf("stopped by %v", by)
	}
	want := []struct {
		kind    timing.Kind
		channel string
		bpm     float64
	}{
		{timing.Unready, "bar-c5", 107.142857},
		{timing.Meeting, "tube-c3", 138.5},
		{timing.Meeting, "tube-f3", 138.5},
		{timing.Crowded, "bar-c5", 148.1},
		{timing.Meeting, "bar-c5", 157.6},
		{timing.Unclear, "bar-c5", 166.7},
	}
	for i, l := range v.Limits {
		if i >= len(want) || l.Kind != want[i].kind || id(l.Channel) != want[i].channel || math.Abs(l.BPM-want[i].bpm) > 0.05 {
			t.Errorf("limit %d is %v at %v BPM", i, w.Label(l.Cause), l.BPM)
		}
	}
	if len(v.Limits) != len(want) {
		t.Errorf("%d limits, want %d", len(v.Limits), len(want))
	}
}
