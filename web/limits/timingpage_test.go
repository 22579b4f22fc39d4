package limits_test

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
)

// Bar C5 has two pins one step apart and four steps to a beat, so a reload of
// R ms allows 60000/(4 R) BPM: 140 ms 107.14, 125 ms 120 (worked by hand).
func TestATrialStandsBesideTheMachineAsItIs(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	page := a.SetSong(t, "Nine Knocks", nil) + "/timing"
	_, body := a.Get(t, page+"?path=channels.bar-c5.gate.reload_ms&value=125")
	for _, want := range []string{"data-max-safe>107.1<", "data-trial-max-safe>120<", "reload of Bar C5 from 140 to 125 ms", "/timing/keep"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if _, body := a.Get(t, page); strings.Contains(body, "/timing/keep") || strings.Contains(body, "data-trial-max-safe") {
		t.Error("a page with nothing on trial shows a trial")
	}
	m, _ := a.Store.Machine(context.Background(), 1)
	if got := m.File.Channels[m.File.Channel("bar-c5")].Gate.ReloadMS.Or(0); got != 140 {
		t.Errorf("looking at a trial changed the machine: reload %v ms", got)
	}
}

func TestATrialOutOfRangeSaysWhyAndLeavesTheRest(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	page := a.SetSong(t, "Nine Knocks", nil) + "/timing"
	for query, want := range map[string]string{
		"path=channels.bar-c5.gate.reload_ms&value=-5":    "a time cannot be negative",
		"path=channels.bar-c5.gate.reload_ms&value=slow":  "it should be a number",
		"path=channels.bar-c5.gate.reloads&value=5":       "reloads",
		"path=channels.none.gate.reload_ms&value=5":       "none",
		"path=lanes.chute-1.slope_deg&value=0.0001":       "stalls",
		"path=marble.diameter_mm&value=NaN":               "finite",
		"lane=nowhere":                                    "there is no lane",
		"from=99":                                         "whole number from 1",
		"lane=%3Cscript%3Ealert(1)%3C/script%3E&bars=%00": "there is no lane",
	} {
		status, body := a.Get(t, page+"?"+query)
		if status != http.StatusOK || !strings.Contains(strings.ToLower(body), strings.ToLower(want)) {
			t.Errorf("%s: %d, and it does not say %q", query, status, want)
		}
		if !strings.Contains(body, "data-max-safe>107.1<") {
			t.Errorf("%s: the machine as it is has gone from the page", query)
		}
		if strings.Contains(body, "<script>alert") {
			t.Errorf("%s: text from the address stands in the page as it came", query)
		}
	}
	for query, want := range map[string]int{"tempo=0": 422, "tempo=fast": 422, "tempo=1e9": 422} {
		if status, _ := a.Get(t, page+"?"+query); status != want {
			t.Errorf("%s: %d, want %d", query, status, want)
		}
	}
}

func TestATrialIsKeptAsADatedChangeWithItsReason(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	page := a.SetSong(t, "Nine Knocks", nil) + "/timing"
	form := url.Values{"path": {"channels.bar-c5.gate.reload_ms"}, "value": {"120"}, "revision": {"1"}}
	if status, _ := a.Post(t, page+"/keep", form); status != http.StatusUnprocessableEntity {
		t.Errorf("a change without a reason: %d", status)
	}
	form.Set("reason", "New spring in the gate")
	if status, to := a.Post(t, page+"/keep", form); status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
	_, body := a.Get(t, page)
	for _, want := range []string{"data-max-safe>125<", "New spring in the gate", "4 May 2026"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	form.Set("value", "119")
	if status, _ := a.Post(t, page+"/keep", form); status != http.StatusConflict {
		t.Errorf("a change from a state that is past: %d, want 409", status)
	}
	if status, _ := a.Post(t, page+"/keep", url.Values{"revision": {"2"}, "reason": {"none"}}); status != http.StatusUnprocessableEntity {
		t.Errorf("keeping nothing: %d", status)
	}
}

func TestAMachineWithNoSafeTempoSaysWhatBreaksFirst(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	page := a.SetSong(t, "Nine Knocks", nil) + "/timing"
	_, body := a.Get(t, page+"?path=channels.bar-c5.gate.reload_ms&value=900")
	for _, want := range []string{"No tempo is safe, on trial", "What breaks at the slowest", "the gate needs 900 ms"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if strings.Contains(body, "before the gate is ready, 900 ms") {
		t.Error("a limit that is broken at the slowest tempo is said to bite only above it")
	}
}

// Hailstone's lift is driven by the wheel and its sheets lie at the pins' tips:
// the file gives neither marbles_per_s nor surface_radius_mm (wheel/demo).
func TestFiguresToTrySayTheirUnitsAndWhatIsNotGiven(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	page := a.SetSong(t, "Nine Knocks", nil) + "/timing"
	_, body := a.Get(t, page)
	for _, want := range []string{
		"rate of the lift, not given<", "radius of the surface of the wheel, not given<",
		"steps to the beat of the wheel, 4 steps<", `aria-label="Bar C5"`, `aria-label="Lane `, `value="channels.bar-c5.gate.reload_ms"`,
	} {
		if !strings.Contains(body, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, told := range strings.Split(body, "lifts the limit from ")[1:] {
		from, _, _ := strings.Cut(told, " ")
		if !strings.Contains(body, "<strong>"+from+"</strong> BPM") {
			t.Errorf("a limit said to be lifted from %s BPM is not the tempo it stands at", from)
		}
	}
	if !strings.Contains(body, "lifts the limit from ") {
		t.Error("no limit is lifted")
	}
}

// With the reload of a pinned channel left out, the page leads to that figure and
// to no other, and tells nothing that rests on it.
func TestAnUnknownFigureIsLedTo(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	file := webtest.MachineFile(t, func(m *wheel.Machine) {
		m.Name = "Half known"
		m.Channels[m.Channel("bar-c5")].Gate = wheel.Gate{}
		m.Channels[m.Channel("triangle")].Gate = wheel.Gate{} // no pin is on it
	})
	a.Bring(t, "/machines", "half.json", file)
	a.Bring(t, "/pinnings", "two.json", []byte(`{"format": "pinwright-pinning/1", "title": "Two", "machine": "Half known", "tempo_bpm": 60,
		"pins": [{"channel": "bar-c5", "step": 0}, {"channel": "bar-e5", "step": 0}]}`))
	_, body := a.Get(t, "/pinnings/1/timing")
	for _, want := range []string{`href="/machines/2?channel=bar-c5#channel"`, "Reload of Bar C5", "Measure first"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, not := range []string{"Triangle</a></th><td>unknown", "Chords spread by", "Each channel, early and late", "Keep below"} {
		if strings.Contains(body, not) {
			t.Errorf("the page has %q", not)
		}
	}
}
