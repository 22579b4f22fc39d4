package main

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/file"
	"pinwright/wheel/song"
)

// tune is a bar of 4/4 at 75 BPM: 480 ticks and 0.8 s to the quarter note.
func tune() *song.Song {
	return &song.Song{
		Title: "Mill Race", TicksPerQuarter: 480,
		Tempos: []song.Tempo{{MicrosPerQuarter: 800_000}},
		Meters: []song.Meter{{Numerator: 4, Denominator: 4}},
		Tracks: []song.Track{{Name: "Mill Race"}},
		Notes: []song.Note{
			{Tick: 0, Ticks: 100, Key: 72, Velocity: 90, Channel: 1},
			{Tick: 480, Ticks: 100, Key: 76, Velocity: 90, Channel: 1},
			{Tick: 489, Ticks: 100, Key: 72, Velocity: 90, Channel: 1},
			{Tick: 495, Ticks: 100, Key: 72, Velocity: 90, Channel: 2},
			{Tick: 960, Ticks: 100, Key: 36, Velocity: 90, Channel: 10},
			{Tick: 960, Ticks: 100, Key: 79, Velocity: 90, Channel: 1},
		},
		EndTick: 1920,
	}
}

func (f folder) song(name string, s *song.Song) string {
	f.t.Helper()
	var b bytes.Buffer
	if err := song.Write(&b, s); err != nil {
		f.t.Fatal(err)
	}
	return f.write(name, b.String())
}

// twoSongs is a format 2 file, laid out by the Standard MIDI Files 1.0
// specification: in each track a name, a note of one quarter and the end.
func twoSongs() string {
	chunk := func(kind string, data []byte) []byte {
		return append(binary.BigEndian.AppendUint32([]byte(kind), uint32(len(data))), data...)
	}
	file := chunk("MThd", []byte{0, 2, 0, 2, 0, 96})
	for i, key := range []byte{72, 76} {
		track := []byte{0, 0xff, 0x03, 1, 'A' + byte(i), 0, 0x90, key, 64, 96, 0x80, key, 64, 0, 0xff, 0x2f, 0}
		file = append(file, chunk("MTrk", track)...)
	}
	return string(file)
}

