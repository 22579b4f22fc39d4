package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// withProgramme is the demo with two pinnings and a programme of them.
func withProgramme(t *testing.T) *app {
	t.Helper()
	a := newDemo(t)
	a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	a.keepPinning(t, "Mill Race", nil)
	if status, to := a.post(t, "/programmes", url.Values{"name": {"Sunday"}, "by": {"Ada"}}); status != http.StatusSeeOther || to != "/programmes/1" {
		t.Fatalf("%d %s", status, to)
	}
	a.act(t, "add", "2")
	a.act(t, "add", "1")
	return a
}

// keepSunday keeps a programme of the pinnings 1 and 2, the second at a tempo
// above its window.
func (a *app) keepSunday(t *testing.T) {
	t.Helper()
	body := programme.Programme{Name: "Sunday", Call: "The workshop, 12", PinsPerMin: 4, Songs: []programme.Song{
		{PinningID: 1, TempoBPM: 80, Turns: 2, Plays: 6, RestMin: 5, Story: "Nine knocks at the mill door, and nobody is there.\nWho turns the crank knocks."},
		{PinningID: 2, TempoBPM: 150, Turns: 1, Plays: 4, RestMin: 5, PauseMin: 20},
	}}
	ctx := context.Background()
	id, err := a.store.AddProgramme(ctx, 1, programme.Change{By: "Ada", Text: "begin the programme", Programme: body})
	if err != nil {
		t.Fatal(err)
	}
	body.Songs[0].Plays = 8
	if _, err := a.store.ChangeProgramme(ctx, id, programme.Change{Base: 1, By: "Ben", Text: "change the programme", Programme: body}); err != nil {
		t.Fatal(err)
	}
}

// form is the programme's page as it stands, to be sent again.
func (a *app) form(t *testing.T, do, add string) url.Values {
	t.Helper()
	p, err := a.store.Programme(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	f := formOf(p)
	v := url.Values{"base": {fmt.Sprint(f.Base)}, "name": {f.Name}, "call": {f.Call}, "rate": {f.Rate}, "by": {"Ada"}, "do": {do}, "add": {add}}
	for _, song := range f.Songs {
		for name, value := range map[string]string{"pinning": fmt.Sprint(song.ID), "title": song.Title, "tempo": song.Tempo, "turns": song.Turns,
			"plays": song.Plays, "rest": song.Rest, "pause": song.Pause, "story": song.Story} {
			v.Add(name, value)
		}
	}
	return v
}

func (a *app) act(t *testing.T, do, add string) string {
	t.Helper()
	status, to := a.post(t, "/programmes/1", a.form(t, do, add))
	if status != http.StatusSeeOther {
		t.Fatalf("%s: %d %s", do, status, to)
	}
	return to
}

func (a *app) songs(t *testing.T) (titles []string) {
	t.Helper()
	p, err := a.store.Programme(context.Background(), 1)
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
	if to := a.act(t, "up 2", ""); to != "/programmes/1?moved=1&way=up" {
		t.Errorf("up leads to %s", to)
	}
	if got := strings.Join(a.songs(t), ", "); got != "Nine Knocks, Mill Race" {
		t.Errorf("after up: %s", got)
	}
	a.act(t, "down 1", "")
	a.act(t, "remove 1", "")
	if got := strings.Join(a.songs(t), ", "); got != "Nine Knocks" {
		t.Errorf("after down and out: %s", got)
	}
	status, body := a.get(t, "/programmes/1?version=4")
	if status != http.StatusOK || !strings.Contains(body, "This is version 4 of 6") || strings.Index(body, "Nine Knocks</h2>") > strings.Index(body, "Mill Race</h2>") {
		t.Errorf("version 4 is not as it was: %d", status)
	}
	if status, to := a.post(t, "/programmes/1/return", url.Values{"base": {"6"}, "to": {"3"}}); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	if got := strings.Join(a.songs(t), ", "); got != "Mill Race, Nine Knocks" {
		t.Errorf("after the return: %s", got)
	}
	_, body = a.get(t, "/programmes/1")
	for _, words := range []string{"add Mill Race", "move Nine Knocks up", "move Nine Knocks down", "take out Mill Race", "return to version 3"} {
		if !strings.Contains(body, words) {
			t.Errorf("the history does not tell %q", words)
		}
	}
}

// Nine Knocks, two turns at 80 BPM: 64 beats a turn are 48 s, so a play takes 96
// s, and 5 plays with 3 minutes between them 8 min and 12 min (worked by hand).
func TestProgrammeAddsUpItsDay(t *testing.T) {
	ctx := context.Background()
	a := withProgramme(t)
	a.act(t, "remove 1", "")
	form := a.form(t, "keep", "")
	form.Set("tempo", "80")
	form.Set("turns", "2")
	form.Set("plays", "5")
	form.Set("rest", "3")
	form.Set("pause", "1,5")
	if status, to := a.post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	p, err := a.store.Pinning(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	_, body := a.get(t, "/programmes/1")
	for _, want := range []string{
		"<dt>of it playing</dt><dd>8 min</dd>", "<dt>rests between plays</dt><dd>12 min</dd>", "<dt>pauses and changeovers in them</dt><dd>1 min 30 s</dd>",
		"<dt>A day</dt><dd>21 min 30 s</dd>", "<dt>A play</dt><dd>1 min 36 s</dd>", "<dt>Turns of the wheel</dt><dd>10</dd>",
		fmt.Sprintf("<dt>Marbles moved</dt><dd>%d</dd>", 10*p.Pins), fmt.Sprintf("<dt>Levers tripped</dt><dd>%d</dd>", 10*p.Pins),
	} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not have %q", want)
		}
	}
}

