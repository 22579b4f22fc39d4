package atwheel_test

import (
	"fmt"
	"net/url"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// The views in which the first screen is judged, and the narrowest.
var (
	bench    = browsertest.View{WidthPX: 1280, HeightPX: 800}
	phone    = browsertest.Phone
	narrow   = browsertest.View{WidthPX: 320, HeightPX: 640, Touch: true}
	allViews = []struct {
		name string
		view browsertest.View
	}{
		{"1280", bench}, {"1280-dark", bench.InDark()}, {"390", phone}, {"390-dark", phone.InDark()}, {"320", narrow},
		{"1280-forced", bench.InForcedColours()},
	}
)

// looker holds of a page, in all views, what every page has to be: no wider than
// its window, nothing out of its container, every control with a name and large
// enough, one primary action, and clean for axe-core in light and dark.
type looker struct {
	*browsertest.Page
	app *webtest.Wheel
}

func (l looker) at(t *testing.T, name, path, wait string) {
	t.Helper()
	l.Show(t, bench)
	l.Go(t, l.app.URL+path)
	if wait != "" {
		l.WaitFor(t, wait)
	}
	for _, v := range allViews {
		l.Show(t, v.view)
		l.NoSideScroll(t)
		l.Contained(t)
		l.Handy(t)
		l.Screenshot(t, name+"-"+v.name)
		if v.view != narrow && !v.view.Forced {
			l.Axe(t)
		}
	}
	if n := browsertest.Eval[int](t, l.Page, `[...document.querySelectorAll("main :is(button, a).main")].filter((e) => e.checkVisibility()).length`); n > 1 {
		t.Errorf("%s has %d primary actions", name, n)
	}
	if t.Failed() {
		t.Fatalf("at %s", name)
	}
}

// first holds what is in the first screen at both sizes. The page is loaded
// again, as it is when someone comes to it.
func (l looker) first(t *testing.T, path string, parts ...string) {
	t.Helper()
	for _, v := range []browsertest.View{bench, phone} {
		l.Show(t, v)
		l.Go(t, l.app.URL+path)
		l.InFirstScreen(t, parts...)
	}
}

func TestWhatIsOnTheWheelAndWhatToDoNextAreInTheFirstScreen(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	l := looker{browser.Open(t, a.URL+"/machines/1/wheel", bench), a}
	const path = "/machines/1/wheel"
	l.first(t, path, "h1", ".empty h2", "button.main")
	l.at(t, "onwheel-unknown", path, "")

	a.SayOnWheel(t, millRace(t, a))
	l.first(t, path, "h1", ".on-now", "#next", "button.main")
	l.at(t, "onwheel", path, "")
	l.Show(t, bench)
	if high := l.Height(t); high > 1600 {
		t.Errorf("it is %d px tall", high)
	}
	l.first(t, path+"?tempo=150", "h1", ".warning.stop", ".warning a", ".on-now h2")
	l.Show(t, bench)
	l.ClickOn(t, "link", "Check at 89.9 BPM")
	l.WaitFor(t, `!document.querySelector(".warning.stop") && document.querySelector("#tempo").value === "89.9"`)
	l.at(t, "onwheel-unsafe", path+"?tempo=150", "")

	a.SayOnWheel(t, a.Old)
	job := a.BeginChangeover(t)
	sendTap(t, a, job, map[string]any{"id": "t1", "do": "done", "step": 4, "channels": []string{"bar-c5", "bar-e5"}})
	sendTap(t, a, job, map[string]any{"id": "t2", "do": "trouble", "step": 8, "channel": "bar-d5", "trouble": "split hole"})
	l.first(t, path, "h1", ".on-now", "a.button.main")
	a.Post(t, job+"/stop", nil)
	l.first(t, path, "h1", ".on-now", "button.main")
	l.at(t, "onwheel-between", path, "")
	l.Show(t, phone)
	l.ClickOn(t, "button", "Resume the changeover")
	l.WaitFor(t, webtest.JobShown)
}

// millRace sets the demo's largest song and returns its pinning.
func millRace(t *testing.T, a *webtest.Wheel) (id int64) {
	t.Helper()
	if _, err := fmt.Sscanf(a.SetSong(t, "Mill Race", url.Values{"tempo": {"84"}}), "/pinnings/%d", &id); err != nil {
		t.Fatal(err)
	}
	return id
}

func TestAChangeoverIsSeenBeforeItIsRead(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	mill := millRace(t, a)
	path := fmt.Sprintf("/machines/1/changeover?to=%d", a.New)
	l := looker{browser.Open(t, a.URL+path, bench), a}
	l.first(t, path, "h1", ".empty h2", "button.main")
	a.SayOnWheel(t, mill)
	l.first(t, path, "h1", ".figures", "button.main")
	l.Show(t, bench)
	l.InFirstScreen(t, ".machine-drawing")
	if high := l.Height(t); high > 1600 {
		t.Errorf("it is %d px tall", high)
	}
	l.at(t, "changeover", path, "")
	l.at(t, "changeover-options", path+"&rotate=on&exchange=on&start=100", "")
	l.at(t, "changeover-none", fmt.Sprintf("/machines/1/changeover?to=%d", mill), "")
	l.at(t, "changeover-wrong", path+"&start=999", "")
	l.Troubles(t) // that answer is 422
	// The picture says in words what it shows: 427 pins of Mill Race and 4 of New
	// Round, of which the page counts as many as stay.
	if says := browsertest.Eval[string](t, l.Page, `(async () => {
		const text = await (await fetch("`+path+`")).text(), page = new DOMParser().parseFromString(text, "text/html");
		const [pulls, drives, stay] = [...page.querySelectorAll(".figures .value")].map((e) => e.textContent);
		const label = page.querySelector(".machine-drawing svg").getAttribute("aria-label");
		return label.includes(pulls + " pulls, " + drives + " drives, " + stay + " pin") ? "" : label + " beside " + [pulls, drives, stay];
	})()`); says != "" {
		t.Error(says)
	}
}

// With 6 channels and with 64 the marks of a changeover stay apart from each
// other: by shape, and by the word in the key.
func TestAChangeoverIsDrawnForFewAndManyChannels(t *testing.T) {
	browser := browsertest.Start(t)
	for _, channels := range []int{6, 64} {
		a := webtest.StartWheel(t, web.New)
		m := demo.Machine()
		m.Name = fmt.Sprint("Graupel ", channels)
		pattern, fall := m.Channels[0], m.Lanes[0]
		m.Channels, m.Lanes = nil, nil
		var on, to []wheel.Pin
		for i := range channels {
			fall.ID = fmt.Sprint("drop-", i)
			c := pattern
			c.ID, c.Name, c.Row, c.Keys, c.Path, c.Exit = fmt.Sprint("bar-", i), fmt.Sprint("Bar ", i), i, []int{i}, []string{fall.ID}, nil
			m.Lanes, m.Channels = append(m.Lanes, fall), append(m.Channels, c)
			for n := range 6 {
				step := (37*i + 41*n) % 256
				if n < 4 {
					on = append(on, wheel.Pin{Channel: c.ID, Step: step})
				}
				if n > 1 {
					to = append(to, wheel.Pin{Channel: c.ID, Step: step})
				}
			}
		}
		id, err := a.Store.AddMachine(t.Context(), m)
		if err != nil {
			t.Fatal(err)
		}
		var pinnings []int64
		for i, pins := range [][]wheel.Pin{on, to} {
			p, err := a.Store.AddPinning(t.Context(), id, 0, &wheel.Pinning{Format: wheel.PinningFormat, Title: fmt.Sprint("Hail ", i), Machine: m.Name, TempoBPM: 60, Pins: pins})
			if err != nil {
				t.Fatal(err)
			}
			pinnings = append(pinnings, p)
		}
		if err := a.Store.SayOnWheel(t.Context(), id, pinnings[0]); err != nil {
			t.Fatal(err)
		}
		path := fmt.Sprintf("/machines/%d/changeover?to=%d", id, pinnings[1])
		l := looker{browser.Open(t, a.URL+path, bench), a}
		l.at(t, fmt.Sprint("changeover-of-", channels), path, "")
		for _, mark := range []string{"pull", "drive", "stays"} {
			if key := l.Text(t, ".holes-key"); !containsWord(key, mark) {
				t.Errorf("the key %q has no %s", key, mark)
			}
		}
	}
}

func containsWord(text, word string) bool {
	var rest string
	for _, r := range text + " " {
		if r == ' ' || r == '\n' {
			if rest == word {
				return true
			}
			rest = ""
			continue
		}
		rest += string(r)
	}
	return false
}

func TestWorkAtTheWheelShowsTheNextHoleFirst(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	job := a.BeginChangeover(t)
	l := looker{browser.Open(t, a.URL+job, phone), a}
	l.at(t, "atwheel-ways", job, webtest.JobShown)
	l.Show(t, phone)
	l.Go(t, a.URL+job)
	l.WaitFor(t, webtest.JobShown)
	l.InFirstScreen(t, `[data-way="forward"]`, `[data-way="backward"]`)
	l.Click(t, `[data-way="forward"]`)
	l.WaitFor(t, webtest.StepShown(4))
	l.InFirstScreen(t, "nav.trail", "[data-step]", "[data-moves]", "[data-holes]", "[data-done]")
	if top := browsertest.Eval[float64](t, l.Page, `document.querySelector("[data-step]").getBoundingClientRect().top`); top > 240 {
		t.Errorf("what is to be done begins at %g px", top)
	}
	l.at(t, "atwheel", job, webtest.JobShown)
	a.Post(t, job+"/stop", nil)
	l.first(t, job, "h1", "button.main")
	l.at(t, "atwheel-stopped", job, "")

	_, proof := a.Post(t, "/machines/1/proof", url.Values{"start": {"0"}})
	l.at(t, "proof", proof, webtest.JobShown)
	l.Show(t, phone)
	l.Go(t, a.URL+proof)
	l.WaitFor(t, webtest.JobShown)
	l.InFirstScreen(t, "[data-step]", "[data-calls]", "[data-next]")
	sendTap(t, a, proof, map[string]any{"id": "f1", "do": "found", "step": 8, "channel": "bar-d5", "there": false})
	a.Post(t, proof+"/stop", nil)
	l.first(t, proof, "h1", "button.main")
	l.at(t, "proof-result", proof, "")
}

func TestSheetsShowWhatIsPrintedAndWhatItCosts(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	path := fmt.Sprintf("/pinnings/%d/sheets", a.Old)
	l := looker{browser.Open(t, a.URL+path, bench), a}
	l.first(t, path, "h1", "a.button.main")
	l.Show(t, bench)
	l.WaitFor(t, `[...document.querySelectorAll(".sheet-preview img")].every((i) => i.complete && i.naturalWidth)`)
	l.InFirstScreen(t, ".sheet-preview img")
	l.at(t, "sheets", path, "")
	l.at(t, "sheets-wrong", path+"?paper=roll&roll=9", "")
}

// On paper the pages are documents: headings, figures and drawings, no buttons.
func TestPagesAtTheWheelPrintAsDocuments(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	page := browser.Open(t, a.URL+"/machines/1/wheel", bench)
	for _, path := range []string{"/machines/1/wheel", fmt.Sprintf("/machines/1/changeover?to=%d", a.New), fmt.Sprintf("/pinnings/%d/sheets", a.Old)} {
		page.Show(t, browsertest.View{WidthPX: 794, HeightPX: 1123, Print: true}) // A4 at 96 px an inch
		page.Go(t, a.URL+path)
		page.NoSideScroll(t)
		if shown := browsertest.Eval[[]string](t, page, `[...document.querySelectorAll("button, .button, nav, input:not([type=text], [type=number]), .skip")].filter((e) => e.checkVisibility()).map((e) => e.outerHTML.slice(0, 80))`); len(shown) > 0 {
			t.Errorf("%s prints %q", path, shown)
		}
		if !browsertest.Eval[bool](t, page, `[...document.querySelectorAll("h1, .machine-drawing svg, .sheet-preview img")].filter((e) => e.checkVisibility()).length > 1`) {
			t.Errorf("%s prints no heading or no picture", path)
		}
	}
}
