package visitors_test

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/visitors"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/programme"
)

// withProgramme is the demo with two pinnings and a programme of them.
func withProgramme(t *testing.T) *webtest.App {
	t.Helper()
	a := webtest.StartDemo(t, web.New)
	a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	a.SetSong(t, "Mill Race", nil)
	if status, to := a.Post(t, "/programmes", url.Values{"name": {"Sunday"}, "by": {"Ada"}}); status != http.StatusSeeOther || to != "/programmes/1" {
		t.Fatalf("%d %s", status, to)
	}
	press(t, a, "add", "2")
	press(t, a, "add", "1")
	return a
}

// filledForm is the form of the programme's page as it stands, with the button
// that is pressed and the pinning that is chosen to be added.
func filledForm(t *testing.T, a *webtest.App, do, add string) url.Values {
	t.Helper()
	p, err := a.Store.Programme(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	f := visitors.FormOf(p)
	v := url.Values{"base": {fmt.Sprint(f.Base)}, "name": {f.Name}, "call": {f.Call}, "rate": {f.Rate}, "by": {"Ada"}, "do": {do}, "add": {add}}
	for _, song := range f.Songs {
		for name, value := range map[string]string{"pinning": fmt.Sprint(song.ID), "title": song.Title, "tempo": song.Tempo, "turns": song.Turns,
			"plays": song.Plays, "rest": song.Rest, "pause": song.Pause, "story": song.Story} {
			v.Add(name, value)
		}
	}
	return v
}

// press presses a button of the programme's page and returns the address that it
// leads to.
func press(t *testing.T, a *webtest.App, do, add string) string {
	t.Helper()
	status, to := a.Post(t, "/programmes/1", filledForm(t, a, do, add))
	if status != http.StatusSeeOther {
		t.Fatalf("%s: %d %s", do, status, to)
	}
	return to
}

func songTitles(t *testing.T, a *webtest.App) (titles []string) {
	t.Helper()
	p, err := a.Store.Programme(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, song := range p.Body.Songs {
		titles = append(titles, song.Title)
	}
	return titles
}

func TestProgrammeIsReorderedAndEveryChangeIsKept(t *testing.T) {
	a := withProgramme(t)
	if to := press(t, a, "up 2", ""); to != "/programmes/1?moved=1&way=up" {
		t.Errorf("up leads to %s", to)
	}
	if got := strings.Join(songTitles(t, a), ", "); got != "Nine Knocks, Mill Race" {
		t.Errorf("after up: %s", got)
	}
	press(t, a, "down 1", "")
	press(t, a, "remove 1", "")
	if got := strings.Join(songTitles(t, a), ", "); got != "Nine Knocks" {
		t.Errorf("after down and out: %s", got)
	}
	status, body := a.Get(t, "/programmes/1?version=4")
	if status != http.StatusOK || !strings.Contains(body, "This is version 4 of 6") || strings.Index(body, "Nine Knocks</h2>") > strings.Index(body, "Mill Race</h2>") {
		t.Errorf("version 4 is not as it was: %d", status)
	}
	if status, to := a.Post(t, "/programmes/1/return", url.Values{"base": {"6"}, "to": {"3"}}); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	if got := strings.Join(songTitles(t, a), ", "); got != "Mill Race, Nine Knocks" {
		t.Errorf("after the return: %s", got)
	}
	_, body = a.Get(t, "/programmes/1")
	for _, words := range []string{"add Mill Race", "move Nine Knocks up", "move Nine Knocks down", "take out Mill Race", "return to version 3"} {
		if !strings.Contains(body, words) {
			t.Errorf("the history does not tell %q", words)
		}
	}
}

// Whatever is wrong is said at once, words and numbers, in both songs.
func TestProgrammeNamesEveryWrongField(t *testing.T) {
	a := withProgramme(t)
	form := filledForm(t, a, "keep", "")
	form["tempo"], form["rest"], form["turns"] = []string{"quick", "80"}, []string{"0", "-1"}, []string{"1", "0"}
	form.Set("name", " ")
	form.Set("rate", "many")
	status, body := a.Post(t, "/programmes/1", form)
	for _, want := range []string{"Song 1, Mill Race: the tempo is ", "Song 2, Nine Knocks: the number of turns in a play is ", "Song 2, Nine Knocks: the rest between plays is ", "The programme has no name", "The rate of changeovers is "} {
		if status != http.StatusUnprocessableEntity || !strings.Contains(body, want) {
			t.Errorf("%d: %q is not said", status, want)
		}
	}
}

// What was typed comes back beside what is wrong with it, and nothing is kept.
func TestProgrammeLosesNothingThatWasTyped(t *testing.T) {
	a := withProgramme(t)
	for _, c := range []struct{ field, value, says string }{
		{"tempo", "0", "Song 1, Mill Race: the tempo is &#34;0&#34;; it should be a number of beats per minute, 1 to 1000."},
		{"tempo", "quick", "Song 1, Mill Race: the tempo is &#34;quick&#34;; it should be a number"},
		{"turns", "1.5", "Song 1, Mill Race: the number of turns in a play is &#34;1.5&#34;; it should be a whole number"},
		{"plays", "0", "Song 1, Mill Race: the number of plays in a day is &#34;0&#34;"},
		{"rest", "-1", "Song 1, Mill Race: the rest between plays is &#34;-1&#34;"},
		{"pause", "", "Song 1, Mill Race: the pause before it is missing"},
		{"rate", "5000", "The rate of changeovers is &#34;5000&#34;; it should be a number of pins a minute"},
		{"name", " ", "The programme has no name"},
		{"base", "1", "was changed by someone else meanwhile"},
		{"base", "abc", "The page&#39;s own note of the version that it changes (its field base) is &#34;abc&#34;; it should be a whole number, 1 to 3."},
		{"base", "99", "(its field base) is &#34;99&#34;; it should be a whole number, 1 to 3."},
		{"call", strings.Repeat("é", 111), "Who to call has 111 characters; the crank card has room for 110"},
		{"call", strings.Repeat("W", 100), "Who to call takes 5 lines on the crank card, which has room for 3; write it shorter (it has 100 characters)"},
		{"do", "up 1", "Song 1 cannot be moved further: it is at the end already."},
		{"do", "remove 9", "There is no song 9; the programme has 2 songs."},
		{"do", "add", "No pinning was chosen"},
		{"do", "explode 1", "cannot be moved further"},
	} {
		form := filledForm(t, a, "keep", "")
		form["story"] = []string{"Typed for long", ""}
		form.Set(c.field, c.value)
		if len(form[c.field]) == 1 && (c.field == "tempo" || c.field == "turns" || c.field == "plays" || c.field == "rest" || c.field == "pause") {
			form.Add(c.field, "1")
		}
		status, body := a.Post(t, "/programmes/1", form)
		if status < 400 || status >= 500 || !strings.Contains(body, c.says) {
			t.Errorf("%s %q: %d, want %q", c.field, c.value, status, c.says)
		}
		if !strings.Contains(body, "Typed for long") {
			t.Errorf("%s %q: what was typed is gone", c.field, c.value)
		}
	}
	if p, err := a.Store.Programme(context.Background(), 1); err != nil || p.Latest != 3 {
		t.Errorf("of what was refused a version was kept: %+v, %v", p, err)
	}
	form := filledForm(t, a, "keep", "")
	form["pinning"] = []string{"2", "99"}
	if status, body := a.Post(t, "/programmes/1", form); status != http.StatusNotFound || !strings.Contains(body, "song 2: there is no pinning 99") {
		t.Errorf("a pinning that is not there: %d", status)
	}
}

// keepWith keeps the programme with some fields changed, each for all songs, and returns
// its page.
func keepWith(t *testing.T, a *webtest.App, fields url.Values) string {
	t.Helper()
	form := filledForm(t, a, "keep", "")
	for name, values := range fields {
		form[name] = values
	}
	if status, body := a.Post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, body)
	}
	_, body := a.Get(t, "/programmes/1")
	return body
}

