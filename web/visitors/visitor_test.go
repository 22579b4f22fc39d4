package visitors_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"pinwright/timing"
	"pinwright/timing/window"
	"pinwright/web"
	"pinwright/web/page"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/say"
)

func TestVisitorScreenHasItsBeatAndNothingThatChangesAnything(t *testing.T) {
	a := withProgramme(t)
	form := filledForm(t, a, "keep", "")
	form["story"] = []string{"The mill <b>stood</b>\nby the race.", ""}
	form["tempo"] = []string{"60", "80"}
	if status, to := a.Post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	status, body := a.Get(t, "/programmes/1/visitor/1")
	if status != http.StatusOK {
		t.Fatal(status)
	}
	// 64 beats a turn at 60 BPM are 64 s, 8 beats a turn of the crank are 8 s.
	// 256 steps at four a beat are 64 beats, 64 s at 60 BPM; the crank turns 8
	// times in that, once every 8 s and 7.5 times a minute (worked by hand).
	for _, want := range []string{`data-bpm="60"`, `data-turn-s="64"`, `data-crank-beats="8"`, ">Mill Race</h1>", "The mill &lt;b&gt;stood&lt;/b&gt;\nby the race.",
		"<strong>7.5</strong> times a minute, once every <strong>8</strong> seconds", "Never faster than ", "data-code"} {
		if !strings.Contains(body, want) {
			t.Errorf("the screen has no %q", want)
		}
	}
	if found := regexp.MustCompile(`(?i)method="post"|action=|hx-|<a `).FindString(body); found != "" {
		t.Errorf("the screen has %q, which leads or changes something", found)
	}
	for _, n := range []string{"0", "3", "x", "-1", "1.0"} {
		if status, _ := a.Get(t, "/programmes/1/visitor/"+n); status != http.StatusNotFound {
			t.Errorf("song %s: %d", n, status)
		}
	}
}

func TestVisitorScreenIsLeftByItsCodeAlone(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	leave := func(code string) int {
		status, _ := a.Post(t, "/visitors/leave", url.Values{"code": {code}})
		return status
	}
	if status, to := a.Post(t, "/visitors/code", url.Values{"code": {"24680"}}); status != http.StatusSeeOther || to != "/programmes" {
		t.Fatalf("%d %s", status, to)
	}
	if got := leave("24680"); got != http.StatusNoContent {
		t.Errorf("the code: %d", got)
	}
	if got := leave(""); got != http.StatusForbidden {
		t.Errorf("no code: %d", got)
	}
	if got := leave("1234"); got != http.StatusForbidden {
		t.Errorf("a wrong code: %d", got)
	}
	if status, body := a.Post(t, "/visitors/code", url.Values{"code": {"12ab"}}); status != http.StatusUnprocessableEntity || !strings.Contains(body, "digits") {
		t.Errorf("a code of letters: %d", status)
	}
}

