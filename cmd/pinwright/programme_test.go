package main

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// Worked by hand. A turn of 64 beats takes 3840/T s: 60 s at 64 BPM, 64 at 60, 32
// at 120. Mill Race has pins of Bar C5 a step apart, 15/T s, for which the gate
// needs 140 ms: at 120 BPM one of its three drops fails each turn. To Nine Knocks
// all three pins are pulled and three are driven, 6 moves at 4 a minute.
func TestProgrammeAnswersInJSON(t *testing.T) {
	f := newFolder(t)
	mill, nine := f.file("pinning.json"), f.next()
	on := func(status int, args ...string) map[string]any {
		t.Helper()
		r := call(append([]string{"programme", "-machine", f.file("machine.json"), "-json"}, args...)...)
		if r.status != status || r.err != "" {
			t.Fatalf("%q: status %d, errors %q", args, r.status, r.err)
		}
		return object(t, r.out)
	}
	day := on(done, "-rate", "4", "-pause", "1", mill+"@64x3", nine+"@60", mill+"@64x3")
	wantKeys(t, "the day", day, "machine", "margin", "pins_per_min", "on_wheel", "day_s", "playing_s", "between_s", "changeover_s", "before_s",
		"turns", "marbles", "trips", "pulls", "drives", "songs", "wear")
	for key, want := range map[string]any{
		"machine": "Hailstone", "margin": 0.1, "pins_per_min": 4.0, "on_wheel": nil, "turns": 7.0, "marbles": 21.0, "trips": 21.0, "pulls": 6.0, "drives": 6.0,
	} {
		if day[key] != want {
			t.Errorf("%s is %v, want %v", key, day[key], want)
		}
	}
	near(t, "playing_s", day["playing_s"], 2*180+64)
	near(t, "between_s", day["between_s"], 2*90)
	near(t, "day_s", day["day_s"], 2*180+64+2*90)
	near(t, "changeover_s", day["changeover_s"], 2*90)
	near(t, "before_s", day["before_s"], 0)
	songs := day["songs"].([]any)
	wantKeys(t, "a song", songs[1], "file", "pinning", "tempo_bpm", "turns", "play_s", "marbles", "trips", "in_window", "window", "crank_rpm", "before", "warnings", "notes")
	second := songs[1].(map[string]any)
	wantKeys(t, "a changeover", second["before"], "from", "pulls", "drives", "minutes")
	before := second["before"].(map[string]any)
	if second["file"] != nine || second["pinning"] != "Nine Knocks" || second["tempo_bpm"] != 60.0 || second["turns"] != 1.0 || second["in_window"] != true ||
		second["crank_rpm"] != nil || before["from"] != "Mill Race" || before["minutes"] != 1.5 || len(songs) != 3 {
		t.Errorf("%v", second)
	}
	if warnings := second["warnings"].([]any); len(warnings) != 1 || !strings.Contains(warnings[0].(string), "takes 3 pulls and 3 drives, about 2 minutes, but the pause for it is 1 minute.") {
		t.Errorf("it warns %v", warnings)
	}
	wantKeys(t, "wear", day["wear"].([]any)[0], "channel", "trips", "strikes")
	if first := songs[0].(map[string]any); first["before"] != nil || len(first["warnings"].([]any)) != 0 {
		t.Errorf("%v", first)
	}

	day = on(findings, mill+"@120x2")
	if day["marbles"] != 4.0 || day["trips"] != 6.0 || day["pins_per_min"] != nil {
		t.Errorf("at 120 BPM: %v", day)
	}
	song := day["songs"].([]any)[0].(map[string]any)
	if song["in_window"] != false || !strings.HasPrefix(song["warnings"].([]any)[0].(string), "120 BPM is not safe: the red line is at 88.2 BPM and the bare limit at 107.1 BPM. The window for visitors is 30 to 79.4 BPM.") {
		t.Errorf("at 120 BPM: %v", song)
	}
	if wear := day["wear"].([]any)[0].(map[string]any); wear["channel"] != "bar-c5" || wear["trips"] != 4.0 || wear["strikes"] != 2.0 {
		t.Errorf("at 120 BPM: %v", wear)
	}

	// Without a rate the time of the work is not known; what is on the wheel is no
	// part of the day. Without a tempo the pinning's own is taken, 84 BPM.
	day = on(done, "-margin", "4", "-on", nine, mill)
	if day["on_wheel"] != "Nine Knocks" || day["changeover_s"] != nil || day["before_s"] != nil || day["pulls"] != 3.0 || day["between_s"] != 0.0 {
		t.Errorf("%v", day)
	}
	near(t, "playing_s", day["playing_s"], 3840.0/84)
	day = on(done, "-margin", "4", "-on", nine, "-rate", "4", mill)

	// Between the red line and the bare limit a tempo is close; with a figure that is
	// unknown none can be called safe.
	song = on(findings, mill+"@100")["songs"].([]any)[0].(map[string]any)
	if says := song["warnings"].([]any)[0].(string); song["in_window"] != false || !strings.HasPrefix(says, "100 BPM is close: the red line is at 88.2 BPM and the bare limit at 107.1 BPM.") {
		t.Errorf("at 100 BPM: %v", song)
	}
	r := call("programme", "-machine", f.edited("machine.json", `"latch_ms": 18}, "gate": {"reload_ms": 140}`, `"latch_ms": 18}, "gate": {}`), "-json", mill)
	song = object(t, r.out)["songs"].([]any)[0].(map[string]any)
	if says := song["warnings"].([]any)[0].(string); r.status != findings || song["in_window"] != false || !strings.HasPrefix(says, "Measure first: the ") {
		t.Errorf("with a reload that is unknown: %d, %v", r.status, song)
	}
	near(t, "before_s", day["before_s"], 90)
	near(t, "day_s", day["day_s"], 3840.0/84)
}

