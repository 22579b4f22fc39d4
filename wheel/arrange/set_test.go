package arrange

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/song"
)

func compileRapid(t *rapid.T, m *wheel.Machine) *timing.Works {
	w, err := timing.Compile(m)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// Worked by hand: 480 ticks per quarter and 4 steps per quarter make a step of
// 120 ticks. Tick 59 is 0.4917 steps, so step 0; tick 60 is the half, step 1;
// tick 61 is step 1; tick 180 is 1.5, step 2.
func TestHalvesOfAStepGoUp(t *testing.T) {
	m := machine(64, 4, row{id: "a", keys: []int{60}}, row{id: "b", keys: []int{61}}, row{id: "c", keys: []int{62}}, row{id: "d", keys: []int{63}})
	p, _ := set(t, m, tune(4, note(59, 60), note(60, 61), note(61, 62), note(180, 63)), Request{})
	wantHoles(t, p, "a@0", "b@1", "c@1", "d@2")
}

// Worked by hand: eighth triplets are 160 ticks apart, 4/3 of a step, so they
// stand at 0, 1.333 and 2.667 and go to 0, 1 and 3. At 120 BPM a step is
// 125 ms, so the errors are 0, −41.667 and +41.667 ms; the root of the mean
// square is 41.667 × √(2/3) = 34.021 ms.
func TestTripletsGoToTheNearestStep(t *testing.T) {
	m := machine(64, 4, row{id: "a", keys: []int{60}})
	p, r := set(t, m, tune(4, note(0, 60), note(160, 60), note(320, 60)), Request{})
	wantHoles(t, p, "a@0", "a@1", "a@3")
	if math.Abs(r.WorstErrorMS-125.0/3) > 1e-9 || math.Abs(r.RMSErrorMS-125.0/3*math.Sqrt(2.0/3)) > 1e-9 {
		t.Errorf("errors %g and %g ms, want 41.667 and 34.021", r.WorstErrorMS, r.RMSErrorMS)
	}
}

// Worked by hand: both notes lie 40 ticks, a third of a step, before theirs.
// The first is at 120 BPM, a step of 125 ms; the second after the change to
// 60 BPM, a step of 250 ms: errors of 41.667 and 83.333 ms.
func TestErrorIsMeasuredAtTheSongsTempoThere(t *testing.T) {
	m := machine(64, 4, row{id: "a", keys: []int{60}})
	s := tune(4, note(80, 60), note(1040, 60))
	s.Tempos = append(s.Tempos, song.Tempo{Tick: 960, MicrosPerQuarter: 1_000_000})
	_, r := set(t, m, s, Request{TempoBPM: 33})
	if math.Abs(r.WorstErrorMS-250.0/3) > 1e-9 {
		t.Errorf("worst error %g ms, want 83.333", r.WorstErrorMS)
	}
	if want := math.Sqrt((125.0*125 + 250*250) / 9 / 2); math.Abs(r.RMSErrorMS-want) > 1e-9 {
		t.Errorf("rms error %g ms, want %g", r.RMSErrorMS, want)
	}
}

// Worked by hand: a bar of 4/4 is 16 steps, 1920 ticks. Tick 1900 is step
// 15.83, which goes up to 16.
func TestNoteAtTheSectionsEnd(t *testing.T) {
	s := tune(2, note(1900, 60), note(1920, 60))
	for _, c := range []struct {
		name   string
		steps  int
		repeat bool
		want   []string
	}{
		{"goes on at step 0 where the section fills the turn", 16, false, []string{"a@0"}},
		{"sounds one step after a shorter section", 24, false, []string{"a@16"}},
		{"sounds as the next repetition starts", 32, true, []string{"a@0", "a@16"}},
		{"sounds after the last whole repetition", 40, true, []string{"a@16", "a@32"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, _ := set(t, machine(c.steps, 4, row{id: "a", keys: []int{60}}), s, Request{Bars: 1, Repeat: c.repeat})
			wantHoles(t, p, c.want...)
		})
	}
}

func TestSectionCountsFromItsFirstBar(t *testing.T) {
	m := machine(32, 4, row{id: "a", keys: []int{60}})
	s := tune(4, note(0, 60), note(1920, 60), note(3840+120, 60), note(5760+240, 60))
	p, r := set(t, m, s, Request{FromBar: 3})
	wantHoles(t, p, "a@1", "a@18")
	if r.Notes != 2 {
		t.Errorf("%d notes in the section, want 2", r.Notes)
	}
}

func TestShortSectionIsNotRepeatedUnasked(t *testing.T) {
	m := machine(64, 4, row{id: "a", keys: []int{60}})
	s := tune(1, note(480, 60))
	p, r := set(t, m, s, Request{})
	wantHoles(t, p, "a@4")
	p, again := set(t, m, s, Request{Repeat: true})
	wantHoles(t, p, "a@4", "a@20", "a@36", "a@52")
	if r.Notes != 1 || again.Notes != 4 || again.Placed != 4 {
		t.Errorf("%d notes once and %d, %d of them placed, four times", r.Notes, again.Notes, again.Placed)
	}
}

func TestTwoNotesInOneHoleAreMerged(t *testing.T) {
	m := machine(64, 4, row{id: "a", keys: []int{60, 72}})
	p, r := set(t, m, tune(1, note(0, 60), note(10, 60), note(0, 72), note(120, 72)), Request{})
	wantHoles(t, p, "a@0", "a@1")
	if r.Placed != 2 || r.Merged != 2 {
		t.Errorf("placed %d and merged %d, want 2 and 2", r.Placed, r.Merged)
	}
}

func TestChannelsWithOneKeyTakeTurns(t *testing.T) {
	m := machine(64, 4, row{id: "a", keys: []int{60}}, row{id: "b", keys: []int{60}}, row{id: "c", keys: []int{60}})
	p, _ := set(t, m, tune(1, note(0, 60), note(120, 60), note(240, 60), note(360, 60), note(480, 60), note(480, 60)), Request{})
	wantHoles(t, p, "a@0", "b@1", "c@2", "a@3", "b@4", "c@4")
}

// Worked by hand: at step 0 key 60 takes channel a, the first; key 62 has only
// a, so 60 changes to b. Key 64 has only b and finds no room. With a third
// channel that has 64 and 66, a chain of two changes makes room for 66. Last,
// 60 and 61 have taken d and e and both change, to f and g, for two of 65; and
// 62 and 63, which have only h, get one between them, whatever 60 could have.
func TestNotesOfAStepChangePlacesSoThatMoreAreSet(t *testing.T) {
	a, b, c := row{id: "a", keys: []int{60, 62}}, row{id: "b", keys: []int{60, 64}}, row{id: "c", keys: []int{64, 66}}
	for _, test := range []struct {
		rows   []row
		keys   []uint8
		placed int
	}{
		{[]row{a, b}, []uint8{60, 62}, 2},
		{[]row{a, b}, []uint8{60, 62, 64}, 2},
		{[]row{b, c, a}, []uint8{60, 64, 66}, 3},
		{[]row{a, b, c}, []uint8{60, 62, 64}, 3},
		{[]row{a, b, c}, []uint8{60, 62, 64, 66}, 3},
		{[]row{c, b, a}, []uint8{60, 60, 64}, 3},
		{[]row{a, b, c}, []uint8{62, 62, 62, 62}, 1},
		{[]row{{id: "d", keys: []int{60, 65}}, {id: "e", keys: []int{61, 65}}, {id: "f", keys: []int{60}}, {id: "g", keys: []int{61}}}, []uint8{60, 61, 65, 65}, 4},
		{[]row{{id: "h", keys: []int{60, 62, 63}}, {id: "i", keys: []int{60}}, {id: "j", keys: []int{60}}}, []uint8{60, 62, 63}, 2},
	} {
		var notes []song.Note
		for _, k := range test.keys {
			notes = append(notes, note(0, k))
		}
		_, r := set(t, machine(64, 4, test.rows...), tune(1, notes...), Request{})
		if r.Placed != test.placed || r.Merged != len(notes)-test.placed {
			t.Errorf("of keys %v placed %d and merged %d, want %d placed", test.keys, r.Placed, r.Merged, test.placed)
		}
	}
}

func TestRestingChannelGetsNoPins(t *testing.T) {
	m := machine(64, 4, row{id: "a", keys: []int{60}, resting: true}, row{id: "b", keys: []int{61}}, row{id: "c", keys: []int{62}, resting: true}, row{id: "d", keys: []int{62}})
	p, r := set(t, m, tune(1, note(0, 60), note(120, 61), note(240, 62), note(480, 60), note(600, 99)), Request{})
	wantHoles(t, p, "b@1", "d@2")
	want := []Change{
		{"dropped", "a", 0, 0, "Bar a is resting", ""},
		{"dropped", "a", 4, 4, "Bar a is resting", ""},
	}
	if !slices.Equal(r.Changes, want) || r.Dropped != 2 || r.OutOfRange != 1 {
		t.Errorf("dropped %d, out of range %d, changes %+v", r.Dropped, r.OutOfRange, r.Changes)
	}
}

func TestPercussionGoesToDrumsUntransposed(t *testing.T) {
	m := machine(64, 4, row{id: "bar", keys: []int{38}}, row{id: "snare", keys: []int{38}, drum: true})
	p, r := set(t, m, tune(1, percussion(0, 38), note(120, 36), note(240, 38)), Request{Transpose: Transpose{Semitones: 2}})
	wantHoles(t, p, "snare@0", "bar@1")
	if r.OutOfRange != 1 || r.Transpose != 2 {
		t.Errorf("out of range %d at %d semitones, want 1 at 2", r.OutOfRange, r.Transpose)
	}
}

func TestTransposedPastMIDIsKeysIsOutOfRange(t *testing.T) {
	m := machine(64, 4, row{id: "a", keys: []int{0, 127}})
	_, r := set(t, m, tune(1, note(0, 120), note(120, 1)), Request{Transpose: Transpose{Semitones: 8}})
	if r.OutOfRange != 2 {
		t.Errorf("out of range %d, want 2", r.OutOfRange)
	}
}

func TestAutoTransposition(t *testing.T) {
	for _, c := range []struct {
		name  string
		rows  []row
		notes []song.Note
		want  int
	}{
		{"stays where nothing is gained", []row{{id: "a", keys: []int{60}}, {id: "b", keys: []int{72}}}, []song.Note{note(0, 60), note(480, 62)}, 0},
		{"takes the smaller move", []row{{id: "a", keys: []int{57}}, {id: "b", keys: []int{62}}}, []song.Note{note(0, 60)}, 2},
		{"goes up on equal moves", []row{{id: "a", keys: []int{57}}, {id: "b", keys: []int{63}}}, []song.Note{note(0, 60)}, 3},
		{"goes down where more is placed", []row{{id: "a", keys: []int{57}}, {id: "b", keys: []int{63}}, {id: "c", keys: []int{58}}}, []song.Note{note(0, 60), note(120, 61)}, -3},
		{"covers all of MIDI's keys", []row{{id: "a", keys: []int{127}}}, []song.Note{note(0, 0)}, 127},
		{"covers them downward too", []row{{id: "a", keys: []int{0}}}, []song.Note{note(0, 127)}, -127},
		{"counts a note once where many channels have its key", []row{{id: "a", keys: []int{60}}, {id: "b", keys: []int{63}}, {id: "c", keys: []int{63}}}, []song.Note{note(0, 60)}, 0},
		{"counts merged notes once", []row{{id: "a", keys: []int{60}}, {id: "b", keys: []int{65}}, {id: "c", keys: []int{66}}},
			[]song.Note{note(0, 60), note(0, 60), note(0, 60), note(0, 61)}, 5},
		{"counts notes that meet on one channel once", []row{{id: "a", keys: []int{60, 64}}, {id: "b", keys: []int{62}}, {id: "c", keys: []int{66}}},
			[]song.Note{note(0, 60), note(0, 64)}, 2},
		{"prefers a small move to one that only seems to place more", []row{{id: "a", keys: []int{60, 64}}, {id: "b", keys: []int{71}}}, []song.Note{note(0, 70), note(0, 74)}, 1},
		{"does not count resting channels", []row{{id: "a", keys: []int{60}, resting: true}, {id: "b", keys: []int{61}}}, []song.Note{note(0, 60)}, 1},
		{"leaves percussion out", []row{{id: "a", keys: []int{60}}, {id: "b", keys: []int{40}, drum: true}}, []song.Note{percussion(0, 38), note(0, 60)}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, r := set(t, machine(64, 4, c.rows...), tune(1, c.notes...), Request{Transpose: Transpose{Auto: true}})
			if r.Transpose != c.want {
				t.Errorf("transposed by %d, want %d", r.Transpose, c.want)
			}
		})
	}
}

