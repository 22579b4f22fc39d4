package pinnings_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinwright/timing"
	"pinwright/web"
	"pinwright/web/page"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

func TestHearStrikesAreThoseOfTheMechanics(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	p, err := a.Store.Pinning(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	turn, err := works.Turn(p.File)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		query string
		bpm   float64
		want  []timing.Strike
		turnS float64
	}{
		// 256 steps at four to the beat are 64 beats: 64 · 60 s / T (worked by hand).
		{"", 80, turn.AsWritten(80, nil), 48},
		{"?as=written&tempo=120", 120, turn.AsWritten(120, nil), 32},
		{"?as=played&tempo=150", 150, turn.AsPlayed(150, nil), 25.6},
		{"?as=played&tempo=37,5", 37.5, turn.AsPlayed(37.5, nil), 102.4},
	} {
		got := a.Strikes(t, path+"/strikes"+c.query)
		if got.TempoBPM != c.bpm || math.Abs(got.TurnS-c.turnS) > 1e-9 || got.Steps != 256 || got.StepsPerBeat != 4 || got.BeatsPerBar != 4 {
			t.Errorf("%q: %v BPM, a turn of %v s and %d steps", c.query, got.TempoBPM, got.TurnS, got.Steps)
		}
		if len(got.Strikes) != len(c.want) || len(c.want) != len(p.File.Pins) {
			t.Fatalf("%q: %d strikes, want %d of %d pins", c.query, len(got.Strikes), len(c.want), len(p.File.Pins))
		}
		for i, s := range got.Strikes {
			w := c.want[i]
			why := ""
			if w.Missed {
				why = w.Why.String()
			}
			if s != (page.StrikeHeard{Channel: w.Channel, Step: w.Step, AtS: w.AtS, Missed: w.Missed, Why: why}) {
				t.Errorf("%q: strike %d is %+v, want %+v", c.query, i, s, w)
			}
		}
	}
	got := a.Strikes(t, path+"/strikes")
	c5 := got.Channels[5]
	if len(got.Channels) != len(works.Channels) || c5.ID != "bar-c5" || c5.Kind != "bar" || c5.Key == nil || *c5.Key != 72 || c5.Drum {
		t.Errorf("channel 5 of %d is %+v, want Bar C5", len(got.Channels), c5)
	}
}

// At 140 BPM a step takes 107.1 ms and the gate of Bar C5 140 ms, so of its two
// pins one step apart the second finds it empty; its lever has 6 mm of 14.73
// less, so 63.5 ms, to fall back, and takes 60 (worked by hand).
func TestHearMissedDropsSayWhy(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"140"}})
	var missed []string
	for _, s := range a.Strikes(t, path+"/strikes?as=played").Strikes {
		if s.Missed {
			missed = append(missed, fmt.Sprint(s.Channel, " ", s.Why))
		} else if s.Why != "" {
			t.Errorf("%+v is not missed and says why", s)
		}
	}
	if len(missed) == 0 || strings.Trim(strings.Join(missed, ""), "5 unready") != "" {
		t.Errorf("missed are %q, want some of channel 5, unready", missed)
	}
	for _, s := range a.Strikes(t, path+"/strikes?as=written").Strikes {
		if s.Missed {
			t.Errorf("%+v is missed as written", s)
		}
	}
}

func TestHearAChannelWithoutKeysHasNone(t *testing.T) {
	a := webtest.Start(t, web.New)
	m := demo.Machine()
	m.Channels[0].Keys = nil
	ctx := context.Background()
	if _, err := a.Store.AddMachine(ctx, m); err != nil {
		t.Fatal(err)
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "One", TempoBPM: 60, Pins: []wheel.Pin{{Channel: m.Channels[0].ID, Step: 3}}}
	if _, err := a.Store.AddPinning(ctx, 1, 0, p); err != nil {
		t.Fatal(err)
	}
	status, body := a.Get(t, "/pinnings/1/strikes")
	if status != http.StatusOK || !strings.Contains(body, `"id":"bar-g4","name":"Bar G4","kind":"bar","key":null,"drum":false`) {
		t.Errorf("%d: %.400s", status, body)
	}
}

func TestHearWhatCannotBeAskedIsSaidInJSON(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Nine Knocks", nil)
	for _, c := range []struct {
		path   string
		status int
		says   string
	}{
		{path + "/strikes?tempo=fast", 422, `The tempo is "fast"; it should be a number of beats per minute from 1 to 1000.`},
		{path + "/strikes?tempo=0", 422, "from 1 to 1000"},
		{path + "/strikes?tempo=NaN", 422, "from 1 to 1000"},
		{path + "/strikes?tempo=1e9", 422, "from 1 to 1000"},
		{path + "/strikes?as=" + strings.Repeat("loud", 100), 422, "it should be “written” or “played”"},
		{"/pinnings/99/strikes", 404, "99"},
		{"/pinnings/x/strikes", 404, "no page"},
	} {
		status, body := a.Get(t, c.path)
		var got struct{ Problem string }
		if err := json.Unmarshal([]byte(body), &got); err != nil {
			t.Errorf("%.60s: no JSON: %v: %.200s", c.path, err, body)
		}
		if status != c.status || !strings.Contains(got.Problem, c.says) || len(got.Problem) > 300 {
			t.Errorf("%.60s: %d: %q, want %d and %q", c.path, status, got.Problem, c.status, c.says)
		}
	}
}