func TestProgrammeWarns(t *testing.T) {
	ctx := context.Background()
	a := withProgramme(t)
	form := a.form(t, "keep", "")
	form["tempo"] = []string{"175", "80"}
	form["pause"] = []string{"0", "15"}
	form.Set("rate", "2")
	if status, to := a.post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	status, body := a.get(t, "/programmes/1")
	if status != http.StatusOK || !strings.Contains(body, "175 BPM is above its window") {
		t.Errorf("%d: no warning of the tempo", status)
	}
	if !strings.Contains(body, "The changeover from Mill Race takes") || !strings.Contains(body, "the pause before it is 15 minutes.") {
		t.Error("no warning of the pause")
	}
	if !strings.Contains(body, "No crank card and no visitors’ screen: the tempo, 175 BPM, is above the red line") {
		t.Error("it is not said why there is neither card nor screen for a tempo that is not safe")
	}
	for what, link := range map[string]string{"card": "/programmes/1/card/1?", "screen": "/programmes/1/visitor/1\""} {
		if strings.Contains(body, link) {
			t.Errorf("there is a %s for a tempo that is not safe", what)
		}
	}
	if !strings.Contains(body, "/programmes/1/card/2?") || !strings.Contains(body, "/programmes/1/visitor/2\"") {
		t.Error("there is no card or screen for a tempo that is safe")
	}
	if status, body := a.get(t, "/programmes/1/card/1?paper=A5"); status != http.StatusUnprocessableEntity || !strings.Contains(body, "above the red line") {
		t.Errorf("the card: %d", status)
	}
	form = a.form(t, "keep", "")
	form["pause"] = []string{"0", "900"}
	if status, to := a.post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	if _, body = a.get(t, "/programmes/1"); !strings.Contains(body, "the pause of 15 h 00 min is enough") {
		t.Error("a pause that is enough is not told")
	}
	m, err := a.store.Machine(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	m.File.Channel("bar-c5")
	file := m.File.Clone()
	file.Channels[file.Channel("bar-c5")].Service = "resting"
	if err := a.store.ReplaceMachine(ctx, 1, m.Revision, file); err != nil {
		t.Fatal(err)
	}
	if _, body = a.get(t, "/programmes/1"); !strings.Contains(body, "Bar C5 is resting.") {
		t.Error("no warning of the resting channel")
	}
	if err := a.store.RemovePinning(ctx, 2); err != nil {
		t.Fatal(err)
	}
	status, body = a.get(t, "/programmes/1")
	if status != http.StatusOK || !strings.Contains(body, "The pinning Mill Race was removed") {
		t.Errorf("%d: no word of the pinning that was removed", status)
	}
	for _, path := range []string{"/programmes/1/visitor/1", "/programmes/1/card/1?paper=A5"} {
		if status, body := a.get(t, path); status != http.StatusNotFound || !strings.Contains(body, "Mill Race was removed") {
			t.Errorf("%s: %d", path, status)
		}
	}
}

// What was typed comes back beside what is wrong with it, and nothing is kept.
func TestProgrammeLosesNothingThatWasTyped(t *testing.T) {
	a := withProgramme(t)
	for _, c := range []struct{ field, value, says string }{
		{"tempo", "0", "song 1, Mill Race: the tempo in BPM is 0; it should be 1 to 1000"},
		{"tempo", "quick", "song 1, Mill Race: the tempo is &#34;quick&#34;; it should be a number"},
		{"turns", "1.5", "song 1, Mill Race: the number of turns is &#34;1.5&#34;; it should be a whole number"},
		{"plays", "0", "song 1, Mill Race: the number of plays in a day is 0"},
		{"rest", "-1", "song 1, Mill Race: the rest between plays, in minutes, is −1"},
		{"pause", "", "song 1, Mill Race: the pause before it is &#34;&#34;"},
		{"rate", "5000", "the rate of changeovers, in pins a minute, is 5000"},
		{"name", " ", "the programme has no name"},
		{"base", "1", "was changed by someone else meanwhile"},
		{"base", "abc", "The page&#39;s own note of the version that it changes (its field base) is &#34;abc&#34;; it should be a whole number, 1 to 3."},
		{"base", "99", "(its field base) is &#34;99&#34;; it should be a whole number, 1 to 3."},
		{"call", strings.Repeat("é", 111), "who to call has 111 characters; the crank card has room for 110"},
		{"call", strings.Repeat("W", 100), "who to call takes 5 lines on the crank card, which has room for 3; write it shorter (it has 100 characters)"},
		{"do", "up 1", "Song 1 cannot be moved there: it is at the end."},
		{"do", "remove 9", "Song 9 is asked for, and the programme has 2 songs."},
		{"do", "add", "No pinning was chosen"},
		{"do", "explode 1", "cannot be moved there"},
	} {
		form := a.form(t, "keep", "")
		form["story"] = []string{"Typed for long", ""}
		form.Set(c.field, c.value)
		if len(form[c.field]) == 1 && (c.field == "tempo" || c.field == "turns" || c.field == "plays" || c.field == "rest" || c.field == "pause") {
			form.Add(c.field, "1")
		}
		status, body := a.post(t, "/programmes/1", form)
		if status < 400 || status >= 500 || !strings.Contains(body, c.says) {
			t.Errorf("%s %q: %d, want %q", c.field, c.value, status, c.says)
		}
		if !strings.Contains(body, "Typed for long") {
			t.Errorf("%s %q: what was typed is gone", c.field, c.value)
		}
	}
	if p, err := a.store.Programme(context.Background(), 1); err != nil || p.Latest != 3 {
		t.Errorf("of what was refused a version was kept: %+v, %v", p, err)
	}
	form := a.form(t, "keep", "")
	form["pinning"] = []string{"2", "99"}
	if status, body := a.post(t, "/programmes/1", form); status != http.StatusNotFound || !strings.Contains(body, "song 2: there is no pinning 99") {
		t.Errorf("a pinning that is not there: %d", status)
	}
}

// moves counts what two pinnings do not share, which is what has to be pulled and
// driven.
func (a *app) moves(t *testing.T, from, to int64) (pulls, drives int) {
	t.Helper()
	type hole struct {
		channel string
		step    int
	}
	pins := func(id int64) map[hole]bool {
		p, err := a.store.Pinning(context.Background(), id)
		if err != nil {
			t.Fatal(err)
		}
		set := map[hole]bool{}
		for _, pin := range p.File.Pins {
			set[hole{pin.Channel, pin.Step}] = true
		}
		return set
	}
	was, will := pins(from), pins(to)
	for h := range was {
		if !will[h] {
			pulls++
		}
	}
	for h := range will {
		if !was[h] {
			drives++
		}
	}
	return pulls, drives
}

// keptWith keeps the programme with some fields other, each for all songs, and is its
// page then.
func (a *app) keptWith(t *testing.T, fields url.Values) string {
	t.Helper()
	form := a.form(t, "keep", "")
	for name, values := range fields {
		form[name] = values
	}
	if status, body := a.post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, body)
	}
	_, body := a.get(t, "/programmes/1")
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