// Worked by hand: at 60 BPM and 4 steps a beat p is 250 ms. Channel a strikes
// 510 ms after its step, b at once: an advance of 2 leaves 10 ms. Step 1 − 2 is
// 15 of 16, whose aim, 17, is not the 1 that it should be.
func TestAdvancedPinsWrapTheSeam(t *testing.T) {
	m := machine(16, 4, row{id: "a", keys: []int{60}, latchMS: 510}, row{id: "b", keys: []int{61}})
	s := tune(1, note(120, 60), note(120, 61), note(480, 60))
	p, _ := set(t, m, s, Request{TempoBPM: 60, Advance: true})
	wantHoles(t, p, "b@1", "a@2", "a@15→1")
	if p.Advance["a"] != 2 || len(p.Advance) != 1 {
		t.Errorf("advance %v, want 2 for a alone", p.Advance)
	}
	for _, pin := range p.Pins {
		if got, want := p.Offset(pin, 16), -float64(p.Advance[pin.Channel]); got != want {
			t.Errorf("%s@%d reads back %g steps from its aim, want %g", pin.Channel, pin.Step, got, want)
		}
	}
	if p, _ := set(t, m, s, Request{TempoBPM: 60}); len(p.Advance) != 0 {
		t.Errorf("advance %v unasked", p.Advance)
	}
}