// Worked by hand: with 4 steps to the quarter note the notes stand at steps 0,
// 4, 4.075, 4.125, 8 and 8. Both late notes of C5 go to step 4, where one is
// merged with the other; the drum rests; G5 has no channel. 15 ticks are 15/480
// × 0.8 s = 25 ms, 9 ticks 15 ms; of the four notes that sound the mean square
// is (0 + 0 + 225 + 625)/4.
func TestPinSetsASongAndReportsInJSON(t *testing.T) {
	f := newFolder(t)
	r := call("pin", "-machine", f.file("machine.json"), "-song", f.song("tune.mid", tune()), "-out", f.file("out.json"), "-json")
	if r.status != done || r.err != "" {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	report := object(t, r.out)
	wantKeys(t, "the report", report, "notes", "placed", "shifted", "dropped", "out_of_range", "merged", "transpose", "tempo_bpm",
		"worst_error_ms", "rms_error_ms", "cost", "changes", "max_safe_bpm", "eased_to_bpm", "keep_below_bpm")
	for key, want := range map[string]float64{
		"notes": 6, "placed": 3, "shifted": 0, "dropped": 1, "out_of_range": 1, "merged": 1, "transpose": 0, "tempo_bpm": 75,
		"worst_error_ms": 25, "rms_error_ms": 14.577379737113251, "cost": 0, "max_safe_bpm": 180,
	} {
		near(t, key, report[key], want)
	}
	changes := report["changes"].([]any)
	if len(changes) != 1 {
		t.Fatalf("changes are %v", changes)
	}
	wantKeys(t, "a change", changes[0], "kind", "channel", "from_step", "to_step", "why")

	p, err := readPinning(f.file("out.json"))
	if err != nil {
		t.Fatal(err)
	}
	want := &wheel.Pinning{
		Format: wheel.PinningFormat, Title: "Mill Race", Machine: "Hailstone", TempoBPM: 75,
		BeatsPerBar: 4, // as the song's bars have
		Pins: []wheel.Pin{ // their aims, being their steps, are left out
			{Channel: "bar-c5", Step: 0},
			{Channel: "bar-c5", Step: 4},
			{Channel: "bar-e5", Step: 4},
		},
	}
	if !reflect.DeepEqual(p, want) {
		t.Errorf("the pinning is\n\t%+v\nwant\n\t%+v", p, want)
	}
	if r := call("check", "-machine", f.file("machine.json"), "-pinning", f.file("out.json")); r.status != done || r.err != "" {
		t.Errorf("check says status %d, errors %q", r.status, r.err)
	}
}

func TestPinReportsToPeople(t *testing.T) {
	f := newFolder(t)
	out := f.file("out.json")
	r := call("pin", "-machine", f.file("machine.json"), "-song", f.song("tune.mid", tune()), "-out", out, "-transpose", "0")
	want := `Mill Race on Hailstone, 3 pins, written to ` + out + `

Notes: 6
  3 placed
  1 merged with another on the same pin
  1 out of range: no channel has their key
  1 left out

Not as in the song:
  bar 1 beat 3: left out, Drum is resting

Transposed: no
Tempo: 75 BPM
Off the grid by: 25 ms at most, 14.6 ms root mean square
The grid: 1 beat has notes that are off the wheel's steps; the worst lies 25 ms off, in bar 1 beat 2; the playing wanders, and no number of steps per beat up to 24 would hold all of it
Keep below: 180 BPM
Bare limit: 180 BPM, if every figure were exact
`
	if r.status != done || r.err != "" || r.out != want {
		t.Errorf("status %d, errors %q, it says\n%s\nwant\n%s", r.status, r.err, r.out, want)
	}
}

// Worked by hand: down 3 semitones G5 becomes E5, and C5 and E5 leave the
// machine; up 4 C5 becomes E5. As it stands the tune has most of its notes.
func TestPinDoesAsItsFlagsSay(t *testing.T) {
	f := newFolder(t)
	long := tune()
	long.Notes = append(long.Notes, song.Note{Tick: 1920, Ticks: 100, Key: 76, Velocity: 90, Channel: 1})
	long.EndTick = 3840
	tune := f.song("tune.mid", long)
	on := func(flags ...string) (map[string]any, *wheel.Pinning) {
		t.Helper()
		r := call(append([]string{"pin", "-machine", f.file("machine.json"), "-song", tune, "-out", f.file("out.json"), "-json"}, flags...)...)
		if r.status != done {
			t.Fatalf("%q: status %d, errors %q", flags, r.status, r.err)
		}
		p, err := readPinning(f.file("out.json"))
		if err != nil {
			t.Fatal(err)
		}
		return object(t, r.out), p
	}
	for _, c := range []struct {
		flags []string
		want  map[string]float64
	}{
		{nil, map[string]float64{"notes": 7, "placed": 4}},
		{[]string{"-transpose", "-3"}, map[string]float64{"transpose": -3, "placed": 1}},
		{[]string{"-transpose", "4"}, map[string]float64{"transpose": 4, "placed": 2}},
		{[]string{"-transpose", "auto"}, map[string]float64{"transpose": 0, "placed": 4}},
		{[]string{"-from-bar", "2"}, map[string]float64{"notes": 1, "placed": 1}},
		{[]string{"-bars", "1"}, map[string]float64{"notes": 6, "placed": 3}},
		{[]string{"-tempo", "90.5"}, map[string]float64{"tempo_bpm": 90.5}},
		{[]string{"-repeat"}, map[string]float64{"notes": 56}}, // 16 steps to the bar, 8 times 2 bars on 256 steps
	} {
		report, _ := on(c.flags...)
		for key, want := range c.want {
			if report[key] != want {
				t.Errorf("%q: %s is %v, want %v", c.flags, key, report[key], want)
			}
		}
	}
	if _, p := on(); p.Advance != nil {
		t.Errorf("without -advance the advances are %v", p.Advance)
	}
	// At 600 BPM a step is 25 ms, which is how much later bar-e5 strikes.
	if _, p := on("-advance", "-tempo", "600"); p.Advance["bar-e5"]-p.Advance["bar-c5"] != 1 {
		t.Errorf("with -advance the advances are %v", p.Advance)
	}
}

func TestPinTakesOneOfSeveralSongs(t *testing.T) {
	f := newFolder(t)
	file, out := f.write("two.mid", twoSongs()), f.file("out.json")
	on := func(flags ...string) told {
		return call(append([]string{"pin", "-machine", f.file("machine.json"), "-song", file, "-out", out, "-json"}, flags...)...)
	}
	for _, c := range []struct {
		flags          []string
		title, channel string
		remarks        string
	}{
		{nil, "A", "bar-c5", "note: " + file + " holds 2 songs; this is the first, A, and -song-number takes another\n"},
		{[]string{"-song-number", "1"}, "A", "bar-c5", ""},
		{[]string{"-song-number", "2"}, "B", "bar-e5", ""},
	} {
		r := on(c.flags...)
		p, err := readPinning(out)
		if r.status != done || err != nil {
			t.Fatalf("%q: status %d, %v, errors %q", c.flags, r.status, err, r.err)
		}
		if p.Title != c.title || len(p.Pins) != 1 || p.Pins[0].Channel != c.channel {
			t.Errorf("%q: the pinning is %+v", c.flags, p)
		}
		if !strings.HasPrefix(r.err, c.remarks) || strings.Contains(r.err, "holds") != (c.remarks != "") {
			t.Errorf("%q: remarks are %q", c.flags, r.err)
		}
	}
	if err := os.Remove(out); err != nil {
		t.Fatal(err)
	}
	on("-song-number", "3").refuses(t, file+": it holds 2 songs; -song-number 3 is past the last")
	if _, err := os.Stat(out); err == nil {
		t.Error("a pinning was written")
	}
}

// What the song's reader assumed or left out is said, and not in the JSON.
func TestPinPassesTheSongsWarningsOn(t *testing.T) {
	f := newFolder(t)
	r := call("pin", "-machine", f.file("machine.json"), "-song", f.write("two.mid", twoSongs()), "-out", f.file("out.json"), "-song-number", "1", "-json")
	if want := "no tempo is given for its start; 120 quarter notes a minute was assumed"; r.status != done || !strings.Contains(r.err, want) {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	object(t, r.out)
}

func TestPinRefusesBadFilesAndWritesNothing(t *testing.T) {
	f := newFolder(t)
	machine, tune, out := f.file("machine.json"), f.song("tune.mid", tune()), f.file("out.json")
	bad := f.edited("machine.json", `"diameter_mm": 12`, `"diameter_mm": -12`)
	noSong := f.write("text.mid", "This is no song.")
	on := func(machine, song string, flags ...string) told {
		return call(append([]string{"pin", "-machine", machine, "-song", song, "-out", out, "-json"}, flags...)...)
	}
	on(bad, tune).refuses(t, bad+": marble.diameter_mm is −12; a length cannot be negative")
	on(f.file("none.json"), f.file("none.mid")).refuses(t,
		f.file("none.json")+": no such file or directory",
		f.file("none.mid")+": no such file or directory")
	if r := on(machine, noSong); r.status != refused || r.out != "" || !strings.HasPrefix(r.err, noSong+": ") || strings.Count(r.err, "\n") != 1 || strings.Count(r.err, noSong) != 1 {
		t.Errorf("status %d, output %q, errors %q", r.status, r.out, r.err)
	}
	on(machine, f.path).refuses(t, f.path+": it is not a regular file; give a Standard MIDI File")
	on(machine, tune, "-from-bar", "7").refuses(t, tune+": the section starts at bar 7, past the song's end; the last bar is bar 1")
	on(machine, tune, "-bars", "99").refuses(t, tune+": the section of 99 bars from bar 1 runs past the end of the song, which has 1 bar; from bar 1 there are 1")
	if _, err := os.Stat(out); err == nil {
		t.Error("a pinning was written")
	}
}

func TestPinLeavesWhatIsKeptAlone(t *testing.T) {
	f := newFolder(t)
	machine, tune := f.file("machine.json"), f.song("tune.mid", tune())
	on := func(out string, flags ...string) told {
		return call(append([]string{"pin", "-machine", machine, "-song", tune, "-out", out}, flags...)...)
	}
	kept := func(name string) func() {
		before := f.read(name)
		return func() {
			t.Helper()
			if f.read(name) != before {
				t.Errorf("%s was changed", name)
			}
		}
	}
	same := func(name, other string) {
		t.Helper()
		for _, force := range []string{"-force=false", "-force"} {
			on(f.file(name), force).refuses(t, f.file(name)+": it is the same file as "+other+", which would be lost; name another")
		}
	}
	machineKept, songKept := kept("machine.json"), kept("tune.mid")
	same("machine.json", machine)
	same("tune.mid", tune)
	if err := os.Link(machine, f.file("linked.json")); err == nil {
		same("linked.json", machine)
	}
	if err := os.Symlink("tune.mid", f.file("symlink.json")); err == nil {
		same("symlink.json", tune)
	}
	machineKept()
	songKept()

	f.write("notes.txt", "Ring the smith on Monday.")
	notesKept := kept("notes.txt")
	on(f.file("notes.txt")).refuses(t, f.file("notes.txt")+": it is there already and not a pinning file; name another, or replace it with -force")
	notesKept()
	on(f.path, "-force").refuses(t, f.path+": it is a folder; name a file in it")
	on(f.file("no/folder/out.json")).refuses(t, f.file("no/folder/out.json")+": there is no folder "+f.file("no/folder")+" to write it in")
	if _, err := os.Stat("/dev/null"); err == nil {
		on("/dev/null", "-force").refuses(t, "/dev/null: it is not a regular file")
	}
	if err := os.Symlink("nowhere.json", f.file("dangling.json")); err == nil {
		on(f.file("dangling.json")).refuses(t, f.file("dangling.json")+": it is a link that leads nowhere")
	}

	for name, flag := range map[string]string{
		"pinning.json": "-force=false", // a pinning of before
		"empty.json":   "-force=false", // nothing to lose
		"notes.txt":    "-force",
	} {
		if name == "empty.json" {
			f.write(name, "")
		}
		if r := on(f.file(name), flag); r.status != done || r.err != "" {
			t.Errorf("%s: status %d, errors %q", name, r.status, r.err)
		}
		if p, err := readPinning(f.file(name)); err != nil || len(p.Pins) != 3 {
			t.Errorf("%s: it holds %+v, error %v", name, p, err)
		}
	}
	if left, _ := filepath.Glob(f.file("*.new")); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}

func TestPinWritesThroughALinkAndKeepsTheFilesMode(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("there are no modes and few links on Windows")
	}
	f := newFolder(t)
	if err := os.Chmod(f.file("pinning.json"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("pinning.json", f.file("link.json")); err != nil {
		t.Fatal(err)
	}
	r := call("pin", "-machine", f.file("machine.json"), "-song", f.song("tune.mid", tune()), "-out", f.file("link.json"))
	if r.status != done {
		t.Fatalf("status %d, errors %q", r.status, r.err)
	}
	if to, err := os.Readlink(f.file("link.json")); err != nil || to != "pinning.json" {
		t.Errorf("the link leads to %q, error %v", to, err)
	}
	info, err := os.Stat(f.file("pinning.json"))
	if err != nil {
		t.Fatal(err)
	}
	if info.Mode().Perm() != 0o666 {
		t.Errorf("the mode is %v, want that of the file before", info.Mode())
	}
	if p, err := readPinning(f.file("pinning.json")); err != nil || len(p.Pins) != 3 {
		t.Errorf("it holds %+v, error %v", p, err)
	}
}

// A pinning that fails half-way leaves what was there, and nothing beside it.
func TestPinningIsWrittenWholeOrNotAtAll(t *testing.T) {
	f := newFolder(t)
	before := f.read("pinning.json")
	to, err := targetFor(f.file("pinning.json"), false)
	if err != nil {
		t.Fatal(err)
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Too large", Pins: make([]wheel.Pin, 9000)}
	for i := range p.Pins {
		p.Pins[i] = wheel.Pin{Channel: strings.Repeat("x", 1000), Step: i}
	}
	if err := to.write(p); err == nil {
		t.Error("it was written")
	}
	if err := to.write(&wheel.Pinning{Format: wheel.PinningFormat}); err == nil {
		t.Error("a pinning without a title was written")
	}
	if f.read("pinning.json") != before {
		t.Error("what was there is gone")
	}
	if left, _ := filepath.Glob(f.file("*.new")); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}

// Worked by hand: the gate of Tube D3 takes 265 ms. Two notes a sixteenth apart at
// four steps a beat can be played at 60/(4 × 0.265) = 56.6 BPM, and two steps apart
// at 113.2 BPM, if every figure were exact. They cannot be trusted to 100 BPM: there
// they have 300 ms, 35 ms more than the gate takes. The gate's spread is 12 ms, its
// doubt 5 % of 265 ms, the latch's spread 4 ms twice, the pins' 0.5 mm of arc 5.1 ms
// twice, the crank's 2 % of 300 ms: √(12² + 13.25² + 2·4² + 2·5.1² + 6²) = 21 ms. At
// 35/21 = 1.67 deviations one is missed in 21 turns, where one in 100 is put up
// with. So the bare limit to reach is the first half above 113.2 BPM, which asks for
// three steps. Moving a note by a step costs a fifth of its weight: 1 + 100/127 for
// its velocity, and 1 more as it is the highest of its onset.
func TestPinEasesToTheTempoAskedFor(t *testing.T) {
	f := newFolder(t)
	machine := filepath.Join(t.TempDir(), "hailstone.json")
	var b bytes.Buffer
	if _, err := file.Machine(demo.Machine()).WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(machine, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	s := &song.Song{
		Title: "Stumble", TicksPerQuarter: 480,
		Tempos: []song.Tempo{{MicrosPerQuarter: 600_000}}, Meters: []song.Meter{{Numerator: 4, Denominator: 4}},
		Tracks: []song.Track{{Name: "Stumble", Channels: []int{1}}},
		Notes: []song.Note{
			{Tick: 960, Ticks: 60, Key: 50, Velocity: 100, Channel: 1},
			{Tick: 1080, Ticks: 60, Key: 50, Velocity: 100, Channel: 1},
		},
		EndTick: 1920,
	}
	out := f.file("out.json")
	args := []string{"pin", "-machine", machine, "-song", f.song("stumble.mid", s), "-out", out, "-tempo", "100", "-ease", "-advance"}
	r := call(append(args, "-json")...)
	var got pinJSON
	if err := json.Unmarshal([]byte(r.out), &got); err != nil || r.status != done {
		t.Fatalf("status %d, %v: %s%s", r.status, err, r.out, r.err)
	}
	if want := 2 * 0.2 * (2 + 100./127); math.Abs(got.Cost-want) > 1e-9 || got.Shifted != 1 || len(got.Changes) != 1 {
		t.Errorf("eased to %+v; it should move one note by two steps, for %g", got, want)
	}
	if got.KeepBelowBPM == nil || *got.KeepBelowBPM < 100 || got.EasedToBPM == nil || *got.EasedToBPM != 113.5 {
		t.Errorf("keep below %v, eased to %v, after easing to 100 BPM", got.KeepBelowBPM, got.EasedToBPM)
	}
	if check := call("check", "-machine", machine, "-pinning", out, "-tempo", "100", "-json"); check.status != done || !strings.Contains(check.out, `"verdict":"trusted"`) {
		t.Errorf("check says, with status %d,\n%s", check.status, check.out)
	}
	for _, want := range []string{"Eased: to a bare limit of 113.5 BPM; keep below 46.3 BPM before; cost 1.11, the least there is", "Keep below: ", "Tube D3 two steps", "What the advances leave"} {
		if r := call(args...); !strings.Contains(r.out, want) {
			t.Errorf("it does not say %q:\n%s", want, r.out)
		}
	}

	// Above the machine's own limit there is nothing to ease to.
	args[8] = "900"
	if r := call(args...); r.status != findings || !strings.Contains(r.err, "above the machine's highest tempo") {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
}

// What easing refuses: a tempo above the house's limit, and any while a figure is
// unknown. The pinning is then set as it is.
func TestPinRefusesToEase(t *testing.T) {
	f := newFolder(t)
	set := func(change func(m *wheel.Machine)) (told, pinJSON) {
		t.Helper()
		m := demo.Machine()
		change(m)
		var b bytes.Buffer
		if _, err := file.Machine(m).WriteTo(&b); err != nil {
			t.Fatal(err)
		}
		machine := filepath.Join(t.TempDir(), "hailstone.json")
		if err := os.WriteFile(machine, b.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		r := call("pin", "-machine", machine, "-song", f.song("tune.mid", tune()), "-out", f.file("out.json"), "-tempo", "100", "-ease", "-json")
		var got pinJSON
		if err := json.Unmarshal([]byte(r.out), &got); err != nil {
			t.Fatalf("%v: %s%s", err, r.out, r.err)
		}
		return r, got
	}
	r, got := set(func(m *wheel.Machine) { m.Limits.HouseBPM, m.Limits.HouseWhy = wheel.Known(96), "the frame shakes" })
	if r.status != findings || !strings.Contains(r.err, "100 BPM is above the house's limit, 96 BPM (the frame shakes); nothing was eased, so ask for 96 BPM or less") || got.EasedToBPM != nil || got.KeepBelowBPM == nil {
		t.Errorf("above the house's limit: status %d, %+v, errors %q", r.status, got, r.err)
	}
	r, got = set(func(m *wheel.Machine) {
		for i := range m.Channels {
			m.Channels[i].Gate.ReloadMS, m.Channels[i].Gate.FeedSlopeDeg = wheel.Maybe{}, wheel.Maybe{}
		}
	})
	if r.status != findings || !strings.Contains(r.err, "Measure first: ") || !strings.Contains(r.err, "; nothing was eased") ||
		got.EasedToBPM != nil || got.KeepBelowBPM != nil || got.MaxSafeBPM != nil || got.Placed == 0 {
		t.Errorf("with unknown figures: status %d, %+v, errors %q", r.status, got, r.err)
	}
}
