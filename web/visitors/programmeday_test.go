package visitors_test

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinwright/web/webtest"
	"pinwright/wheel/say"
)

// Nine Knocks, two turns at 80 BPM: 64 beats a turn are 48 s, so a play takes 96
// s, and 5 plays with 3 minutes between them 8 min and 12 min (worked by hand).
func TestProgrammeAddsUpItsDay(t *testing.T) {
	ctx := context.Background()
	a := withProgramme(t)
	press(t, a, "remove 1", "")
	form := filledForm(t, a, "keep", "")
	form.Set("tempo", "80")
	form.Set("turns", "2")
	form.Set("plays", "5")
	form.Set("rest", "3")
	form.Set("pause", "1,5")
	if status, to := a.Post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	p, err := a.Store.Pinning(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	_, body := a.Get(t, "/programmes/1")
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
	form := filledForm(t, a, "keep", "")
	form["tempo"] = []string{"175", "80"}
	form["pause"] = []string{"0", "15"}
	form.Set("rate", "2")
	if status, to := a.Post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	status, body := a.Get(t, "/programmes/1")
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
	if status, body := a.Get(t, "/programmes/1/card/1?paper=A5"); status != http.StatusUnprocessableEntity || !strings.Contains(body, "above the red line") {
		t.Errorf("the card: %d", status)
	}
	form = filledForm(t, a, "keep", "")
	form["pause"] = []string{"0", "900"}
	if status, to := a.Post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	if _, body = a.Get(t, "/programmes/1"); !strings.Contains(body, "the pause of 15 h 00 min is enough") {
		t.Error("a pause that is enough is not told")
	}
	m, err := a.Store.Machine(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	m.File.Channel("bar-c5")
	file := m.File.Clone()
	file.Channels[file.Channel("bar-c5")].Service = "resting"
	if err := a.Store.ReplaceMachine(ctx, 1, m.Revision, file); err != nil {
		t.Fatal(err)
	}
	if _, body = a.Get(t, "/programmes/1"); !strings.Contains(body, "Bar C5 is resting.") {
		t.Error("no warning of the resting channel")
	}
	if err := a.Store.RemovePinning(ctx, 2); err != nil {
		t.Fatal(err)
	}
	status, body = a.Get(t, "/programmes/1")
	if status != http.StatusOK || !strings.Contains(body, "The pinning Mill Race was removed") {
		t.Errorf("%d: no word of the pinning that was removed", status)
	}
	for _, path := range []string{"/programmes/1/visitor/1", "/programmes/1/card/1?paper=A5"} {
		if status, body := a.Get(t, path); status != http.StatusNotFound || !strings.Contains(body, "Mill Race was removed") {
			t.Errorf("%s: %d", path, status)
		}
	}
}

// pullsAndDrives counts what two pinnings do not share, which is what has to be pulled and
// driven.
func pullsAndDrives(t *testing.T, a *webtest.App, from, to int64) (pulls, drives int) {
	t.Helper()
	type hole struct {
		channel string
		step    int
	}
	pins := func(id int64) map[hole]bool {
		p, err := a.Store.Pinning(context.Background(), id)
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

// At a rate of one pin a second, 60 a minute, a changeover takes as many seconds as
// there are pulls and drives. Mill Race at 64 BPM takes a minute for a turn of 64
// beats, Nine Knocks too (worked by hand).
func TestProgrammeGapIsTheGreaterOfPauseAndChangeover(t *testing.T) {
	a := withProgramme(t)
	pulls, drives := pullsAndDrives(t, a, 2, 1)
	work := float64(pulls + drives)
	for _, c := range []struct {
		pause string
		gapS  float64
	}{{"1", work}, {"60", 3600}} {
		body := keepWith(t, a, url.Values{"rate": {"60"}, "tempo": {"64", "64"}, "pause": {"2", c.pause}})
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
	wants(t, keepWith(t, a, nil), "What is on the wheel now is not known")
	if err := a.Store.SayOnWheel(context.Background(), 1, 1); err != nil {
		t.Fatal(err)
	}
	pulls, drives := pullsAndDrives(t, a, 1, 2)
	there, back := pullsAndDrives(t, a, 2, 1)
	wants(t, keepWith(t, a, nil), fmt.Sprintf(`<p class="note song-warning">Before the day begins: %d pulls and %d drives. On the wheel now is Nine Knocks;`, pulls, drives))
	body := keepWith(t, a, url.Values{"rate": {"60"}, "tempo": {"64", "64"}, "pause": {"0", "60"}})
	wants(t, body,
		fmt.Sprintf(`<p class="note song-warning">Before the day begins: about %d minutes. On the wheel now is Nine Knocks;`, (pulls+drives+59)/60),
		fmt.Sprintf("<dt>of them before the day begins</dt><dd>%d minutes</dd>", (pulls+drives+59)/60),
		fmt.Sprintf("<dt>Changeovers</dt><dd>%d minutes</dd>", (pulls+drives+there+back+59)/60),
		"<dt>A day</dt><dd>1 h 02 min</dd>") // two plays of a minute, and the pause
	if err := a.Store.SayOnWheel(context.Background(), 1, 2); err != nil {
		t.Fatal(err)
	}
	if body = keepWith(t, a, nil); !strings.Contains(body, "It is on the wheel now.") || strings.Contains(body, "Before the day begins") {
		t.Error("a song that is on the wheel has to be put there")
	}
}

// No pause is too short at any rate, and so it is where no rate is known.
func TestProgrammeWarnsOfAChangeoverWithoutAPause(t *testing.T) {
	a := withProgramme(t)
	pulls, drives := pullsAndDrives(t, a, 2, 1)
	work := fmt.Sprintf("The changeover from Mill Race takes %d pulls and %d drives", pulls, drives)
	const warning = `<p class="problem song-warning">`
	body := keepWith(t, a, url.Values{"pause": {"0", "0"}})
	wants(t, body, warning+work+"; there is no pause before it, and none is too short at any rate.", "<dt>Changeovers</dt><dd>not known</dd>")
	body = keepWith(t, a, url.Values{"pause": {"0", "10"}})
	wants(t, body, `<p class="small">`+work+"; without a rate there is no telling whether the pause of 10 minutes is enough.")
	body = keepWith(t, a, url.Values{"pause": {"0", "0"}, "rate": {"60"}})
	wants(t, body, fmt.Sprintf("%s%s, about %d minutes; there is no pause before it.", warning, work, (pulls+drives+59)/60))
}

// Of pauses of 10, 5 and 20 minutes that of a song whose pinning was removed does
// not count: 30 are left (worked by hand).
func TestProgrammeCountsNothingOfASongWhosePinningWasRemoved(t *testing.T) {
	a := withProgramme(t)
	a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	press(t, a, "add", "3")
	body := keepWith(t, a, url.Values{"pause": {"10", "5", "20"}})
	wants(t, body, "<dt>pauses and changeovers in them</dt><dd>35 min</dd>")
	if err := a.Store.RemovePinning(context.Background(), 1); err != nil {
		t.Fatal(err)
	}
	_, body = a.Get(t, "/programmes/1")
	wants(t, body, "<dt>pauses and changeovers in them</dt><dd>30 min</dd>", "It is not counted, nor is the pause before it.",
		"Songs whose pinning was removed are not counted, nor are the pauses before them.", "The changeover from Mill Race takes")
}
