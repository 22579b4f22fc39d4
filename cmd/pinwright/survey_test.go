package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pinwright/wheel/song"
)

func TestSurveyRanksEveryFileUnderAFolder(t *testing.T) {
	f := newFolder(t)
	folder := t.TempDir()
	put := func(name string, data []byte) {
		t.Helper()
		path := filepath.Join(folder, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	good := tune()
	good.Notes = good.Notes[:1]
	for name, s := range map[string]*song.Song{"inner/GOOD.MID": good, "tune.mid": tune()} {
		data, err := os.ReadFile(f.song(filepath.Base(name), s))
		if err != nil {
			t.Fatal(err)
		}
		put(name, data)
	}
	put("broken.midi", []byte("MThd, or so it says"))
	put("readme.txt", []byte("no song"))

	r := call("survey", "-machine", f.file("machine.json"), folder, "-json", "-tempo", "60")
	var got surveyJSON
	if err := json.Unmarshal([]byte(r.out), &got); err != nil || r.status != done {
		t.Fatalf("status %d, %v: %s%s", r.status, err, r.out, r.err)
	}
	if got.Files != 3 || len(got.Songs) != 2 || got.Songs[0].File != filepath.Join("inner", "GOOD.MID") || got.Songs[1].File != "tune.mid" {
		t.Errorf("found %+v", got)
	}
	if got.Songs[0].Suits <= got.Songs[1].Suits || got.Songs[0].TempoBPM != 60 || got.Songs[0].Share != 1 {
		t.Errorf("judged %+v", got.Songs)
	}
	if len(got.Unreadable) != 1 || got.Unreadable[0].File != "broken.midi" || got.Unreadable[0].Why == "" {
		t.Errorf("not judged: %+v", got.Unreadable)
	}
	if !strings.HasSuffix(r.err, "3 of 3 files\n") {
		t.Errorf("progress: %q", r.err)
	}

	r = call("survey", folder, "-machine", f.file("machine.json"))
	for _, want := range []string{"2 songs on Hailstone, 3 files", "tune.mid", "Not judged:\n  broken.midi: "} {
		if !strings.Contains(r.out, want) {
			t.Errorf("it does not say %q:\n%s", want, r.out)
		}
	}
}

func TestSurveyRefusesWhatIsNoFolderOfSongs(t *testing.T) {
	f := newFolder(t)
	machine := f.file("machine.json")
	empty := t.TempDir()
	call("survey", "-machine", machine, empty).refuses(t, empty+": there is no MIDI file in it; their names end in .mid, .midi, .smf, .kar or .rmi")
	call("survey", "-machine", machine, machine).refuses(t, machine+": it is not a folder; name the folder that the MIDI files are in")
	away := filepath.Join(empty, "away")
	call("survey", "-machine", machine, away).refuses(t, away+": no such file or directory")
	call("survey", "-machine", away, empty).refuses(t, away+": no such file or directory")
}
