package web_test

import (
	"fmt"
	"net/url"
	"os"
	"strconv"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

// widths are those at which every page has to hold: a desk's, a laptop's, a
// tablet's, a phone's, and the narrowest that WCAG 2.2, 1.4.10 asks for.
var widths = []browsertest.View{
	{WidthPX: 1440, HeightPX: 900}, {WidthPX: 1280, HeightPX: 800}, {WidthPX: 768, HeightPX: 1024},
	{WidthPX: 390, HeightPX: 844, Touch: true}, {WidthPX: 320, HeightPX: 640, Touch: true},
}

// At every width a page has a head of one line, keeps everything within the
// window and within what holds it, and can be worked by a finger; its buttons and
// links say what they do, and a long page is no longer than it may be.
func TestEveryPageHoldsAtEveryWidth(t *testing.T) {
	b := browsertest.Start(t)
	empty, full := webtest.Start(t, web.New), webtest.StartWheel(t, web.New)
	const ready = `document.querySelector("[data-ready]")`
	song := fmt.Sprintf("/songs/%d", full.SongID(t, "Mill Race"))
	race, knocks := full.SetSong(t, "Mill Race", nil), full.SetSong(t, "Nine Knocks", url.Values{"tempo": {"150"}})
	full.AddSunday(t)
	full.SayOnWheel(t, full.Old)
	_, proof := full.Post(t, "/machines/1/proof", url.Values{"start": {"4"}})
	other := webtest.StartWheel(t, web.New)
	other.SayOnWheel(t, other.Old)
	job := other.BeginChangeover(t)

	page := b.Open(t, empty.URL+"/", widths[0])
	for _, c := range []struct {
		name, address, wait string
		under               int // px, at 1,280 and 390; 0: as long as it needs
	}{
		{"empty-home", empty.URL + "/", "", 0},
		{"empty-songs", empty.URL + "/songs", "", 0},
		{"empty-survey", empty.URL + "/survey", "", 0},
		{"empty-pinnings", empty.URL + "/pinnings", "", 0},
		{"empty-machines", empty.URL + "/machines", "", 0},
		{"empty-programmes", empty.URL + "/programmes", "", 0},
		{"home", full.URL + "/", "", 0},
		{"look", full.URL + "/look", "", 0},
		{"songs", full.URL + "/songs", "", 0},
		{"survey", full.URL + "/survey", "", 0},
		{"song", full.URL + song, "", 2200},
		{"song-eased", full.URL + song + "?from_bar=1&transpose=0&tempo=170&ease=on&advance=on", "", 0},
		{"pinnings", full.URL + "/pinnings", "", 0},
		{"wheel", full.URL + race, ready, 0},
		{"wheel-unsafe", full.URL + race + "?tempo=150", ready, 0},
		{"limits", full.URL + race + "/timing", "", 2500},
		{"limits-tried", full.URL + knocks + "/timing?tempo=140&path=channels.bar-c5.gate.reload_ms&value=121&lane=chute-2&bars=2", "", 0},
		{"window", full.URL + race + "/window", "", 0},
		{"sheets", full.URL + race + "/sheets", "", 0},
		{"programmes", full.URL + "/programmes", "", 0},
		{"programme", full.URL + "/programmes/1", "", 0},
		{"visitor", full.URL + "/programmes/1/visitor/1", "", 0},
		{"crank", full.URL + "/crank?pinning=1", "", 0},
		{"noise", full.URL + "/noise?level=91&hours=4", "", 0},
		{"machines", full.URL + "/machines", "", 0},
		{"machine", full.URL + "/machines/1", "", 0},
		{"channel", full.URL + "/machines/1?channel=tube-c3", "", 0},
		{"onwheel", full.URL + "/machines/1/wheel", "", 0},
		{"changeover", full.URL + "/machines/1/changeover?to=" + strings.TrimPrefix(race, "/pinnings/"), "", 0},
		{"proofreading", full.URL + proof, "", 0},
		{"job", other.URL + job, webtest.JobShown, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			page.Show(t, widths[0])
			page.Go(t, c.address)
			if c.wait != "" {
				page.WaitFor(t, c.wait)
			}
			for _, v := range widths {
				page.Show(t, v)
				name := c.name + "-" + strconv.Itoa(v.WidthPX)
				t.Run(strconv.Itoa(v.WidthPX), func(t *testing.T) {
					if high := browsertest.Eval[float64](t, page, `document.querySelector("header.top")?.getBoundingClientRect().height ?? 0`); high > 64 {
						t.Errorf("the head of the page is %.0f px tall; one line is 64 at most", high)
					}
					page.NoSideScroll(t)
					page.Contained(t)
					page.Handy(t)
					for _, s := range page.Misnamed(t) {
						t.Error(s)
					}
					if high := page.Height(t); c.under > 0 && high >= c.under && (v.WidthPX == 1280 || v.WidthPX == 390) {
						t.Errorf("the page is %d px tall; it should be under %d", high, c.under)
					}
				})
				page.Screenshot(t, name+"-light")
				for how, v := range map[string]browsertest.View{"dark": v.InDark(), "forced": v.InForcedColours()} {
					if shots(v) {
						page.Show(t, v)
						page.Screenshot(t, name+"-"+how)
					}
				}
			}
		})
	}
}

// shots says in which views beside the light one pictures are taken, where they are.
func shots(v browsertest.View) bool {
	return os.Getenv(browsertest.ShotsEnv) != "" && (v.WidthPX == 1280 || v.WidthPX == 390)
}