// Whoever tries codes on one screen waits longer each time, a minute at the most,
// and keeps nobody waiting at another. Waits worked by hand: 5 s doubled.
func TestWrongLeaveCodesSlowTheirOwnScreenAlone(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	now := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	pages := web.New(page.Options{Store: a.Store, Now: func() time.Time { return now }})
	leave := func(from, code string) (int, string, string) {
		r := httptest.NewRequest("POST", "http://127.0.0.1/visitors/leave", strings.NewReader(url.Values{"code": {code}}.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.RemoteAddr = from
		w := httptest.NewRecorder()
		pages.ServeHTTP(w, r)
		return w.Code, w.Header().Get("Retry-After"), w.Body.String()
	}
	const tablet, desk, other = "192.168.4.20:41000", "127.0.0.1:52000", "192.168.4.21:41000"
	if err := a.Store.SetLeaveCode(t.Context(), ""); err != nil {
		t.Fatal(err)
	}
	for range 9 { // without a code there is nothing to guess
		if status, _, _ := leave(tablet, "0000"); status != http.StatusNoContent {
			t.Fatalf("no code is set, and leaving: %d", status)
		}
	}
	if err := a.Store.SetLeaveCode(t.Context(), "24680"); err != nil {
		t.Fatal(err)
	}
	for i := range 4 {
		if status, _, _ := leave(tablet, "1234"); status != http.StatusForbidden {
			t.Fatalf("wrong code %d: %d", i+1, status)
		}
	}
	for i, wait := range []int{5, 10, 20, 40, 60, 60, 60, 60, 60, 60, 60, 60, 60, 60} {
		status, after, body := leave(tablet, "1234")
		if status != http.StatusTooManyRequests || after != strconv.Itoa(wait) || !strings.Contains(body, fmt.Sprintf("Wait %d seconds", wait)) {
			t.Errorf("wrong code %d: %d, %s, %s; want a wait of %d s", i+5, status, after, body, wait)
		}
		now = now.Add(time.Duration(wait)*time.Second - time.Millisecond)
		if status, after, body := leave(tablet, "24680"); status != http.StatusTooManyRequests || after != "1" || !strings.Contains(body, "Wait 1 second,") {
			t.Errorf("the right code a millisecond too soon: %d, %s, %s", status, after, body)
		}
		for _, from := range []string{desk, other} {
			if status, _, _ := leave(from, "24680"); status != http.StatusNoContent {
				t.Errorf("the right code from %s: %d", from, status)
			}
		}
		now = now.Add(time.Millisecond)
	}
	if status, _, _ := leave(tablet, "24680"); status != http.StatusNoContent {
		t.Errorf("the right code after the wait: %d", status)
	}
	if status, _, _ := leave(tablet, "1234"); status != http.StatusForbidden {
		t.Errorf("a wrong code after the right one: %d; want the count to start over", status)
	}
}

// windowOf is the tempo window of a pinning, as mechanics has it.
func windowOf(t *testing.T, a *webtest.App, pinning int64) wheel.TempoWindow {
	t.Helper()
	p, err := a.Store.Pinning(t.Context(), pinning)
	if err != nil {
		t.Fatal(err)
	}
	m, err := a.Store.Machine(t.Context(), p.MachineID)
	if err != nil {
		t.Fatal(err)
	}
	works, err := timing.Compile(m.File)
	if err != nil {
		t.Fatal(err)
	}
	win, err := window.House{Works: works, Margin: timing.DefaultMargin}.Window(p.File)
	if err != nil {
		t.Fatal(err)
	}
	return win
}

// With the reload of a pinned channel left out nobody is asked to turn the song:
// card, screen, programme, window and crank page say what to measure, and the
// programme leads there.
func TestNobodyIsAskedToTurnWhileAFigureIsUnknown(t *testing.T) {
	a := withProgramme(t)
	m, err := a.Store.Machine(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	file := m.File.Clone()
	file.Channels[file.Channel("bar-c5")].Gate = wheel.Gate{}
	if err := a.Store.ReplaceMachine(t.Context(), 1, m.Revision, file); err != nil {
		t.Fatal(err)
	}
	const first = "Measure first: the "
	for _, c := range []struct {
		path   string
		status int
		wants  []string
	}{
		{"/programmes/1/visitor/1", http.StatusConflict, []string{first, "Measure what is unknown", "put another song in its place in the programme Sunday"}},
		{"/programmes/1/card/1?paper=A5", http.StatusUnprocessableEntity, []string{first}},
		{"/programmes/1", http.StatusOK, []string{first, `class="warning stop"`, "/machines/1#figures", "No crank card and no visitors’ screen: nobody can be asked to turn this song yet."}},
		{"/pinnings/1/window", http.StatusOK, []string{first, "There is no window while figures are unknown.", "/machines/1#figures"}},
		{"/crank/tapped?pinning=1&per=turn&at=0,2,4", http.StatusOK, []string{first, `"slower":false`}},
	} {
		status, body := a.Get(t, c.path)
		if status != c.status {
			t.Errorf("%s: %d, want %d", c.path, status, c.status)
		}
		for _, want := range c.wants {
			if !strings.Contains(body, want) {
				t.Errorf("%s does not say %q", c.path, want)
			}
		}
	}
}

// Card and screen are for the same tempos as the window page has: up to the red line
// less the house's margin, on that too. Pins of a channel that is
// resting are safe at no tempo.
func TestNobodyIsAskedToTurnWithinTheMargin(t *testing.T) {
	ctx := context.Background()
	a := withProgramme(t)
	m, err := a.Store.Machine(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	win := windowOf(t, a, 2)
	if win.RedLineBPM == 0 || win.RedLineBPM > win.MaxSafeBPM-1 {
		t.Fatalf("Mill Race has its red line at %g BPM and its bare limit at %g", win.RedLineBPM, win.MaxSafeBPM)
	}
	red := win.RedLineBPM
	top := red * 0.9 // the house's tenth, once
	at := func(tempo string) (screen int, body string) {
		t.Helper()
		form := filledForm(t, a, "keep", "")
		form["tempo"][0] = tempo
		if status, to := a.Post(t, "/programmes/1", form); status != http.StatusSeeOther {
			t.Fatalf("%s: %d %s", tempo, status, to)
		}
		screen, body = a.Get(t, "/programmes/1/visitor/1")
		if card, _ := a.Get(t, "/programmes/1/card/1?paper=a5"); (card == http.StatusOK) != (screen == http.StatusOK) {
			t.Errorf("at %s BPM the card is answered %d, the screen %d", tempo, card, screen)
		}
		return screen, body
	}
	turns := say.TempoDown(m.File.Wheel.CrankAt(top).Turns)
	for _, tempo := range []string{"75", say.TempoDown(top), say.Typed(top)} {
		status, body := at(tempo)
		if status != http.StatusOK || !strings.Contains(body, "Never faster than "+turns+" turns") || !strings.Contains(body, `data-red-bpm="`+say.Typed(red)+`"`) {
			t.Errorf("at %s BPM: %d", tempo, status)
		}
	}
	for _, c := range []struct{ tempo, why string }{
		{strconv.FormatFloat(top*1.001, 'f', -1, 64), "within the margin: visitors are asked to turn " + say.TempoDown(top) + " BPM at most"},
		{say.TempoDown(red), "within the margin"},
		{strconv.FormatFloat(red*1.001, 'f', -1, 64), "above the red line at " + say.TempoDown(red) + " BPM"},
		{say.TempoDown(win.MaxSafeBPM), "above the red line at " + say.TempoDown(red) + " BPM"},
		{"1000", "above the red line"},
	} {
		status, body := at(c.tempo)
		if status != http.StatusConflict || strings.Contains(body, "data-visitor") {
			t.Errorf("at %s BPM: %d", c.tempo, status)
		}
		for _, want := range []string{c.why, "Give it " + say.TempoDown(top) + " BPM or less in the programme Sunday", `href="/programmes/1#song-1"`} {
			if !strings.Contains(body, want) {
				t.Errorf("at %s BPM the page does not say %q", c.tempo, want)
			}
		}
	}
	at("84")
	file := demo.Machine()
	for i := range file.Channels {
		file.Channels[i].Service = wheel.Resting
	}
	if err := a.Store.ReplaceMachine(ctx, 1, m.Revision, file); err != nil {
		t.Fatal(err)
	}
	status, body := a.Get(t, "/programmes/1/visitor/1")
	if status != http.StatusConflict {
		t.Errorf("with no safe tempo: %d", status)
	}
	for _, want := range []string{"there is no safe tempo", "Not even 30 BPM is safe: ", "put another song in its place in the programme Sunday"} {
		if !strings.Contains(body, want) {
			t.Errorf("with no safe tempo the page does not say %q", want)
		}
	}
}