// At a rate of one pin a second, 60 a minute, a changeover takes as many seconds as
// there are pulls and drives. Mill Race at 64 BPM takes a minute for a turn of 64
// beats, Nine Knocks too (worked by hand).
func TestProgrammeGapIsTheGreaterOfPauseAndChangeover(t *testing.T) {
	a := withProgramme(t)
	pulls, drives := a.moves(t, 2, 1)
	work := float64(pulls + drives)
	for _, c := range []struct {
		pause string
		gapS  float64
	}{{"1", work}, {"60", 3600}} {
		body := a.keptWith(t, url.Values{"rate": {"60"}, "tempo": {"64", "64"}, "pause": {"2", c.pause}})
		wants(t, body,
			"<dt>of it playing</dt><dd>2 min</dd>",
			"<dt>pauses and changeovers in them</dt><dd>"+say.Span(120+c.gapS)+"</dd>",
			"<dt>A day</dt><dd>"+say.Span(120+120+c.gapS)+"</dd>",
			fmt.Sprintf("<dt>Changeovers</dt><dd>%d minutes</dd>", (pulls+drives+59)/60),
			fmt.Sprintf("<dt>Pulls and drives in changeovers</dt><dd>%d and %d</dd>", pulls, drives))
	}
	if work <= 60 || work >= 3600 {
		t.Errorf("the changeover takes %g s, which is not between the two pauses", work)
	}
}

