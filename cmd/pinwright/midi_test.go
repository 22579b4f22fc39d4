package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"pinwright/wheel/song"
)

// midiArgs are the flags that midi cannot do without, for the files of testdata.
func (f folder) midiArgs(out string, flags ...string) []string {
	return append([]string{"midi", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json"), "-out", f.file(out)}, flags...)
}

// sounds lists the notes of a file as key@milliseconds.
func (f folder) sounds(name string) []string {
	f.t.Helper()
	songs, err := song.ReadFile(f.file(name))
	if err != nil {
		f.t.Fatal(err)
	}
	var list []string
	for _, n := range songs[0].Notes {
		ms := 1000 * songs[0].SecondsAt(float64(n.Tick))
		list = append(list, fmt.Sprintf("%d@%.0f", n.Key, math.Round(ms)))
	}
	return list
}

// The pins' notes are at steps 16, 17 and 40. At 120 BPM a step takes 125 ms, a
// turn of 256 steps 32 s (worked by hand).
func TestMidiWritesThePinningAsWritten(t *testing.T) {
	f := newFolder(t)
	r := call(f.midiArgs("out.mid", "-tempo", "120", "-json")...)
	if r.status != done || r.err != "" {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	want := map[string]any{"machine": "Hailstone", "pinning": "Mill Race", "tempo_bpm": 120.0, "as_played": false,
		"turns": 1.0, "strikes": 3.0, "missed": []any{}, "seconds": 32.0}
	if got := object(t, r.out); !reflect.DeepEqual(got, want) {
		t.Errorf("said %v, want %v", got, want)
	}
	if got, want := f.sounds("out.mid"), []string{"72@2000", "72@2125", "76@5000"}; !slices.Equal(got, want) {
		t.Errorf("it sounds %v, want %v", got, want)
	}
}

// The levers let go where they are touched, 18 and 43 ms after. The pins of
// bar-c5 stand 2 steps, 250 ms, early, so its strikes are 232 ms early; its gate
// takes 140 ms, and so misses the second pin, 125 ms on. That of bar-e5 is 43 ms
// late (worked by hand). A second turn is 32 s later.
func TestMidiWritesThePinningAsPlayedWithoutWhatIsMissed(t *testing.T) {
	f := newFolder(t)
	r := call(f.midiArgs("out.mid", "-tempo", "120", "-as-played", "-turns", "2", "-json")...)
	if r.status != findings || r.err != "" {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	want := map[string]any{"machine": "Hailstone", "pinning": "Mill Race", "tempo_bpm": 120.0, "as_played": true,
		"turns": 2.0, "strikes": 4.0, "seconds": 64.0,
		"missed": []any{map[string]any{"channel": "bar-c5", "step": 15.0, "why": "unready"}}}
	if got := object(t, r.out); !reflect.DeepEqual(got, want) {
		t.Errorf("said %v, want %v", got, want)
	}
	if got, want := f.sounds("out.mid"), []string{"72@1768", "76@5043", "72@33768", "76@37043"}; !slices.Equal(got, want) {
		t.Errorf("it sounds %v, want %v", got, want)
	}
}

func TestMidiSaysForPeopleWhatIsMissed(t *testing.T) {
	f := newFolder(t)
	r := call(f.midiArgs("out.mid", "-tempo", "120", "-as-played")...)
	want := "Mill Race on Hailstone, as played at 120 BPM, written to " + f.file("out.mid") + `

Strikes: 2 in 1 turn, 32 s

Missed in a turn: 1 drop
  Bar C5, bar 1 beat 4 +3/4: the gate has not reloaded
`
	if r.status != findings || r.err != "" || r.out != want {
		t.Errorf("status %d, errors %q, said\n%s\nwant\n%s", r.status, r.err, r.out, want)
	}
	// At the pinning's 84 BPM a step takes 178.6 ms.
	r = call(f.midiArgs("again.mid", "-as-played")...)
	want = "Mill Race on Hailstone, as played at 84 BPM, written to " + f.file("again.mid") + "\n\nStrikes: 3 in 1 turn, 45.7 s\n"
	if r.status != done || r.err != "" || r.out != want {
		t.Errorf("status %d, errors %q, said\n%s\nwant\n%s", r.status, r.err, r.out, want)
	}
}

func TestMidiRefusesBadUsageAndInput(t *testing.T) {
	const more = " (see pinwright midi -h)"
	f := newFolder(t)
	for _, c := range []struct {
		flags []string
		want  string
	}{
		{[]string{"-tempo", "0"}, `pinwright midi: -tempo is "0"; a tempo is a number from 1 to 1000 BPM` + more},
		{[]string{"-tempo", "NaN"}, `pinwright midi: -tempo is "NaN"; a tempo is a number from 1 to 1000 BPM` + more},
		{[]string{"-tempo", "2"}, f.file("pinning.json") + ": the tempo is 2 BPM; it should be 3.58, the slowest that a MIDI file can say, to 1000 BPM"},
		{[]string{"-turns", "0"}, `pinwright midi: -turns is "0"; a number of turns is a whole number from 1 up` + more},
		{[]string{"-turns", "-2"}, `pinwright midi: -turns is "-2"; a number of turns is a whole number from 1 up` + more},
		{[]string{"-turns", "101"}, f.file("pinning.json") + ": the number of turns is 101; it should be 1 to 100"},
		{[]string{"-as-plaid"}, "pinwright midi: there is no flag -as-plaid; did you mean -as-played?" + more},
	} {
		call(f.midiArgs("out.mid", c.flags...)...).refuses(t, c.want)
	}
	call("midi").refuses(t, "pinwright midi: -machine is missing; name the machine FILE"+more)
	call("midi", "-machine", "m").refuses(t, "pinwright midi: -pinning is missing; name the pinning FILE"+more)
	call("midi", "-machine", "m", "-pinning", "p").refuses(t, "pinwright midi: -out is missing; name the Standard MIDI FILE to write"+more)

	on := func(machine, pinning string) told {
		return call("midi", "-machine", machine, "-pinning", pinning, "-out", f.file("out.mid"))
	}
	unknown := f.edited("pinning.json", `{"channel": "bar-e5", "step": 40}`, `{"channel": "gong", "step": 40}`)
	on(f.file("machine.json"), unknown).refuses(t, unknown+`: pins[2].channel is "gong", and Hailstone has no such channel`)
	timeless := f.edited("pinning.json", `, "tempo_bpm": 84`, ``)
	on(f.file("machine.json"), timeless).refuses(t, "pinwright midi: "+timeless+" has no tempo_bpm; give a tempo with -tempo"+more)
	on(f.file("none.json"), f.file("nothing.json")).refuses(t,
		f.file("none.json")+": no such file or directory",
		f.file("nothing.json")+": no such file or directory")
	if _, err := os.Stat(f.file("out.mid")); err == nil {
		t.Error("a file was written")
	}
}

func TestMidiReplacesNoFileUnlessForced(t *testing.T) {
	f := newFolder(t)
	kept := f.song("kept.mid", tune())
	before := f.read("kept.mid")
	call(f.midiArgs("kept.mid")...).refuses(t, kept+": it is there already; name another, or replace it with -force")
	call(f.midiArgs("pinning.json", "-force")...).refuses(t, f.file("pinning.json")+": it is the same file as "+f.file("pinning.json")+", which would be lost; name another")
	call(f.midiArgs("machine.json")...).refuses(t, f.file("machine.json")+": it is the same file as "+f.file("machine.json")+", which would be lost; name another")
	call(f.midiArgs("no/folder/out.mid")...).refuses(t, f.file("no/folder/out.mid")+": there is no folder "+f.file("no/folder")+" to write it in")
	if f.read("kept.mid") != before {
		t.Error("the song is gone")
	}
	f.write("empty.mid", "")
	for _, args := range [][]string{f.midiArgs("kept.mid", "-force"), f.midiArgs("empty.mid")} {
		if r := call(args...); r.status != done || r.err != "" {
			t.Errorf("%q: status %d, errors %q", args, r.status, r.err)
		}
	}
	if got := f.sounds("kept.mid"); len(got) != 3 {
		t.Errorf("it sounds %v", got)
	}
	if left, _ := filepath.Glob(f.file("*.new")); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}

func TestMidiRemarksOnATempoAndAMachineThatAreNotThePinnings(t *testing.T) {
	f := newFolder(t)
	other := f.edited("pinning.json", `"machine": "Hailstone"`, `"machine": "Sleet"`)
	r := call("midi", "-machine", f.file("machine.json"), "-pinning", other, "-out", f.file("out.mid"), "-tempo", "200")
	want := "note: " + other + " is for a machine called Sleet; " + f.file("machine.json") + " is called Hailstone\n" +
		"note: 200 BPM is outside the tempos of Hailstone, 30 to 180 BPM\n"
	if r.status != done || r.err != want {
		t.Errorf("status %d, errors\n%swant\n%s", r.status, r.err, want)
	}
}

// A song set on the machine and written out again is the same song, as far as
// the machine has its keys: the notes of tune that are on the grid.
func TestASongPinnedAndWrittenOutSoundsTheSame(t *testing.T) {
	f := newFolder(t)
	s := tune()
	s.Notes = slices.DeleteFunc(s.Notes, func(n song.Note) bool { return n.Tick%120 != 0 || n.Key == 79 || n.Drum() })
	if r := call("pin", "-machine", f.file("machine.json"), "-song", f.song("tune.mid", s), "-out", f.file("tune.json"), "-advance"); r.status != done {
		t.Fatalf("status %d, errors %q", r.status, r.err)
	}
	if r := call("midi", "-machine", f.file("machine.json"), "-pinning", f.file("tune.json"), "-out", f.file("again.mid")); r.status != done {
		t.Fatalf("status %d, errors %q", r.status, r.err)
	}
	if got, want := f.sounds("again.mid"), f.sounds("tune.mid"); !slices.Equal(got, want) || len(got) != 2 {
		t.Errorf("it sounds %v, want %v", got, want)
	}
}
