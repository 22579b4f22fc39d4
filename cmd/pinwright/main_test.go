package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"testing"
)

// told is what a run says and how it ends.
type told struct {
	status   int
	out, err string
}

func call(args ...string) told {
	var out, err bytes.Buffer
	status := run(context.Background(), args, &out, &err)
	return told{status, out.String(), err.String()}
}

// refuses fails the test unless a run ends with status 2, with nothing on
// standard output and just these lines on standard error.
func (r told) refuses(t *testing.T, lines ...string) {
	t.Helper()
	want := strings.Join(lines, "\n") + "\n"
	if r.status != refused || r.out != "" || r.err != want {
		t.Errorf("status %d, output %q, errors\n%swant\n%s", r.status, r.out, r.err, want)
	}
}

// folder is a new folder with the files of testdata in it.
type folder struct {
	t    *testing.T
	path string
}

func newFolder(t *testing.T) folder {
	t.Helper()
	f := folder{t, t.TempDir()}
	if err := os.CopyFS(f.path, os.DirFS("testdata")); err != nil {
		t.Fatal(err)
	}
	return f
}

func (f folder) file(name string) string { return filepath.Join(f.path, name) }

func (f folder) write(name, text string) string {
	f.t.Helper()
	if err := os.WriteFile(f.file(name), []byte(text), 0o644); err != nil {
		f.t.Fatal(err)
	}
	return f.file(name)
}

func (f folder) read(name string) string {
	f.t.Helper()
	text, err := os.ReadFile(f.file(name))
	if err != nil {
		f.t.Fatal(err)
	}
	return string(text)
}

// edited writes a copy of a file with one piece of it, which is there once,
// replaced.
func (f folder) edited(name, old, new string) string {
	f.t.Helper()
	text := f.read(name)
	if n := strings.Count(text, old); n != 1 {
		f.t.Fatalf("%q is in %s %d times", old, name, n)
	}
	return f.write("edited-"+name, strings.Replace(text, old, new, 1))
}

// object reads one JSON object and fails the test if there is more.
func object(t *testing.T, text string) map[string]any {
	t.Helper()
	dec := json.NewDecoder(strings.NewReader(text))
	var o map[string]any
	if err := dec.Decode(&o); err != nil {
		t.Fatalf("%v in %s", err, text)
	}
	if dec.More() {
		t.Fatalf("more than one object: %s", text)
	}
	return o
}

func wantKeys(t *testing.T, what string, o any, keys ...string) {
	t.Helper()
	got, want := slices.Sorted(maps.Keys(o.(map[string]any))), slices.Sorted(slices.Values(keys))
	if !slices.Equal(got, want) {
		t.Errorf("%s has the keys %q, want %q", what, got, want)
	}
}

type closedPipe struct{}

func (closedPipe) Write([]byte) (int, error) { return 0, errors.New("the pipe is closed") }

func TestUnknownCommandIsRefusedWithTheNearest(t *testing.T) {
	call("chek").refuses(t, `pinwright: there is no command "chek"; did you mean check?; pinwright -h lists them`)
	call("frobnicate").refuses(t, `pinwright: there is no command "frobnicate"; pinwright -h lists them`)
	call("").refuses(t, `pinwright: there is no command ""; pinwright -h lists them`)
}