// The first song is put on before the public comes: a warning of its own kind, in
// the day's changeovers and no part of the day.
func TestProgrammeSaysWhatIsDoneBeforeTheDayBegins(t *testing.T) {
	a := withProgramme(t)
	wants(t, a.keptWith(t, nil), "What is on the wheel now is not known")
	if err := a.store.SayOnWheel(context.Background(), 1, 1); err != nil {
		t.Fatal(err)
	}
	pulls, drives := a.moves(t, 1, 2)
	there, back := a.moves(t, 2, 1)
	wants(t, a.keptWith(t, nil), fmt.Sprintf(`<p class="note song-warning">Before the day begins: %d pulls and %d drives. On the wheel now is Nine Knocks;`, pulls, drives))
	body := a.keptWith(t, url.Values{"rate": {"60"}, "tempo": {"64", "64"}, "pause": {"0", "60"}})
	wants(t, body,
		fmt.Sprintf(`<p class="note song-warning">Before the day begins: about %d minutes. On the wheel now is Nine Knocks;`, (pulls+drives+59)/60),
		fmt.Sprintf("<dt>of them before the day begins</dt><dd>%d minutes</dd>", (pulls+drives+59)/60),
		fmt.Sprintf("<dt>Changeovers</dt><dd>%d minutes</dd>", (pulls+drives+there+back+59)/60),
		"<dt>A day</dt><dd>1 h 02 min</dd>") // two plays of a minute, and the pause
	if err := a.store.SayOnWheel(context.Background(), 1, 2); err != nil {
		t.Fatal(err)
	}
	if body = a.keptWith(t, nil); !strings.Contains(body, "It is on the wheel now.") || strings.Contains(body, "Before the day begins") {
		t.Error("a song that is on the wheel has to be put there")
	}
}

