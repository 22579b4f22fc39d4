package songs_test

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/page"
	"pinwright/web/webtest"
	"pinwright/wheel/arrange"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

// drum is a percussion note, at so many quarters.
func drum(quarter int64, key uint8) song.Note { return webtest.Note(10, quarter, key) }

func tone(quarter int64, key uint8) song.Note { return webtest.Note(1, quarter, key) }

// Mill Race has 428 notes, 128 of them in the tune, track 2 on channel 1; its
// one C♯5 is in the water, track 3 on channel 2, and Hailstone's Bar C♯5 rests
// (wheel/demo).
func TestPartsAreSwitchedOffAndSaidToBe(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := fmt.Sprintf("/songs/%d", a.SongID(t, "Mill Race"))
	status, page := a.Get(t, path)
	webtest.Expect(t, status, page, 200, "427 of 428 notes get a pin", "Tune, channel 1 128 128 0 0 0", "Water, channel 2 125 124 0 1 0",
		"C♯5, 1 note → left out: Bar C♯5 is resting")
	status, page = a.Get(t, path+"?from_bar=1&transpose=0&play_2_1=off")
	webtest.Expect(t, status, page, 200, "299 of 300 notes get a pin", "Tune, channel 1 off")
	// What a browser sends: boxes that are not ticked are not there.
	status, page = a.Get(t, path+"?from_bar=1&transpose=0&parts=1&group_2_1=&play_3_2=on&group_3_2=&group_4_3=&play_4_3=on&group_5_10=&play_5_10=on")
	webtest.Expect(t, status, page, 200, "299 of 300 notes get a pin", "Tune, channel 1 off")
	status, page = a.Get(t, path+"?from_bar=1&transpose=0&parts=1&group_2_1=&group_3_2=&group_4_3=&group_5_10=")
	webtest.Expect(t, status, page, 200, "switched off")
}

// Hailstone has C5 among its bars, which go from G4 to C6, and C3, D3, F3 and
// G3 among its tubes (wheel/demo).
func TestAKeyWithoutAChannelGetsWhatItsPartSays(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.AddSong(t, "Lone", 96*4, tone(0, 72))
	for query, want := range map[string]string{
		"group_1_1=tube":                 "C5, 1 note → left out: none of the tubes has it",
		"group_1_1=tube&lack_1_1=octave": "C5, 1 note → Tube C3, 2 octaves lower",
		"group_1_1=tube&lack_1_1=same":   "C5, 1 note → Bar C5, the same pitch",
		"group_1_1=tube&lack_1_1=both":   "C5, 1 note → Bar C5, the same pitch",
		"octave_1_1=-1":                  "C5 (here C4), 1 note → left out: no channel has it",
		"octave_1_1=6":                   "C5, 1 note → left out: it is beyond MIDI’s keys",
	} {
		status, page := a.Get(t, path+"?from_bar=1&transpose=0&"+query)
		webtest.Expect(t, status, page, 200, want)
	}
}

// The rows of transposition go from an octave down to an octave up, and the
// chosen one is ticked.
func TestEveryTranspositionOfAnOctaveCanBeChosen(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := fmt.Sprintf("/songs/%d?from_bar=1&transpose=", a.SongID(t, "Nine Knocks"))
	for _, c := range []struct {
		value string
		rows  int // and that of auto
	}{{"auto", 26}, {"-12", 26}, {"0", 26}, {"12", 26}, {"19", 27}} {
		_, page := a.Get(t, path+c.value)
		radios := regexp.MustCompile(`<input id="transpose-[^>]*>`).FindAllString(page, -1)
		if len(radios) != c.rows {
			t.Errorf("%s: %d choices, want %d", c.value, len(radios), c.rows)
		}
		for _, radio := range radios {
			if got, want := strings.Contains(radio, "checked"), strings.Contains(radio, `value="`+c.value+`"`); got != want {
				t.Errorf("%s: %s", c.value, radio)
			}
		}
	}
}

// Hailstone has a Low Drum (36) and no tom; a low floor tom (41) is nearest to
// it among what there is, as arrange.SuggestPercussion has it.
func TestPercussionIsSuggestedAndChosen(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.AddSong(t, "Toms", 96*8, tone(0, 72), drum(0, 41), drum(1, 41), drum(4, 36))
	status, page := a.Get(t, path+"?from_bar=1&bars=1&transpose=0")
	webtest.Expect(t, status, page, 200, "1 of 3 notes get a pin", "Low Floor Tom (41) 2", "Bass Drum 1 (36) 0")
	status, page = a.Get(t, path+"?from_bar=1&bars=1&transpose=0&suggest=percussion")
	webtest.Expect(t, status, page, 200, "3 of 3 notes get a pin")
	to := arrange.SuggestPercussion(demo.Machine())[41]
	if want := fmt.Sprintf(`<option value="%d" selected>`, to); !strings.Contains(page, want) {
		t.Errorf("the page has no %s", want)
	}
	status, page = a.Get(t, path+"?from_bar=1&bars=1&transpose=0&perc_41=out")
	webtest.Expect(t, status, page, 200, "1 of 3 notes get a pin", "Low Floor Tom (41), 2 notes → left out, as the percussion table says")
}

func TestSongsThatAreHardlySongsSayWhatCanBeDone(t *testing.T) {
	a, bare := webtest.StartDemo(t, web.New), webtest.Start(t, web.New)
	status, page := a.Get(t, a.AddSong(t, "Silence", 96*4))
	webtest.Expect(t, status, page, 200, "The song has no notes, so there is nothing to set.")
	status, page = a.Get(t, a.AddSong(t, "Knock", 96*4, drum(0, 36)))
	webtest.Expect(t, status, page, 200, "1 of 1 note get a pin", "The section is all percussion, which keeps its keys")
	status, page = bare.Get(t, bare.AddSong(t, "Early", 96*4, tone(0, 72)))
	webtest.Expect(t, status, page, 200, "There is no machine yet.", "C5 to C5")
	status, page = bare.Get(t, "/songs/1/strikes")
	if status != http.StatusConflict || !strings.Contains(page, "no machine") {
		t.Errorf("strikes without a machine: %d %s", status, page)
	}
}

