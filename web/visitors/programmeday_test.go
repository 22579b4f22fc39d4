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

// figure is a figure as pages show it.
func figure(name, value string) string {
	return "<dt>" + name + `</dt><dd><span class="value">` + value + "</span>"
}

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
		figure("Playing", "8 min"), figure("Rests between plays", "12 min"), figure("Pauses and changeovers", "1 min 30 s"),
		figure("A day", "21 min 30 s"), figure("A play", "1 min 36 s"), figure("Turns of the wheel", "10"),
		figure("Marbles moved", fmt.Sprint(10*p.Pins)), figure("Levers tripped", fmt.Sprint(10*p.Pins)),
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
	form["tempo"] = []string{"175", "70"}
	form["pause"] = []string{"0", "15"}
	form.Set("rate", "2")
	if status, to := a.Post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	status, body := a.Get(t, "/programmes/1")
	if status != http.StatusOK || !strings.Contains(body, "175 BPM is not safe: the red line is at ") {
		t.Errorf("%d: no warning of the tempo", status)
	}
	if !strings.Contains(body, "The changeover from Mill Race takes") || !strings.Contains(body, "but the pause for it is 15 minutes.") {
		t.Error("no warning of the pause")
	}
	if !strings.Contains(body, "No crank card and no visitors’ screen: the tempo, 175 BPM, is above the red line at ") {
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
	if _, body = a.Get(t, "/programmes/1"); !strings.Contains(body, "The pause of 15 h 00 min is long enough") {
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
			figure("Playing", "2 min"),
			figure("Pauses and changeovers", say.Span(120+c.gapS)),
			figure("A day", say.Span(120+120+c.gapS)),
			figure("Changeovers", fmt.Sprintf("%d minutes", (pulls+drives+59)/60)),
			figure("Pulls", fmt.Sprint(pulls)), figure("Drives", fmt.Sprint(drives)))
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
	wants(t, keepWith(t, a, nil), fmt.Sprintf("Before the day begins, put this song on the wheel in place of Nine Knocks: %d pulls and %d drives.", pulls, drives))
	body := keepWith(t, a, url.Values{"rate": {"60"}, "tempo": {"64", "64"}, "pause": {"0", "60"}})
	wants(t, body,
		fmt.Sprintf("Before the day begins, put this song on the wheel in place of Nine Knocks: %d pulls and %d drives, about %d minutes.", pulls, drives, (pulls+drives+59)/60),
		figure("of these before the day begins", fmt.Sprintf("%d minutes", (pulls+drives+59)/60)),
		figure("Changeovers", fmt.Sprintf("%d minutes", (pulls+drives+there+back+59)/60)),
		figure("A day", "1 h 02 min")) // two plays of a minute, and the pause
	if err := a.Store.SayOnWheel(context.Background(), 1, 2); err != nil {
		t.Fatal(err)
	}
	if body = keepWith(t, a, nil); !strings.Contains(body, "This song is on the wheel already.") || strings.Contains(body, "Before the day begins") {
		t.Error("a song that is on the wheel has to be put there")
	}
}

// Without a pause there is no time for a changeover, even where no rate is known.
func TestProgrammeWarnsOfAChangeoverWithoutAPause(t *testing.T) {
	a := withProgramme(t)
	pulls, drives := pullsAndDrives(t, a, 2, 1)
	work := fmt.Sprintf("The changeover from Mill Race takes %d pulls and %d drives", pulls, drives)
	const warning = "</strong> Song 2, Nine Knocks: "
	body := keepWith(t, a, url.Values{"pause": {"0", "0"}})
	wants(t, body, warning+work+", and there is no pause for it.", figure("Changeovers", "not known"))
	body = keepWith(t, a, url.Values{"pause": {"0", "10"}})
	wants(t, body, `<p class="small">`+work+". Set a rate of changeovers to see whether the pause of 10 minutes is long enough.")
	body = keepWith(t, a, url.Values{"pause": {"0", "0"}, "rate": {"60"}})
	wants(t, body, fmt.Sprintf("%s%s, about %d minutes, and there is no pause for it.", warning, work, (pulls+drives+59)/60))
}

// Of pauses of 10, 5 and 20 minutes that of a song whose pinning was removed does
// not count: 30 are left (worked by hand).
func TestProgrammeCountsNothingOfASongWhosePinningWasRemoved(t *testing.T) {
	a := withProgramme(t)
	a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	press(t, a, "add", "3")
	body := keepWith(t, a, url.Values{"pause": {"10", "5", "20"}})
	wants(t, body, figure("Pauses and changeovers", "35 min"))
	if err := a.Store.RemovePinning(context.Background(), 1); err != nil {
		t.Fatal(err)
	}
	_, body = a.Get(t, "/programmes/1")
	wants(t, body, figure("Pauses and changeovers", "30 min"), "Neither the song nor the pause before it is counted.",
		"Songs whose pinning was removed are not counted, nor are the pauses before them.", "The changeover from Mill Race takes")
}
