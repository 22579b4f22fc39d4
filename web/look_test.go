package web

import (
	"net/url"
	"strconv"
	"testing"

	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

// Every page, in every view that must be good, breaks no accessibility rule
// of axe-core, and nothing lies outside the window.
func TestPagesAreGoodForEveryone(t *testing.T) {
	b := browsertest.Start(t)
	full, empty := webtest.StartDemo(t, New), webtest.Start(t, New)
	knocks := full.SetSong(t, "Nine Knocks", url.Values{"tempo": {"150"}})
	race := full.SetSong(t, "Mill Race", nil)
	song := "/songs/" + strconv.FormatInt(full.SongID(t, "Mill Race"), 10)
	full.AddSunday(t)
	for _, c := range []struct {
		name string
		app  *webtest.App
		path string
		wait string
	}{
		{"empty-home", empty, "/", ""},
		{"empty-songs", empty, "/songs", ""},
		{"empty-pinnings", empty, "/pinnings", ""},
		{"empty-machines", empty, "/machines", ""},
		{"home", full, "/", ""},
		{"look", full, "/look", ""},
		{"songs", full, "/songs", ""},
		{"empty-survey", empty, "/survey", ""},
		{"survey", full, "/survey", ""},
		{"song", full, song, ""},
		{"song-eased", full, song + "?from_bar=1&transpose=0&tempo=170&ease=on&advance=on&play_2_1=off&group_3_2=tube&lack_3_2=octave", ""},
		{"song-wrong", full, song + "?from_bar=99&transpose=auto", ""},
		{"pinnings", full, "/pinnings", ""},
		{"machines", full, "/machines", ""},
		{"machine", full, "/machines/1", ""},
		{"wheel-busy", full, race + "?tempo=150", "document.querySelector('[data-ready]')"},
		{"timing", full, knocks + "/timing", ""},
		{"timing-trial", full, knocks + "/timing?tempo=140&path=channels.bar-c5.gate.reload_ms&value=121&lane=chute-2&bars=2", ""},
		{"timing-wrong", full, knocks + "/timing?path=channels.bar-c5.gate.reload_ms&value=-3&lane=nowhere", ""},
		{"window", full, knocks + "/window?from=60&to=90", ""},
		{"window-wrong", full, race + "/window?from=90&to=60", ""},
		{"programmes", full, "/programmes", ""},
		{"programme", full, "/programmes/1", ""},
		{"programme-old", full, "/programmes/1?version=1", ""},
		{"visitor", full, "/programmes/1/visitor/1", ""},
		{"crank", full, "/crank?pinning=1", ""},
		{"noise", full, "/noise?level=91&hours=4", ""},
		{"noise-wrong", full, "/noise?level=loud", ""},
		{"wheel", full, knocks, "document.querySelector('[data-ready]')"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			page := b.Open(t, c.app.URL+c.path, browsertest.Laptop)
			if c.wait != "" {
				page.WaitFor(t, c.wait)
			}
			for _, v := range []struct {
				name  string
				view  browsertest.View
				rules bool // both widths and both colours come up, if not every pair of them
			}{
				{"laptop-light", browsertest.Laptop, true}, {"laptop-dark", browsertest.Laptop.InDark(), false},
				{"phone-light", browsertest.Phone, false}, {"phone-dark", browsertest.Phone.InDark(), true},
			} {
				if !v.rules && !testing.Verbose() {
					continue
				}
				page.Show(t, v.view)
				page.NoSideScroll(t)
				// The head takes one line, the page the rest.
				if high := browsertest.Eval[float64](t, page, `document.querySelector("header.top")?.getBoundingClientRect().height ?? 0`); high > 64 {
					t.Errorf("%s: the head of the page is %.0f px high; one line is 64 at most", v.name, high)
				}
				page.Screenshot(t, c.name+"-"+v.name)
				if v.rules {
					page.Axe(t)
				}
			}
		})
	}
}