// No pause is too short at any rate, and so it is where no rate is known.
func TestProgrammeWarnsOfAChangeoverWithoutAPause(t *testing.T) {
	a := withProgramme(t)
	pulls, drives := a.moves(t, 2, 1)
	work := fmt.Sprintf("The changeover from Mill Race takes %d pulls and %d drives", pulls, drives)
	const warning = `<p class="problem song-warning">`
	body := a.keptWith(t, url.Values{"pause": {"0", "0"}})
	wants(t, body, warning+work+"; there is no pause before it, and none is too short at any rate.", "<dt>Changeovers</dt><dd>not known</dd>")
	body = a.keptWith(t, url.Values{"pause": {"0", "10"}})
	wants(t, body, `<p class="small">`+work+"; without a rate there is no telling whether the pause of 10 minutes is enough.")
	body = a.keptWith(t, url.Values{"pause": {"0", "0"}, "rate": {"60"}})
	wants(t, body, fmt.Sprintf("%s%s, about %d minutes; there is no pause before it.", warning, work, (pulls+drives+59)/60))
}

// Of pauses of 10, 5 and 20 minutes that of a song whose pinning was removed does
// not count: 30 are left (worked by hand).
func TestProgrammeCountsNothingOfASongWhosePinningWasRemoved(t *testing.T) {
	a := withProgramme(t)
	a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	a.act(t, "add", "3")
	body := a.keptWith(t, url.Values{"pause": {"10", "5", "20"}})
	wants(t, body, "<dt>pauses and changeovers in them</dt><dd>35 min</dd>")
	if err := a.store.RemovePinning(context.Background(), 1); err != nil {
		t.Fatal(err)
	}
	_, body = a.get(t, "/programmes/1")
	wants(t, body, "<dt>pauses and changeovers in them</dt><dd>30 min</dd>", "It is not counted, nor is the pause before it.",
		"Songs whose pinning was removed are not counted, nor are the pauses before them.", "The changeover from Mill Race takes")
}

// Mill Race's file has 714 286 µs to the quarter note, by which 84 BPM is meant.
// A tempo of more decimals is told in one, downwards.
func TestProgrammeAddsASongAtATempoThatCanBeRead(t *testing.T) {
	a := withProgramme(t)
	_, body := a.get(t, "/programmes/1")
	wants(t, body, `name="tempo" type="text" inputmode="decimal" autocomplete="off" value="84"`)
	_, old := a.get(t, "/programmes/1?version=2")
	wants(t, old, "84 BPM")
	if strings.Contains(body+old, "83.99") {
		t.Error("a tempo is told with all its decimals")
	}
}

// What was kept before there was a limit prints nothing rather than a part of it.
func TestProgrammeSaysWhyWhoToCallIsOnNoCard(t *testing.T) {
	a := newDemo(t)
	a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	body := programme.Programme{Name: "Sunday", Call: strings.Repeat("a", 150), Songs: []programme.Song{{PinningID: 1, TempoBPM: 80, Turns: 1, Plays: 1}}}
	if _, err := a.store.AddProgramme(context.Background(), 1, programme.Change{Programme: body}); err != nil {
		t.Fatal(err)
	}
	const says = "ho to call has 150 characters; the crank card has room for 110"
	_, page := a.get(t, "/programmes/1")
	wants(t, page, "No crank card: w"+says, "/programmes/1/visitor/1")
	if status, answer := a.get(t, "/programmes/1/card/1?paper=A6"); status != http.StatusUnprocessableEntity || !strings.Contains(answer, "W"+says) {
		t.Errorf("the card: %d", status)
	}
}

func TestProgrammeReturnSaysWhatIsWrong(t *testing.T) {
	a := withProgramme(t)
	for _, c := range []struct{ base, to, says string }{
		{"abc", "1", "The page&#39;s own note of the latest version (its field base) is &#34;abc&#34;"},
		{"3", "0", "The page&#39;s own note of the version to return to (its field to) is &#34;0&#34;"},
	} {
		if status, body := a.post(t, "/programmes/1/return", url.Values{"base": {c.base}, "to": {c.to}}); status != http.StatusUnprocessableEntity || !strings.Contains(body, c.says) {
			t.Errorf("%q, %q: %d", c.base, c.to, status)
		}
	}
}

