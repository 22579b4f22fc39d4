package visitors_test

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/programme"
)

// shortPinning has three pins, on the steps 0, last/2 and last of one channel.
func shortPinning(m *wheel.Machine, title string, last int) *wheel.Pinning {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: title, TempoBPM: 60}
	for _, step := range []int{0, last / 2, last} {
		p.Pins = append(p.Pins, wheel.Pin{Channel: m.Channels[0].ID, Step: step})
	}
	return p
}

func TestProgrammeJoinsSongsThatShareOneWheel(t *testing.T) {
	ctx := context.Background()
	a := webtest.StartDemo(t, web.New)
	m, err := a.Store.Machine(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	for i, title := range []string{"First", "Second"} {
		p := shortPinning(m.File, title, 40+i*10)
		if _, err := a.Store.AddPinning(ctx, 1, 0, p); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := a.Store.AddProgramme(ctx, 1, programme.Change{Programme: programme.Programme{Name: "Sunday", Songs: []programme.Song{
		{PinningID: 1, TempoBPM: 60, Turns: 1, Plays: 1}, {PinningID: 2, TempoBPM: 60, Turns: 1, Plays: 1}}}}); err != nil {
		t.Fatal(err)
	}
	if _, body := a.Get(t, "/programmes/1"); !strings.Contains(body, "First and Second fit one turn together: 92 of 256 steps.") {
		t.Error("the page does not say that they fit")
	}
	status, to := a.Post(t, "/programmes/1/join", url.Values{"ids": {"1 2"}, "title": {"Both"}})
	if status != http.StatusSeeOther || to != "/pinnings/3" {
		t.Fatalf("%d %s", status, to)
	}
	both, err := a.Store.Pinning(ctx, 3)
	if err != nil || both.Pins != 6 || both.Title != "Both" {
		t.Errorf("%+v, %v", both, err)
	}
	for _, ids := range []string{"", "1", "1 x", "1 99"} {
		if status, _ := a.Post(t, "/programmes/1/join", url.Values{"ids": {ids}, "title": {"Both"}}); status < 400 || status >= 500 {
			t.Errorf("joining %q: %d", ids, status)
		}
	}
}