func TestEveryCommandExplainsItself(t *testing.T) {
	for _, ask := range []string{"-h", "-help", "--help"} {
		r := call(ask)
		if r.status != done || r.err != "" {
			t.Errorf("%s: status %d, errors %q", ask, r.status, r.err)
		}
		for _, want := range []string{"  pinwright\n", "-addr HOST:PORT", "-data FOLDER", "127.0.0.1:8420", "Exit status: 0", "  pinwright check ", "  pinwright pin "} {
			if !strings.Contains(r.out, want) {
				t.Errorf("%s does not say %q:\n%s", ask, want, r.out)
			}
		}
	}
	flags := map[string][]string{
		"check": {"-machine FILE", "-pinning FILE", "-tempo BPM", "-json"},
		"pin": {"-machine FILE", "-song FILE", "-out FILE", "-transpose SEMITONES", "-from-bar BAR", "-bars BARS", "-tempo BPM",
			"-repeat", "-advance", "-ease", "-straighten", "-song-number SONG", "-force", "-json"},
		"midi":   {"-machine FILE", "-pinning FILE", "-out FILE", "-tempo BPM", "-as-played", "-turns TURNS", "-force", "-json"},
		"survey": {"-machine FILE", "-tempo BPM", "-json"},
		"sheets": {"-machine FILE", "-pinning FILE", "-out FOLDER", "-paper PAPER", "-roll-width MM", "-radius RADIUS", "-edge SIDE", "-pinned-only", "-svg", "-force", "-json"},
		"changeover": {"-machine FILE", "-from FILE", "-to FILE", "-rotate", "-exchange", "-rate PINS", "-start STEP", "-out FILE", "-paper PAPER",
			"-force", "-json"},
		"window":    {"-machine FILE", "-pinning FILE", "-slow FROM-TO", "-margin PERCENT", "-json"},
		"programme": {"-machine FILE", "-rate PINS", "-pause MINUTES", "-on FILE", "-margin PERCENT", "-json"},
	}
	for _, c := range commands() {
		r := call(c.name, "-h")
		if r.status != done || r.err != "" {
			t.Errorf("%s -h: status %d, errors %q", c.name, r.status, r.err)
		}
		if len(flags[c.name]) == 0 {
			t.Errorf("%s is not in the table", c.name)
		}
		for _, want := range append(flags[c.name], "Usage: pinwright "+c.name, "Example:\n  pinwright "+c.name, "Exit status: 0") {
			if !strings.Contains(r.out, want) {
				t.Errorf("%s -h does not say %q:\n%s", c.name, want, r.out)
			}
		}
		for line := range strings.Lines(r.out) {
			if n := len([]rune(line)); n > 106 {
				t.Errorf("%s -h has a line of %d characters: %s", c.name, n, line)
			}
		}
	}
}

func TestBadUsageIsRefusedInOneSentence(t *testing.T) {
	const survey = " (see pinwright survey -h)"
	const check, pin, alone = " (see pinwright check -h)", " (see pinwright pin -h)", " (see pinwright -h)"
	pinning := []string{"pin", "-machine", "m", "-song", "s", "-out", "o"}
	with := func(args ...string) []string { return append(slices.Clone(pinning), args...) }
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"check"}, "pinwright check: -machine is missing; name the machine FILE" + check},
		{[]string{"check", "-machine", "m"}, "pinwright check: -pinning is missing; name the pinning FILE" + check},
		{[]string{"check", "-machine"}, "pinwright check: -machine is given without a value" + check},
		{[]string{"check", "-tmepo", "84"}, "pinwright check: there is no flag -tmepo; did you mean -tempo?" + check},
		{[]string{"check", "-ease"}, "pinwright check: there is no flag -ease" + check},
		{[]string{"check", "-json=perhaps"}, `pinwright check: invalid boolean value "perhaps" for -json: parse error` + check},
		{[]string{"check", "-tempo", "fast"}, `pinwright check: -tempo is "fast"; a tempo is a number from 1 to 1000 BPM` + check},
		{[]string{"check", "-tempo", "84,5"}, `pinwright check: -tempo is "84,5"; a tempo is a number from 1 to 1000 BPM` + check},
		{[]string{"check", "-tempo", "NaN"}, `pinwright check: -tempo is "NaN"; a tempo is a number from 1 to 1000 BPM` + check},
		{[]string{"check", "-tempo", "inf"}, `pinwright check: -tempo is "inf"; a tempo is a number from 1 to 1000 BPM` + check},
		{[]string{"check", "-tempo", "0"}, `pinwright check: -tempo is "0"; a tempo is a number from 1 to 1000 BPM` + check},
		{[]string{"check", "-tempo", "1e400"}, `pinwright check: -tempo is "1e400"; a tempo is a number from 1 to 1000 BPM` + check},
		{[]string{"check", "-tempo", "-84"}, `pinwright check: -tempo is "-84"; a tempo is a number from 1 to 1000 BPM` + check},
		{[]string{"check", "m.json", "p.json"}, `pinwright check: "m.json" is not expected here; flags begin with a hyphen and a command comes first` + check},
		{[]string{"pin"}, "pinwright pin: -machine is missing; name the machine FILE" + pin},
		{[]string{"pin", "-machine", "m"}, "pinwright pin: -song is missing; name the song, a Standard MIDI FILE" + pin},
		{[]string{"pin", "-machine", "m", "-song", "s"}, "pinwright pin: -out is missing; name the pinning FILE to write" + pin},
		{with("-transpose", "up"), `pinwright pin: the transposition is "up"; it should be auto or a whole number of semitones` + pin},
		{with("-transpose", "128"), `pinwright pin: the transposition is 128 semitones; it goes from −127 to 127` + pin},
		{with("-from-bar", "0"), `pinwright pin: -from-bar is "0"; a bar is a whole number from 1 up` + pin},
		{with("-from-bar", "2.5"), `pinwright pin: -from-bar is "2.5"; a bar is a whole number from 1 up` + pin},
		{with("-bars", "-1"), `pinwright pin: -bars is "-1"; a number of bars is a whole number from 1 up` + pin},
		{with("-bars", "99999999999"), `pinwright pin: -bars is "99999999999"; a number of bars is a whole number from 1 up` + pin},
		{with("-song-number", "first"), `pinwright pin: -song-number is "first"; a song's number is a whole number from 1 up` + pin},
		{with("-eaze"), "pinwright pin: there is no flag -eaze; did you mean -ease?" + pin},
		{[]string{"survey", "-machine", "m"}, "pinwright survey: the folder is missing; name one that has MIDI files in it" + survey},
		{[]string{"survey", "here", "there", "-machine", "m"}, `pinwright survey: "there" is not expected here; flags begin with a hyphen and a command comes first` + survey},
		{[]string{"survey", "here"}, "pinwright survey: -machine is missing; name the machine FILE" + survey},
		{[]string{"-port", "80"}, "pinwright: there is no flag -port" + alone},
		{[]string{"-date", "x"}, "pinwright: there is no flag -date; did you mean -data?" + alone},
		{[]string{"-data", "x", "check"}, `pinwright: "check" is not expected here; flags begin with a hyphen and a command comes first` + alone},
	} {
		call(c.args...).refuses(t, c.want)
	}
}

