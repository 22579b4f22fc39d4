package web_test

import (
	"context"
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// WCAG 2.2, 2.5.8: targets of 24 by 24 CSS pixels; links within a sentence
// are exempt.
func TestTargetsAreLargeEnoughForAFinger(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	pinning := a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"150"}})
	page := b.Open(t, a.URL+"/", browsertest.Phone)
	for _, path := range []string{"/", "/songs", "/songs/1", "/songs/99", "/pinnings", pinning, "/machines", "/machines/1"} {
		page.Go(t, a.URL+path)
		small := browsertest.Eval[[]string](t, page, `[...document.querySelectorAll("a, button, summary, input, select")]
			.filter((e) => e.checkVisibility() && !e.matches("p:not(.trail, .on) a"))
			.map((e) => [e, e.getBoundingClientRect()])
			.filter(([e, box]) => box.width < 24 || box.height < 24)
			.map(([e, box]) => e.outerHTML.slice(0, 60) + " " + box.width + " by " + box.height)`)
		for _, s := range small {
			t.Errorf("%s: %s", path, s)
		}
		page.Troubles(t) // the page that is not there
	}
}

// Texts that come in with files stand as they are, however long, whatever
// they look like, and move nothing out of its place.
func TestTextsOfFilesStayInTheirPlaces(t *testing.T) {
	b := browsertest.Start(t)
	for name, text := range map[string]string{
		"unbroken": `<script>document.title="gone"</script><img src=x onerror="document.title='gone'">` + strings.Repeat("Mühlrad", 16),
		"reversed": "\u202eשיר הגשם\u202e על גלגל הטחנה",
	} {
		t.Run(name, func(t *testing.T) {
			a := webtest.Start(t, web.New)
			m := demo.Machine()
			m.Name, m.Note = text, text
			for i := range m.Channels {
				m.Channels[i].Name, m.Channels[i].Note = fmt.Sprintf("%.190s %d", text, i), text
			}
			for i := range m.Lanes {
				m.Lanes[i].Note = text
			}
			ctx := context.Background()
			if _, err := a.Store.AddMachine(ctx, m); err != nil {
				t.Fatal(err)
			}
			p := &wheel.Pinning{Format: wheel.PinningFormat, Title: text, TempoBPM: 180,
				Pins: []wheel.Pin{{Channel: "bar-c5", Step: 1}, {Channel: "bar-c5", Step: 2}, {Channel: "bar-b4", Step: 1}}}
			if _, err := a.Store.AddSongs(ctx, text+".mid", webtest.MIDIFile(0, text)); err != nil {
				t.Fatal(err)
			}
			if _, err := a.Store.AddPinning(ctx, 1, 1, p); err != nil {
				t.Fatal(err)
			}
			page := b.Open(t, a.URL+"/", browsertest.Phone)
			for _, path := range []string{"/", "/songs?added=1", "/songs/1", "/pinnings", "/pinnings/1", "/machines", "/machines/1"} {
				page.Go(t, a.URL+path)
				if strings.Contains(path, "pinnings/") {
					page.WaitFor(t, `document.querySelector("[data-ready]")`)
				}
				if s := page.SideScroll(t); s != "" {
					t.Errorf("%s: %s", path, s)
				}
				if title := browsertest.Eval[string](t, page, `document.title`); !strings.HasSuffix(title, "Pinwright") {
					t.Errorf("%s: the title is %q", path, title)
				}
				page.Screenshot(t, "text-"+name+strings.NewReplacer("/", "-", "?added=1", "").Replace(path))
			}
		})
	}
}

// Everything but the drawing works without a script.
func TestPagesWorkWithoutScripts(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.Start(t, web.New)
	page := b.Open(t, a.URL+"/songs", browsertest.Laptop)
	scripts := func(off bool) {
		page.Do(t, "switch scripts", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: off})
			return err
		}))
	}
	scripts(true)
	defer scripts(false)
	heading := func(want string) {
		t.Helper()
		page.WaitFor(t, `document.readyState === "complete" && document.querySelector("h1").textContent.trim() === "`+want+`"`)
	}
	page.Go(t, a.URL+"/machines")
	page.Upload(t, `input[name=file]`, webtest.SaveFile(t, "hailstone.json", webtest.MachineFile(t, nil)))
	page.ClickOn(t, "button", "Bring the machine")
	heading("Hailstone")
	page.Go(t, a.URL+"/songs")
	knocks := demo.Songs()[2]
	page.Upload(t, "#song-file", webtest.SaveFile(t, knocks.FileName, knocks.Bytes))
	page.ClickOn(t, "button", "Add to the songs")
	heading("Nine Knocks")
	page.Type(t, "#tempo", "150")
	page.Click(t, "#arranging button:not(.main)")
	page.WaitFor(t, `document.querySelector("#result").textContent.includes("at 150 BPM") && location.search.includes("tempo=150")`)
	page.ClickOn(t, "button", "Keep as a pinning")
	page.WaitFor(t, `location.pathname.startsWith("/pinnings/") && document.readyState === "complete"`)
	if got := page.Text(t, "[data-max-safe]"); got != "107.1" {
		t.Errorf("highest safe tempo %q, want 107.1", got)
	}
	if got := page.Text(t, ".face"); !strings.Contains(got, "The wheel is drawn by a script.") {
		t.Errorf("where the wheel would be: %q", got)
	}
	page.Type(t, "#tempo", "100")
	page.Click(t, "form.tempo button")
	page.WaitFor(t, `document.querySelector("#verdict").textContent.includes("No findings at 100 BPM")`)
	page.Screenshot(t, "without-scripts")
	page.ClickOn(t, "DisclosureTriangle", "More for this pinning")
	page.ClickOn(t, "DisclosureTriangle", "Remove")
	page.Click(t, `[action$="/remove"] button`)
	heading("Pinnings")
	if got := a.Kept(t); got != [3]int{1, 1, 0} {
		t.Errorf("kept %v, want the machine and the song", got)
	}
}