// The file is written by hand after the Standard MIDI Files 1.0 specification:
// format 0, 96 ticks per quarter, 100 BPM (600,000 µs is 09 27 C0). Worked by
// hand: at 4 steps a quarter a step is 24 ticks, so key 60 at tick 0 and
// percussion 38 at ticks 48 and 84 are steps 0, 2 and, 3.5 going up, 4.
func TestSongFileGoesOntoTheWheel(t *testing.T) {
	file := "MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60" +
		"MTrk\x00\x00\x00\x2B" +
		"\x00\xFF\x03\x04Mill" +
		"\x00\xFF\x51\x03\x09\x27\xC0" +
		"\x00\x90\x3C\x50" +
		"\x18\x80\x3C\x40" +
		"\x18\x99\x26\x50" +
		"\x0C\x89\x26\x40" +
		"\x18\x99\x26\x50" +
		"\x0C\x89\x26\x40" +
		"\x00\xFF\x2F\x00"
	songs, err := song.Parse([]byte(file), "mill.mid")
	if err != nil {
		t.Fatal(err)
	}
	p, r := set(t, machine(16, 4, row{id: "bar", keys: []int{60}}, row{id: "snare", keys: []int{38}, drum: true}), songs[0], Request{})
	wantHoles(t, p, "bar@0", "snare@2", "snare@4")
	if p.Title != "Mill" || p.Machine != "Hailstone" || p.TempoBPM != 100 || r.Placed != 3 {
		t.Errorf("title %q, machine %q, %g BPM, %d placed", p.Title, p.Machine, p.TempoBPM, r.Placed)
	}
	if math.Abs(r.WorstErrorMS-75) > 1e-9 { // half a step of 150 ms
		t.Errorf("worst error %g ms, want 75", r.WorstErrorMS)
	}
}