func TestProgrammeWithoutSongsIsNoTrouble(t *testing.T) {
	a := newDemo(t)
	for _, name := range []string{"", strings.Repeat("a", 300)} {
		if status, _ := a.post(t, "/programmes", url.Values{"name": {name}}); status != http.StatusUnprocessableEntity {
			t.Errorf("a name of %d characters: %d", len(name), status)
		}
	}
	a.post(t, "/programmes", url.Values{"name": {"Sunday"}})
	if status, body := a.get(t, "/programmes/1"); status != http.StatusOK || !strings.Contains(body, "No song is in it yet.") {
		t.Errorf("%d", status)
	}
	for path, status := range map[string]int{"/programmes/1/visitor/1": 404, "/programmes/1/card/1?paper=A5": 404, "/programmes/9": 404, "/programmes/1?version=7": 404, "/programmes/1?version=-1": 422} {
		if got, body := a.get(t, path); got != status {
			t.Errorf("%s: %d, want %d: %.100s", path, got, status, body)
		}
	}
	if status, to := a.post(t, "/programmes/1/remove", nil); status != http.StatusSeeOther || to != "/programmes" {
		t.Errorf("%d %s", status, to)
	}
	empty := newApp(t)
	if status, body := empty.get(t, "/programmes"); status != http.StatusOK || !strings.Contains(body, "Bring a machine file") {
		t.Errorf("%d", status)
	}
	if status, _ := empty.post(t, "/programmes", url.Values{"name": {"Sunday"}}); status != http.StatusConflict {
		t.Errorf("a programme without a machine: %d", status)
	}
}

func TestProgrammeJoinsSongsThatShareOneWheel(t *testing.T) {
	ctx := context.Background()
	a := newDemo(t)
	m, err := a.store.Machine(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	for i, title := range []string{"First", "Second"} {
		p := shortPinning(m.File, title, 40+i*10)
		if _, err := a.store.AddPinning(ctx, 1, 0, p); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := a.store.AddProgramme(ctx, 1, programme.Change{Programme: programme.Programme{Name: "Sunday", Songs: []programme.Song{
		{PinningID: 1, TempoBPM: 60, Turns: 1, Plays: 1}, {PinningID: 2, TempoBPM: 60, Turns: 1, Plays: 1}}}}); err != nil {
		t.Fatal(err)
	}
	if _, body := a.get(t, "/programmes/1"); !strings.Contains(body, "First and Second fit one turn together: 92 of 256 steps.") {
		t.Error("the page does not say that they fit")
	}
	status, to := a.post(t, "/programmes/1/join", url.Values{"ids": {"1 2"}, "title": {"Both"}})
	if status != http.StatusSeeOther || to != "/pinnings/3" {
		t.Fatalf("%d %s", status, to)
	}
	both, err := a.store.Pinning(ctx, 3)
	if err != nil || both.Pins != 6 || both.Title != "Both" {
		t.Errorf("%+v, %v", both, err)
	}
	for _, ids := range []string{"", "1", "1 x", "1 99"} {
		if status, _ := a.post(t, "/programmes/1/join", url.Values{"ids": {ids}, "title": {"Both"}}); status < 400 || status >= 500 {
			t.Errorf("joining %q: %d", ids, status)
		}
	}
}

// A pinning's title may be as long as a name can be, and its song is added,
// moved and taken out like any other.
func TestProgrammeTakesSongsOfTheLongestTitle(t *testing.T) {
	a := withProgramme(t)
	if err := a.store.RenamePinning(context.Background(), 2, strings.Repeat("鐘", wheel.MaxName)); err != nil {
		t.Fatal(err)
	}
	for _, do := range []string{"remove 1", "add", "up 2", "down 1", "remove 2"} {
		add := ""
		if do == "add" {
			add = "2"
		}
		if status, to := a.post(t, "/programmes/1", a.form(t, do, add)); status != http.StatusSeeOther {
			t.Errorf("%s: %d %s", do, status, said(to))
		}
	}
}

// Pinnings of one title are told apart where one is chosen.
func TestProgrammeTellsNamesakesApart(t *testing.T) {
	a := withProgramme(t)
	if err := a.store.RenamePinning(context.Background(), 2, "Nine Knocks"); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/programmes/1", "/pinnings/1"} {
		_, body := a.get(t, path)
		if !strings.Contains(body, ">Nine Knocks, changed ") {
			t.Errorf("%s offers two pinnings of one name", path)
		}
	}
}
