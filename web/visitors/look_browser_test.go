package visitors_test

import (
	"context"
	"fmt"
	"net/url"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel/programme"
)

// fiveSongs is a day of five songs, one of them too fast, with pauses that are too
// short.
func fiveSongs(t *testing.T) *webtest.App {
	t.Helper()
	a := webtest.StartDemo(t, web.New)
	a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	a.SetSong(t, "Mill Race", nil)
	a.SetSong(t, "Frère Jacques", nil)
	body := programme.Programme{Name: "Sunday", PinsPerMin: 4}
	for i, bpm := range []float64{77, 175, 77, 60, 78} {
		body.Songs = append(body.Songs, programme.Song{PinningID: int64(i%3 + 1), TempoBPM: bpm, Turns: 2, Plays: 3, RestMin: 5})
	}
	if _, err := a.Store.AddProgramme(t.Context(), 1, programme.Change{Text: "begin", Programme: body}); err != nil {
		t.Fatal(err)
	}
	return a
}

// What each page is opened for stands in its first screen, pages keep to their
// heights until something is opened, and nothing in them sticks out or lacks a name.
func TestLookOfTheVisitorsPages(t *testing.T) {
	a := fiveSongs(t)
	b := browsertest.Start(t)
	desk, phone := browsertest.View{WidthPX: 1280, HeightPX: 800}, browsertest.Phone
	narrow := browsertest.View{WidthPX: 320, HeightPX: 640}
	for _, c := range []struct {
		name, path string
		first      string // that is in the first screen at 1,280 px and on a phone
		high       float64
	}{
		{"programmes", "/programmes", `document.querySelector("main table a")`, 800},
		{"programme", "/programmes/1", `document.querySelector(".figures")`, 1700},
		{"window", "/pinnings/1/window", `document.querySelector(".window-sheet .strip svg")`, 1400},
		{"crank", "/crank?pinning=1", `document.querySelector("[data-sensor] [data-bpm]")`, 1200},
		{"noise", "/noise?level=91&hours=4", `document.querySelector(".noise .big")`, 1050},
	} {
		t.Run(c.name, func(t *testing.T) {
			page := b.Open(t, a.URL+c.path, desk)
			for _, v := range []struct {
				name string
				view browsertest.View
				axe  bool
			}{{"desk", desk, true}, {"desk-dark", desk.InDark(), true}, {"phone", phone, true}, {"phone-dark", phone.InDark(), true}, {"narrow", narrow, false}, {"forced", desk.InForcedColours(), false}} {
				page.Show(t, v.view)
				page.NoSideScroll(t)
				page.Contained(t)
				page.Screenshot(t, "look-"+c.name+"-"+v.name)
				for _, out := range browsertest.Eval[[]string](t, page, overflowing) {
					t.Errorf("%s: %s", v.name, out)
				}
				for _, nameless := range browsertest.Eval[[]string](t, page, namelessControls) {
					t.Errorf("%s: no name or less than 24 px: %s", v.name, nameless)
				}
				if v.axe {
					page.Axe(t)
				}
				if v.view.WidthPX != narrow.WidthPX {
					if bottom := browsertest.Eval[float64](t, page, fmt.Sprintf(`%s.getBoundingClientRect().bottom + window.scrollY`, c.first)); bottom > float64(v.view.HeightPX) {
						t.Errorf("%s: what the page is for ends at %.0f px, and the window at %d", v.name, bottom, v.view.HeightPX)
					}
				}
				if v.name == "desk" {
					if high := browsertest.Eval[float64](t, page, `document.documentElement.scrollHeight`); high > c.high {
						t.Errorf("the page is %.0f px high, more than %.0f", high, c.high)
					}
				}
			}
		})
	}
}

// overflowing names what sticks out of the sheet, line or warning that holds it.
const overflowing = `[...document.querySelectorAll(".sheet, .song, .warning, .figures > div, .fold-body")].flatMap((box) => {
	const outer = box.getBoundingClientRect();
	return [...box.querySelectorAll("*")].filter((e) => {
		const { left, right, width } = e.getBoundingClientRect();
		return width > 1 && !e.closest("svg *, .unseen, .wide") && (left < outer.left - 1 || right > outer.right + 1);
	}).map((e) => e.outerHTML.slice(0, 80) + " sticks out of " + box.className);
})`

// namelessControls are buttons and links with no words to them, or too small to
// be hit; links inside sentences are as high as their line.
const namelessControls = `[...document.querySelectorAll("main button, main a, main summary")].filter((e) => {
	const { width, height } = e.getBoundingClientRect();
	return width > 1 && (e.textContent.trim().length < 2 || !e.closest("p, li") && Math.min(width, height) < 24);
}).map((e) => e.outerHTML.slice(0, 80))`

// On paper a programme has all that its fields have, open or not.
func TestProgrammePrintsItsFields(t *testing.T) {
	a := fiveSongs(t)
	page := browsertest.Start(t).Open(t, a.URL+"/programmes/1", browsertest.View{WidthPX: 1000, HeightPX: 1200})
	rests := `[...document.querySelectorAll("[name=rest]")].filter((e) => e.checkVisibility({ contentVisibilityAuto: true }) && e.getBoundingClientRect().height > 0).length`
	if n := browsertest.Eval[int](t, page, rests); n != 0 {
		t.Errorf("%d songs are open at first", n)
	}
	page.Do(t, "print", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		return err
	}))
	page.WaitFor(t, rests+" === 5") // all are on paper, once it is laid out
	page.Screenshot(t, "look-programme-printed")
}

// A day of five songs is one line a song, opened to edit; a warning's button
// resolves it, what was typed elsewhere is kept with it, and the focus stays with
// the song.
func TestProgrammeWarningIsResolvedByItsButton(t *testing.T) {
	a := fiveSongs(t)
	page := browsertest.Start(t).Open(t, a.URL+"/programmes/1", browsertest.View{WidthPX: 1280, HeightPX: 800})
	if high := browsertest.Eval[float64](t, page, `Math.max(...[...document.querySelectorAll(".song")].map((song) => song.getBoundingClientRect().height))`); high > 64 {
		t.Errorf("a song takes %.0f px, more than one line", high)
	}
	open(t, page, 1)
	page.Type(t, "#turns-1", "7")
	page.Screenshot(t, "look-programme-open")
	page.Axe(t)
	page.ClickOn(t, "button", "Set 80.9 BPM : song 2, Mill Race")
	page.WaitFor(t, `location.search === "?at=2" && document.readyState === "complete" && document.activeElement === document.querySelector("#song-2 summary")`)
	p, err := a.Store.Programme(t.Context(), 1)
	if err != nil || p.Body.Songs[1].TempoBPM != 80.9 || p.Body.Songs[0].Turns != 7 {
		t.Errorf("%+v, %v", p.Body.Songs[:2], err)
	}
	page.ClickOn(t, "button", "Keep the programme")
	page.WaitFor(t, `location.search === "?kept=yes" && document.activeElement?.textContent === "Keep the programme"`)
}