func TestAnswerThatCannotBeWrittenIsNoAnswer(t *testing.T) {
	f := newFolder(t)
	for _, args := range [][]string{
		{"check", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json")},
		{"check", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json"), "-json"},
		{"check", "-h"}, {"-h"}, {"-version"},
	} {
		var stderr bytes.Buffer
		status := run(context.Background(), args, closedPipe{}, &stderr)
		if want := "pinwright: the answer could not be written: the pipe is closed\n"; status != refused || stderr.String() != want {
			t.Errorf("%q: status %d, errors %q", args, status, stderr.String())
		}
	}
}

func TestVersionIsThatOfTheBuild(t *testing.T) {
	r := call("-version")
	if r.status != done || r.err != "" || !strings.HasPrefix(r.out, "pinwright ") || !strings.HasSuffix(r.out, "\n") {
		t.Errorf("status %d, output %q, errors %q", r.status, r.out, r.err)
	}
	commit := debug.BuildSetting{Key: "vcs.revision", Value: "0123456789abcdef0123"}
	changed := debug.BuildSetting{Key: "vcs.modified", Value: "true"}
	for _, c := range []struct {
		version  string
		settings []debug.BuildSetting
		want     string
	}{
		{"v1.2.3", nil, "v1.2.3"},
		{"v1.2.3", []debug.BuildSetting{commit}, "v1.2.3"},
		{"(devel)", nil, "development"},
		{"", nil, "development"},
		{"(devel)", []debug.BuildSetting{commit}, "development, commit 0123456789ab"},
		{"", []debug.BuildSetting{commit, changed}, "development, commit 0123456789ab, changed"},
	} {
		info := &debug.BuildInfo{Main: debug.Module{Version: c.version}, Settings: c.settings}
		if got := versionOf(info); got != c.want {
			t.Errorf("a build of %q with %v is %q, want %q", c.version, c.settings, got, c.want)
		}
	}
}