func wants(t *testing.T, body string, all ...string) {
	t.Helper()
	for _, want := range all {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not have %q", want)
		}
	}
}

// Mill Race's file has 714 286 µs to the quarter note, by which 84 BPM is meant.
// A tempo of more decimals is shown with one, rounded down.
func TestProgrammeAddsASongAtATempoThatCanBeRead(t *testing.T) {
	a := withProgramme(t)
	if err := a.Store.SetMargin(t.Context(), 0.01); err != nil { // so that 84 BPM are for visitors
		t.Fatal(err)
	}
	press(t, a, "add", "2")
	_, body := a.Get(t, "/programmes/1")
	wants(t, body, `name="tempo" type="text" inputmode="decimal" autocomplete="off" value="84"`)
	_, old := a.Get(t, "/programmes/1?version=4")
	wants(t, old, "84 BPM")
	if strings.Contains(body+old, "83.99") {
		t.Error("a tempo is told with all its decimals")
	}
}

// What was kept before there was a limit prints nothing rather than a part of it.
func TestProgrammeSaysWhyWhoToCallIsOnNoCard(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	body := programme.Programme{Name: "Sunday", Call: strings.Repeat("a", 150), Songs: []programme.Song{{PinningID: 1, TempoBPM: 70, Turns: 1, Plays: 1}}}
	if _, err := a.Store.AddProgramme(context.Background(), 1, programme.Change{Programme: body}); err != nil {
		t.Fatal(err)
	}
	const says = "ho to call has 150 characters; the crank card has room for 110"
	_, page := a.Get(t, "/programmes/1")
	wants(t, page, "No crank card: w"+says, "/programmes/1/visitor/1")
	if status, answer := a.Get(t, "/programmes/1/card/1?paper=A6"); status != http.StatusUnprocessableEntity || !strings.Contains(answer, "W"+says) {
		t.Errorf("the card: %d", status)
	}
}

