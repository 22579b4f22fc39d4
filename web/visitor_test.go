package web

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

func TestVisitorScreenHasItsBeatAndNothingThatChangesAnything(t *testing.T) {
	a := withProgramme(t)
	form := a.form(t, "keep", "")
	form["story"] = []string{"The mill <b>stood</b>\nby the race.", ""}
	form["tempo"] = []string{"60", "80"}
	if status, to := a.post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	status, body := a.get(t, "/programmes/1/visitor/1")
	if status != http.StatusOK {
		t.Fatal(status)
	}
	// 64 beats a turn at 60 BPM are 64 s, 8 beats a turn of the crank are 8 s.
	// 256 steps at four a beat are 64 beats, 64 s at 60 BPM; the crank turns 8
	// times in that, once in 8 s and 7.5 times a minute (worked by hand).
	for _, want := range []string{`data-bpm="60"`, `data-turn-s="64"`, `data-crank-beats="8"`, "<h1>Mill Race</h1>", "The mill &lt;b&gt;stood&lt;/b&gt;\nby the race.",
		"<strong>7.5</strong> times a minute, once in <strong>8</strong> seconds", "Never faster than ", "data-code"} {
		if !strings.Contains(body, want) {
			t.Errorf("the screen has no %q", want)
		}
	}
	if found := regexp.MustCompile(`(?i)method="post"|action=|hx-|<a `).FindString(body); found != "" {
		t.Errorf("the screen has %q, which leads or changes something", found)
	}
	for _, n := range []string{"0", "3", "x", "-1", "1.0"} {
		if status, _ := a.get(t, "/programmes/1/visitor/"+n); status != http.StatusNotFound {
			t.Errorf("song %s: %d", n, status)
		}
	}
}

func TestVisitorScreenIsLeftByItsCodeAlone(t *testing.T) {
	a := newDemo(t)
	leave := func(code string) int {
		status, _ := a.post(t, "/visitors/leave", url.Values{"code": {code}})
		return status
	}
	if status, to := a.post(t, "/visitors/code", url.Values{"code": {"24680"}}); status != http.StatusSeeOther || to != "/programmes" {
		t.Fatalf("%d %s", status, to)
	}
	if got := leave("24680"); got != http.StatusNoContent {
		t.Errorf("the code: %d", got)
	}
	for i, code := range []string{"1234", "", "2468", "246801", "x"} {
		if got := leave(code); got != http.StatusForbidden {
			t.Errorf("wrong code %d: %d", i, got)
		}
	}
	if got := leave("24680"); got != http.StatusTooManyRequests {
		t.Errorf("after five wrong ones: %d", got)
	}
	if status, body := a.post(t, "/visitors/code", url.Values{"code": {"12ab"}}); status != http.StatusUnprocessableEntity || !strings.Contains(body, "digits") {
		t.Errorf("a code of letters: %d", status)
	}
}