func TestProgrammeIsToldToPeople(t *testing.T) {
	f := newFolder(t)
	r := call("programme", "-machine", f.file("machine.json"), "-on", f.next(), f.file("pinning.json")+"@150x2", "-rate", "4")
	if r.status != findings || r.err != "" {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	for _, want := range []string{
		"A day of 1 song on Hailstone\n\n1  Mill Race, 150 BPM, 2 turns, 51 s\n   Warning: 150 BPM is not safe: the red line is at 88.2 BPM and the bare limit at 107.1 BPM. The window for visitors is 30 to 79.4 BPM.",
		"   Before the day begins, put this song on the wheel in place of Nine Knocks: 3 pulls and 3 drives, about 2 minutes.\n",
		"The day                  51 s\n", "  before the day begins  2 minutes\n", "Marbles moved            4\n", "Most worn                Bar C5: 4 trips, 2 strikes\n",
	} {
		if !strings.Contains(r.out, want) {
			t.Errorf("it does not say %q:\n%s", want, r.out)
		}
	}
}

func TestProgrammeRefusesBadInput(t *testing.T) {
	f := newFolder(t)
	const more = " (see pinwright programme -h)"
	m, p := f.file("machine.json"), f.file("pinning.json")
	silent := f.edited("pinning.json", `"tempo_bpm": 84,`, ``)
	for _, c := range []struct {
		args []string
		want string
	}{
		{nil, "pinwright programme: -machine is missing; name the machine FILE" + more},
		{[]string{"-machine", m}, "pinwright programme: no pinning is named; name the day's songs in their order" + more},
		{[]string{"-machine", m, p + "@fast"}, "pinwright programme: " + p + "@fast: after @ stands fast; a tempo is a number from 1 to 1000 BPM" + more},
		{[]string{"-machine", m, p + "@NaN"}, "pinwright programme: " + p + "@NaN: after @ stands NaN; a tempo is a number from 1 to 1000 BPM" + more},
		{[]string{"-machine", m, p + "@"}, "pinwright programme: " + p + "@: after @ stands nothing; a tempo is a number from 1 to 1000 BPM" + more},
		{[]string{"-machine", m, p + "@1001"}, "pinwright programme: " + p + "@1001: after @ stands 1001; a tempo is a number from 1 to 1000 BPM" + more},
		{[]string{"-machine", m, p + "x0"}, "pinwright programme: " + p + "x0: after x stands 0; turns are a whole number from 1 to 1000" + more},
		{[]string{"-machine", m, p + "@80x99999999999999999999"}, "pinwright programme: " + p + "@80x99999999999999999999: after x stands 99999999999999999999; turns are a whole number from 1 to 1000" + more},
		{[]string{"-machine", m, "@80"}, "pinwright programme: @80: before @ there is no file; write PINNING@BPM" + more},
		{[]string{"-machine", m, silent}, "pinwright programme: " + silent + " has no tempo_bpm; write " + silent + "@BPM" + more},
		{[]string{"-machine", m, "-rate", "0", p}, `pinwright programme: -rate is "0"; a rate in pins a minute is a number from 0.001 to 1000` + more},
		{[]string{"-machine", m, "-pause", "-1", p}, `pinwright programme: -pause is "-1"; a pause in minutes is a number from 0 to 1440` + more},
		{[]string{"-machine", m, "-tempo", "80", p}, "pinwright programme: there is no flag -tempo" + more},
		{[]string{"-machine", m, f.file("none.json") + "@80"}, f.file("none.json") + ": no such file or directory"},
		{[]string{"-machine", m, "-on", f.file("none.json"), p}, f.file("none.json") + ": no such file or directory"},
		{[]string{"-machine", m, f.write("lost.json", strings.Replace(f.read("pinning.json"), `"bar-e5"`, `"bar-x9"`, 1)), p}, f.file("lost.json") + `: pins[2].channel is "bar-x9", and Hailstone has no such channel`},
	} {
		call(append([]string{"programme"}, c.args...)...).refuses(t, c.want)
	}
	hundred := make([]string, programme.MaxSongs+1)
	for i := range hundred {
		hundred[i] = p
	}
	call(append([]string{"programme", "-machine", m}, hundred...)...).refuses(t, "pinwright programme: more than 100 songs are named; a day has 100 at most"+more)
}

// A name that has an @ or an x in it is still a name.
func TestSongsAreNamedByFileTempoAndTurns(t *testing.T) {
	f := newFolder(t)
	odd := f.write("a@b.json", "{}")
	for arg, want := range map[string]songArg{
		"mill.json":         {"mill.json", 0, 1},
		"mill.json@84":      {"mill.json", 84, 1},
		"mill.json@84.5x3":  {"mill.json", 84.5, 3},
		"mill.jsonx3":       {"mill.json", 0, 3},
		"box/matrix.json":   {"box/matrix.json", 0, 1},
		"box/matrix.json@9": {"box/matrix.json", 9, 1},
		odd:                 {odd, 0, 1},
		odd + "@60x2":       {odd, 60, 2},
	} {
		if got, err := readSongArg(arg); err != nil || got != want {
			t.Errorf("%s: %+v, %v", arg, got, err)
		}
	}
}

// The page of a programme and that of a tempo window tell what the commands do of
// the same machine and pinnings.
func TestPagesAndCommandsTellTheSame(t *testing.T) {
	ctx := context.Background()
	f := newFolder(t)
	st, err := store.Open(ctx, filepath.Join(t.TempDir(), databaseName), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	machine := f.edited("machine.json", `"beats_per_bar": 4`, `"beats_per_bar": 4, "crank_turns": 8`)
	works, err := readMachine(machine)
	if err != nil {
		t.Fatal(err)
	}
	id, err := st.AddMachine(ctx, works.Machine)
	if err != nil {
		t.Fatal(err)
	}
	day := programme.Programme{Name: "Sunday", PinsPerMin: 4}
	files := []string{f.file("pinning.json"), f.next()}
	for i, path := range files {
		p, err := readPinning(path)
		if err != nil {
			t.Fatal(err)
		}
		pinning, err := st.AddPinning(ctx, id, 0, p)
		if err != nil {
			t.Fatal(err)
		}
		day.Songs = append(day.Songs, programme.Song{PinningID: pinning, TempoBPM: []float64{120, 72}[i], Turns: i + 2, Plays: 1, PauseMin: float64(i)})
	}
	if _, err := st.AddProgramme(ctx, id, programme.Change{Programme: day}); err != nil {
		t.Fatal(err)
	}
	if v, err := st.Visitors(ctx); err != nil || v.Margin != timing.DefaultMargin {
		t.Fatalf("the pages' margin is %g, %v", v.Margin, err)
	}
	server := httptest.NewServer(web.New(web.Options{Store: st, Version: "test", Now: time.Now}))
	t.Cleanup(server.Close)
	page := func(path string) string {
		t.Helper()
		answer, err := http.Get(server.URL + path)
		if err != nil {
			t.Fatal(err)
		}
		defer answer.Body.Close()
		body, err := io.ReadAll(answer.Body)
		if err != nil || answer.StatusCode != http.StatusOK {
			t.Fatalf("%s: %d, %v", path, answer.StatusCode, err)
		}
		return string(body)
	}
	told := object(t, call("programme", "-machine", machine, "-rate", "4", "-pause", "1", "-json", files[0]+"@120x2", files[1]+"@72x3").out)
	span := func(key string) string { return say.Span(told[key].(float64)) }
	body := page("/programmes/1")
	for what, want := range map[string]string{
		"A day": span("day_s"), "Playing": span("playing_s"), "Pauses and changeovers": span("between_s"),
		"Changeovers":        say.Minutes(told["changeover_s"].(float64) / 60),
		"Turns of the wheel": fmt.Sprint(told["turns"]), "Marbles moved": fmt.Sprint(told["marbles"]), "Levers tripped": fmt.Sprint(told["trips"]),
		"Pulls": fmt.Sprint(told["pulls"]), "Drives": fmt.Sprint(told["drives"]),
	} {
		if line := fmt.Sprintf(`<dt>%s</dt><dd><span class="value">%s</span>`, what, want); !strings.Contains(body, line) {
			t.Errorf("the programme's page does not have %s", line)
		}
	}
	warning := told["songs"].([]any)[0].(map[string]any)["warnings"].([]any)[0].(string)
	if !strings.HasPrefix(warning, "120 BPM is not safe") || !strings.Contains(body, warning) {
		t.Errorf("the programme's page does not warn %q", warning)
	}
	for i, path := range files {
		r := call("window", "-machine", machine, "-pinning", path, "-json")
		w := object(t, r.out)["window"].(map[string]any)
		from, to := w["from_bpm"].(float64), w["to_bpm"].(float64)
		body := page(fmt.Sprintf("/pinnings/%d/window", i+1))
		for _, want := range []string{"data-window>" + say.TempoRange(from, to), say.TempoUp(w["crank_from_rpm"].(float64)) + " to " + say.TempoDown(w["crank_to_rpm"].(float64)) + " turns of the crank a minute"} {
			if !strings.Contains(body, want) {
				t.Errorf("the page of %s does not have %q", path, want)
			}
		}
	}
}