// Sixteen beats whose second note comes after two thirds of the beat: swung, 2
// to 1. On four steps a beat ⅔ lies 1/12 of a beat from ¾, at the song's 120
// BPM 500/12 = 41.7 ms; straightened it falls on ½, on a step (worked by hand).
func TestSwingIsKeptOrStraightened(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	var notes []song.Note
	for beat := range int64(16) {
		long, short := tone(beat, 72), tone(beat, 76)
		short.Tick += 64
		notes = append(notes, long, short)
	}
	path := a.AddSong(t, "Lilt", 4*4*96, notes...)
	status, page := a.Get(t, path+"?from_bar=1&transpose=0")
	webtest.Expect(t, status, page, 200, "the beats are swung, 2 to 1", "Farthest that a placed note is off the grid 41.7 ms", "bar 1 beat 1: 41.7 ms at worst, 1 note")
	if !strings.Contains(page, `name="straighten" value="" checked`) {
		t.Error("swing is not kept to begin with")
	}
	status, page = a.Get(t, path+"?from_bar=1&transpose=0&straighten=on")
	webtest.Expect(t, status, page, 200, "Farthest that a placed note is off the grid 0 ms")
	if !strings.Contains(page, `name="straighten" value="on" checked`) {
		t.Error("what was chosen is not ticked")
	}
}

// A decision holds for a note. On other notes it is set aside, with a word, and
// nothing is kept until that has been seen.
func TestDecisionsOnOtherNotesAreSetAside(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := fmt.Sprintf("/songs/%d", a.SongID(t, "Nine Knocks"))
	before := a.Kept(t)
	form := url.Values{"from_bar": {"1"}, "transpose": {"0"}, "ease": {"on"}, "tempo": {"150"}, "refuse": {`["dropped","bar-c5",201,"bar-c5",201]`}}
	status, page := a.Get(t, path+"?"+form.Encode())
	webtest.Expect(t, status, page, 200, "so they were not used", "a note of Bar C5 at step 201", "26 of 26 notes get a pin")
	if strings.Contains(page, `name="refuse" value="[&#34;dropped`) {
		t.Error("it is still in the form")
	}
	status, page = a.Post(t, path+"/pinnings", form)
	webtest.Expect(t, status, page, 422, "so they were not used")
	if got := a.Kept(t); got != before {
		t.Errorf("kept %v, was %v", got, before)
	}
}

// A wheel of 16 bars on a song of 20 bars: 16 from bars 1 to 5, then one fewer
// each bar, 15 down to 1 (worked by hand).
func TestTheMapKnowsWhatFitsFromEachBar(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.AddSong(t, "Twenty", 20*4*96, tone(0, 72), tone(79, 72))
	_, page := a.Get(t, path)
	for _, want := range []string{`data-bars="20"`, `data-fits="16×5 15 14 13 12 11 10 9 8 7 6 5 4 3 2 1"`, "Bars 1 to 16 of 20"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page has no %s", want)
		}
	}
}

// A page that is open is sent what changes, and the address that asks for it.
func TestAnOpenPageGetsOnlyWhatChanges(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := fmt.Sprintf("/songs/%d", a.SongID(t, "Mill Race"))
	ask := func(query string) (string, string) {
		r := httptest.NewRequest("GET", a.URL+path+query, nil)
		r.RequestURI = ""
		r.Header.Set("HX-Request", "true")
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer answer.Body.Close()
		var b bytes.Buffer
		_, _ = b.ReadFrom(answer.Body)
		return b.String(), answer.Header.Get("HX-Replace-Url")
	}
	page, address := ask("?from_bar=2&bars=3&transpose=-2&parts=1&group_2_1=&play_3_2=on&play_4_3=on&octave_4_3=0&play_5_10=on")
	if strings.Contains(page, "<html") || !strings.Contains(page, `id="outcome" hx-swap-oob`) {
		t.Errorf("it gets %.200s", page)
	}
	if want := path + "?bars=3&from_bar=2&play_2_1=off&transpose=-2"; address != want {
		t.Errorf("the address is %q, want %q", address, want)
	}
	page, address = ask("?from_bar=99")
	if !strings.Contains(page, "past the song") || strings.Contains(page, `id="outcome"`) || address != "" {
		t.Errorf("of what cannot be set it gets %q and %.300s", address, page)
	}
}

func TestTheStrikesAreThoseOfTheForm(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := fmt.Sprintf("/songs/%d/strikes", a.SongID(t, "Nine Knocks"))
	strikes := func(query string) page.StrikesAnswer {
		t.Helper()
		return a.Strikes(t, path+query)
	}
	// Nine Knocks has 26 notes, 9 of them in its first track (wheel/demo).
	if got := len(strikes("").Strikes); got != 26 {
		t.Errorf("%d strikes, want 26", got)
	}
	if got := len(strikes("?from_bar=1&transpose=0&play_2_1=off").Strikes); got != 17 {
		t.Errorf("%d strikes without the knocks, want 17", got)
	}
	if got := strikes("?from_bar=1&tempo=60&as=played").TempoBPM; got != 60 {
		t.Errorf("at %v BPM, want 60", got)
	}
	status, body := a.Get(t, path+"?from_bar=99")
	if status != 422 || !strings.Contains(body, "past the song") {
		t.Errorf("past the end: %d %s", status, body)
	}
}