func TestProgrammeReturnSaysWhatIsWrong(t *testing.T) {
	a := withProgramme(t)
	for _, c := range []struct{ base, to, says string }{
		{"abc", "1", "The page&#39;s own note of the latest version (its field base) is &#34;abc&#34;"},
		{"3", "0", "The page&#39;s own note of the version to return to (its field to) is &#34;0&#34;"},
	} {
		if status, body := a.Post(t, "/programmes/1/return", url.Values{"base": {c.base}, "to": {c.to}}); status != http.StatusUnprocessableEntity || !strings.Contains(body, c.says) {
			t.Errorf("%q, %q: %d", c.base, c.to, status)
		}
	}
}

func TestProgrammeWithoutSongsIsNoTrouble(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	for _, name := range []string{"", strings.Repeat("a", 300)} {
		if status, _ := a.Post(t, "/programmes", url.Values{"name": {name}}); status != http.StatusUnprocessableEntity {
			t.Errorf("a name of %d characters: %d", len(name), status)
		}
	}
	a.Post(t, "/programmes", url.Values{"name": {"Sunday"}})
	if status, body := a.Get(t, "/programmes/1"); status != http.StatusOK || !strings.Contains(body, "No songs yet") {
		t.Errorf("%d", status)
	}
	for path, status := range map[string]int{"/programmes/1/visitor/1": 404, "/programmes/1/card/1?paper=A5": 404, "/programmes/9": 404, "/programmes/1?version=7": 404, "/programmes/1?version=-1": 422} {
		if got, body := a.Get(t, path); got != status {
			t.Errorf("%s: %d, want %d: %.100s", path, got, status, body)
		}
	}
	if status, to := a.Post(t, "/programmes/1/remove", nil); status != http.StatusSeeOther || to != "/programmes" {
		t.Errorf("%d %s", status, to)
	}
	empty := webtest.Start(t, web.New)
	if status, body := empty.Get(t, "/programmes"); status != http.StatusOK || !strings.Contains(body, "Bring a machine file") {
		t.Errorf("%d", status)
	}
	if status, _ := empty.Post(t, "/programmes", url.Values{"name": {"Sunday"}}); status != http.StatusConflict {
		t.Errorf("a programme without a machine: %d", status)
	}
}

// A pinning's title may be as long as a name can be, and its song is added,
// moved and taken out like any other.
func TestProgrammeTakesSongsOfTheLongestTitle(t *testing.T) {
	a := withProgramme(t)
	if err := a.Store.RenamePinning(context.Background(), 2, strings.Repeat("鐘", wheel.MaxName)); err != nil {
		t.Fatal(err)
	}
	for _, do := range []string{"remove 1", "add", "up 2", "down 1", "remove 2"} {
		add := ""
		if do == "add" {
			add = "2"
		}
		if status, to := a.Post(t, "/programmes/1", filledForm(t, a, do, add)); status != http.StatusSeeOther {
			t.Errorf("%s: %d %s", do, status, webtest.Said(to))
		}
	}
}

// Pinnings of one title can be told apart where one is chosen.
func TestProgrammeTellsNamesakesApart(t *testing.T) {
	a := withProgramme(t)
	if err := a.Store.RenamePinning(context.Background(), 2, "Nine Knocks"); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/programmes/1", "/pinnings/1"} {
		_, body := a.Get(t, path)
		if !strings.Contains(body, ">Nine Knocks, changed ") {
			t.Errorf("%s offers two pinnings of one name", path)
		}
	}
}
