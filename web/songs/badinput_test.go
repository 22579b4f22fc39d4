package songs_test

import (
	"bytes"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

func TestFilesThatCannotBeKeptAreRefusedInWords(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	a.SetSong(t, "Nine Knocks", nil)
	knocks, machine := demo.Songs()[2].Bytes, webtest.MachineFile(t, nil)
	a.RefusesFile(t, "JSON as a song", "/songs", machine, 422, "the-file", "MIDI")
	a.RefusesFile(t, "truncated header of a song", "/songs", knocks[:9], 422, "the-file")
	a.RefusesFile(t, "empty song", "/songs", nil, 422, "the-file")
	a.RefusesFile(t, "song too large", "/songs", append(bytes.Clone(knocks), make([]byte, song.MaxBytes)...), 413, "the-file is larger than 8 MiB")
}

func TestGoodSongsAreKeptBesideABadOne(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	status, page := a.BringAll(t, "/songs",
		webtest.File("one.mid", webtest.MIDIFile(0, "First Light")), webtest.File("broken.mid", []byte("MThd")), webtest.File("two.mid", webtest.MIDIFile(0, "Second Sieve")))
	webtest.Expect(t, status, page, 422, "Not added: broken.mid")
	// What went well stands before the box of what went wrong, with a link each, and
	// that box is no alarm.
	if good, bad, _ := strings.Cut(page, `role="alert"`); !addedLink(a, t, good, "First Light") || !addedLink(a, t, good, "Second Sieve") || strings.Contains(page, `class="problem" role="alert"`+">") || strings.Contains(page, "warning stop") || !strings.Contains(bad, "broken.mid") {
		t.Errorf("it says %s", webtest.Said(page))
	}
	a.SongID(t, "First Light")
	a.SongID(t, "Second Sieve")
	if got := a.Kept(t); got[1] != 5 {
		t.Errorf("%d songs, want the demo's 3 and 2", got[1])
	}
}

// addedLink reports whether the news of a page lead to a song.
func addedLink(a *webtest.App, t *testing.T, page, title string) bool {
	t.Helper()
	news, _, _ := strings.Cut(page, "<table")
	return regexp.MustCompile(fmt.Sprintf(`<a href="/songs/%d"[^>]*><bdi>%s</bdi></a>`, a.SongID(t, title), title)).MatchString(news)
}

// In a file of format 2 every track is a song of its own (SMF 1.0).
func TestEverySongOfAFormat2FileIsKept(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	file := webtest.MIDIFile(2, "Grist", "Chaff", "Bran")
	status, to := a.Bring(t, "/songs", "sack.mid", file)
	if status != http.StatusSeeOther || !strings.HasPrefix(to, "/songs?added=") {
		t.Fatalf("%d: %.200s", status, to)
	}
	status, page := a.Get(t, to)
	webtest.Expect(t, status, page, 200, "3 songs added")
	for _, title := range []string{"Grist", "Chaff", "Bran"} {
		if !addedLink(a, t, page, title) {
			t.Errorf("%s was added, and there is no link to it", title)
		}
	}
	for i, title := range []string{"Grist", "Chaff", "Bran"} {
		path := fmt.Sprintf("/songs/%d", a.SongID(t, title))
		status, page := a.Get(t, path)
		// The track's one note: 72 is C5, and so on upwards.
		webtest.Expect(t, status, page, 200, title, []string{"C5 to C5", "C♯5 to C♯5", "D5 to D5"}[i])
		if _, got := a.Get(t, path+"/file"); got != string(file) {
			t.Errorf("%s: the file has changed", title)
		}
	}
	before := a.Kept(t)
	if status, to := a.Bring(t, "/songs", "again.mid", file); status != http.StatusSeeOther || a.Kept(t) != before {
		t.Errorf("a second time: %d %s, kept %v", status, to, a.Kept(t))
	}
	if status, page := a.Get(t, "/songs?added=7,-1,abc,99999999999999999999,999"); status != 200 || strings.Contains(webtest.Said(page), "added:") {
		t.Errorf("songs that are not there: %d", status)
	}
}

func TestFormValuesThatCannotBeSetAreRefusedInWords(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := fmt.Sprintf("/songs/%d", a.SongID(t, "Nine Knocks"))
	before := a.Kept(t)
	for _, c := range []struct{ field, value, says string }{
		{"from_bar", "0", `From bar is "0"; it should be a whole number from 1.`},
		{"from_bar", "-1", `From bar is "-1"; it should be a whole number from 1.`},
		{"from_bar", "abc", `From bar is "abc"; it should be a whole number from 1.`},
		{"from_bar", "1.5", `From bar is "1.5"; it should be a whole number from 1.`},
		{"from_bar", "99", "past the song's end; the last bar is"},
		{"from_bar", "99999999999999999999", "it should be a whole number from 1"},
		{"bars", "0", `Number of bars is "0"; it should be a whole number from 1.`},
		{"bars", "-3", "it should be a whole number from 1."},
		{"bars", "999", "999 bars"},
		{"bars", "1e3", `Number of bars is "1e3"`},
		{"transpose", "loud", "loud"},
		{"transpose", "999", "999"},
		{"transpose", "1.5", "1.5"},
		{"tempo", "0", `The tempo is "0"; it should be a number of beats per minute from 1 to 1000.`},
		{"tempo", "-84", `The tempo is "-84"`},
		{"tempo", "NaN", `The tempo is "NaN"`},
		{"tempo", "Inf", `The tempo is "Inf"`},
		{"tempo", "1e9", `The tempo is "1e9"`},
		{"tempo", ",", `The tempo is ","`},
		{"tempo", "<script>", `The tempo is "<script>"`},
		{"tempo", strings.Repeat("8", 5000), strings.Repeat("8", 40) + "…"},
	} {
		t.Run(c.field+"="+c.value[:min(9, len(c.value))], func(t *testing.T) {
			form := url.Values{"from_bar": {"1"}, "transpose": {"auto"}, "bars": {"2"}}
			form.Set(c.field, c.value)
			status, page := a.Post(t, path+"/pinnings", form)
			webtest.Expect(t, status, page, 422, c.says)
			if !strings.Contains(page, `value="`+html.EscapeString(c.value)) && c.value != "<script>" {
				t.Errorf("what was filled in is lost")
			}
			if strings.Contains(page, "<script>") {
				t.Errorf("text of a form stands unescaped")
			}
			status, page = a.Get(t, path+"?"+form.Encode())
			webtest.Expect(t, status, page, 200, c.says)
			if got := a.Kept(t); got != before {
				t.Errorf("kept %v, was %v", got, before)
			}
		})
	}
	// A comma as decimal mark is what half of Europe types.
	if to := a.SetSong(t, "Nine Knocks", url.Values{"tempo": {" 84,5 "}}); to == "" {
		t.Error("84,5 is a tempo")
	}
	status, page := a.Post(t, path+"/pinnings", url.Values{"x": {"%zz"}})
	if status != http.StatusSeeOther {
		t.Errorf("a form without its fields is set with the usual choices: %d %.100s", status, page)
	}
	r := httptest.NewRequest("POST", a.URL+path+"/pinnings", strings.NewReader("tempo=%zz"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if status, page := a.Send(t, r); status != http.StatusBadRequest {
		t.Errorf("a damaged form: %d %.100s", status, page)
	}
}

func TestChoicesThatCannotBeAreRefusedInWords(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := fmt.Sprintf("/songs/%d", a.SongID(t, "Nine Knocks"))
	before := a.Kept(t)
	many := strings.Repeat(`&refuse=["dropped","bar-c5",0,"bar-c5",0]`, 501)
	for _, c := range []struct{ query, says string }{
		{"group_9_1=bar", "The song has no part on MIDI channel 1 in track 9; it has 4 parts: track 2 channel 1"},
		{"play_2_16=on", "The song has no part on MIDI channel 16 in track 2"},
		{"octave_2_17=1", `The form has a field "octave_2_17"; a part is named by its track and its MIDI channel, as in octave_1_10.`},
		{"lack_=same", `The form has a field "lack_"`},
		{"group_99999999999999999999_1=bar", `The form has a field "group_99999999999999999999_1"`},
		{"group_02_1=bar", `The form has a field "group_02_1"`},
		{"group_2_1=gong", "gong"},
		{"group_2_1=bell", "Hailstone has bar"},
		{"octave_2_1=99", `The octave shift of Knocks is "99"; it should be a whole number from −10 to 10.`},
		{"octave_2_1=1.5", `The octave shift of Knocks is "1.5"`},
		{"octave_2_1=up", `The octave shift of Knocks is "up"`},
		{"lack_2_1=luck", `is "luck"; it should be nothing, same, octave or both.`},
		{"perc_300=36", `The percussion table has key "300"; MIDI has keys 0 to 127.`},
		{"perc_-1=36", `The percussion table has key "-1"`},
		{"perc_x=36", `The percussion table has key "x"`},
		{"perc_36=300", `The percussion table sends Bass Drum 1 (36) to "300"; it should be a key from 0 to 127, or "out" to leave it out.`},
		{"perc_36=loud", `to "loud"`},
		{"take=x", `A decision on a change is "x"; it should be as in ["shifted","bar-c5",14,"bar-c5",15].`},
		{`take=["shifted","bar-c5",14,"bar-c5"]`, "it should be as in"},
		{`take=["shifted","bar-c5",1e99,"bar-c5",15]`, "it should be as in"},
		{`take=["shifted","bar-c5",14,"bar-c5",15,{"a":[]}]`, "it should be as in"},
		{`take=["dropped","bar-c5",0,"bar-c5",0]&refuse=["dropped","bar-c5",0,"bar-c5",0]`, `The change of the note on "bar-c5", step 0, is both kept and refused; it can be one of them.`},
		{many[1:], "There are 501 decisions on changes; 500 are the most."},
	} {
		t.Run(c.query[:min(len(c.query), 40)], func(t *testing.T) {
			form, err := url.ParseQuery("from_bar=1&transpose=0&ease=on&tempo=150&" + c.query)
			if err != nil {
				t.Fatal(err)
			}
			status, page := a.Get(t, path+"?"+form.Encode())
			webtest.Expect(t, status, page, 200, c.says)
			status, page = a.Post(t, path+"/pinnings", form)
			webtest.Expect(t, status, page, 422, c.says)
			if status, body := a.Get(t, path+"/strikes?"+form.Encode()); status != 422 {
				t.Errorf("its strikes: %d %.200s", status, body)
			}
			if got := a.Kept(t); got != before {
				t.Errorf("kept %v, was %v", got, before)
			}
		})
	}
}

// A part of a page is asked for with HX-Request; nothing stands around it.
func TestPartsOfPagesStandAlone(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	song := fmt.Sprintf("/songs/%d", a.SongID(t, "Nine Knocks"))
	for _, c := range []struct {
		path string
		want int
		says string
	}{
		{song + "?from_bar=1&transpose=auto&tempo=150", 200, "107.1 BPM"},
		{song + "?from_bar=99", 200, "past the song's end"},
		{"/songs/99", 404, "song"},
	} {
		status, part := a.Part(t, c.path)
		webtest.Expect(t, status, part, c.want, c.says)
		if strings.Contains(part, "<html") || strings.Contains(part, "<main") {
			t.Errorf("%s: a whole page", c.path)
		}
	}
}
