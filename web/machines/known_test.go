package machines_test

import (
	"context"
	"fmt"
	"html"
	"net/url"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// halfKnown is a machine of six channels: the figures of every other one are
// left out, and so is the length of a lane. It also has what warnings are about.
func halfKnown(m *wheel.Machine) {
	few(m)
	m.Name = "Half known"
	for i := range m.Channels {
		c := &m.Channels[i]
		if i%2 == 0 {
			c.Trip, c.Gate.ReloadMS, c.Strike.ClearMS, c.ExitMMS = wheel.Trip{}, wheel.Maybe{}, wheel.Maybe{}, wheel.Maybe{}
		} else {
			c.Trip.ReachMM = wheel.Known(7) // beyond the hold, 6 mm
		}
	}
	c := &m.Channels[1]
	c.Gate.ReloadMS, c.Gate.ReloadSDMS = wheel.Known(140), wheel.Known(8)
	c.Strike.ClearMS, c.Strike.Restitution = wheel.Maybe{}, wheel.Known(0.5)
	m.Lanes[m.Lane(c.Exit[0])].LengthMM = wheel.Maybe{}
	m.Channels[3].Gate.ReloadMS, m.Channels[3].Gate.FeedSlopeDeg = wheel.Maybe{}, wheel.Known(10)
	m.Channels[5].Trip.JitterMS = wheel.Known(99)
	m.Measured = []wheel.Measured{{Figure: "channels." + c.ID + ".gate.reload_ms", N: 16, SD: wheel.Known(8), On: "2026-11-20", By: "Ada", How: "recording"}}
}

func bringHalfKnown(t *testing.T, a *webtest.App) *wheel.Machine {
	t.Helper()
	if status, body := a.Bring(t, "/machines", "half.json", webtest.MachineFile(t, halfKnown)); status != 303 {
		t.Fatal(body)
	}
	m, err := a.Store.Machine(context.Background(), 2)
	if err != nil {
		t.Fatal(err)
	}
	return m.File
}

// The page names what is unknown first and leads to each; a channel's page has
// every figure with its doubt, its spread and where it comes from.
func TestMachinePageSaysWhatIsUnknownAndWhereFiguresComeFrom(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	m := bringHalfKnown(t, a)
	unknown := m.Unknown(wheel.AllChannels)
	status, whole := a.Get(t, "/machines/2")
	webtest.Expect(t, status, whole, 200, "Measure first", fmt.Sprint(len(unknown), " figures are unknown"), "1 measured", "more warning")
	n := wheel.CountBases(ground(m))
	if n[wheel.UnknownBasis] != len(unknown) {
		t.Fatalf("counted %v, unknown are %v", n, unknown)
	}
	for _, path := range unknown {
		f, err := m.Figure(path)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(whole, "><bdi>"+html.EscapeString(say.Capital(f.Label))+"</bdi></a>") {
			t.Errorf("%s is not named with a link", f.Label)
		}
	}
	if at := strings.Index(whole, `id="measure"`); at < 0 || at > strings.Index(whole, "machine-drawing") {
		t.Error("what is unknown does not come first")
	}
	one := m.Channels[1].ID
	status, page := a.Get(t, "/machines/2?channel="+url.QueryEscape(one))
	// u = 8/√16 = 2 (worked by hand).
	webtest.Expect(t, status, page, 200, "140 ± 2 ms", "8 ms", "Measured 16 times on 20 November 2026 by Ada (recording).", "measured",
		"In the file; doubt assumed.", "Not in the file.", "A marble that is left to settle", "0.5 times the speed of the first strike")
	status, page = a.Get(t, "/machines/2?channel="+url.QueryEscape(m.Channels[0].ID))
	webtest.Expect(t, status, page, 200, "channels."+m.Channels[0].ID+".gate.reload_ms", "The slope of the feed would do as well.")
	if said := webtest.Said(page); strings.Contains(said, "0 ms") {
		t.Error("an unknown figure is shown as 0 ms")
	}
	// One 12 mm diameter from rest down 10°: 140.5 ms (worked by hand at TestFeedTime…).
	status, page = a.Get(t, "/machines/2?channel="+url.QueryEscape(m.Channels[3].ID))
	webtest.Expect(t, status, page, 200, "140.5 ms", "Follows from the slope of the feed", "10 ± 0.25°")
	// Nothing is unknown on the demo machine.
	if _, demo := a.Get(t, "/machines/1"); strings.Contains(demo, "Measure first") {
		t.Error("the demo machine has something to measure first")
	}
	status, home := a.Get(t, "/")
	webtest.Expect(t, status, home, 200, fmt.Sprint(len(unknown), " figures are unknown: "), "See what to measure")
}

func ground(m *wheel.Machine) []wheel.Based {
	g := m.Grounds()
	return g.All()
}

func TestTheHouseLimitIsKeptOnTheMachinePage(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	post := func(path string, revision int, house, reason string) (int, string) {
		return a.Post(t, path, url.Values{"revision": {fmt.Sprint(revision)}, "house": {house}, "reason": {reason}})
	}
	if status, to := post("/machines/1/house", 1, "96,5", "the frame shakes"); status != 303 || to != "/machines/1#house" {
		t.Fatalf("%d: %s", status, to)
	}
	status, page := a.Get(t, "/machines/1")
	webtest.Expect(t, status, page, 200, "never turned faster than 96.5 BPM: the frame shakes.", "Changes that were kept: 1", "house limit from not given to 96.5 BPM", "Remove the house limit")
	if strings.Contains(page, "reason of the house limit") {
		t.Error("the reason stands there twice")
	}
	for _, c := range []struct {
		name, path    string
		revision      int
		house, reason string
		status        int
		words         []string
	}{
		{"below the lowest tempo", "house", 2, "29", "slow", 422, []string{`The house limit is "29"; it should be 30 BPM or more, the machine’s lowest tempo`, "House limit"}},
		{"no number", "house", 2, "fast", "x", 422, []string{`The house limit is "fast"; it should be a number of BPM from 30`}},
		{"beyond any tempo", "house", 2, "1e308", "x", 422, []string{`The house limit is "1e308"`}},
		{"not a number", "house", 2, "NaN", "x", 422, []string{`The house limit is "NaN"`}},
		{"no reason", "house", 2, "90", " ", 422, []string{"The reason is missing"}},
		{"as it was", "house", 2, "96.5", "the frame shakes", 422, []string{"as they were"}},
		{"stale", "house", 1, "90", "x", 409, nil},
		{"nobody says why it goes", "house/remove", 2, "", "", 422, []string{"has no reason"}},
	} {
		status, page := post("/machines/1/"+c.path, c.revision, c.house, c.reason)
		webtest.Expect(t, status, page, c.status, c.words...)
		if c.path == "house" && c.status == 422 && c.name != "as it was" && !strings.Contains(page, `value="`+c.house+`"`) {
			t.Errorf("%s: what was typed is lost", c.name)
		}
	}
	if status, to := post("/machines/1/house/remove", 2, "", "new floor"); status != 303 {
		t.Fatalf("%d: %s", status, to)
	}
	status, page = a.Get(t, "/machines/1")
	webtest.Expect(t, status, page, 200, "There is none.", "new floor", "house limit from 96.5 to not given", "reason of the house limit removed: “the frame shakes”")
	if m, err := a.Store.Machine(context.Background(), 1); err != nil || m.Revision != 3 || m.File.Limits.HouseBPM.IsKnown() {
		t.Errorf("kept %+v, %v", m, err)
	}
}
