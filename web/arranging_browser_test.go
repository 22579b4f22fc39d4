package web

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"pinwright/web/browsertest"
	"pinwright/wheel/song"
)

// longSong is 64 bars of four quarters, one bar full and three empty in turn.
func (a *app) longSong(t *testing.T) string {
	t.Helper()
	var notes []song.Note
	for bar := int64(0); bar < 64; bar++ {
		for beat := range int64(4) {
			if beat == 0 || bar%4 == 0 {
				notes = append(notes, tone(bar*4+beat, uint8(72+bar%4)))
			}
		}
	}
	return a.addSong(t, "Long Leat", 64*4*96, notes...)
}

// Hailstone's wheel holds 16 bars of 4/4 (wheel/demo).
func TestAStretchIsPickedWithMouseAndKeys(t *testing.T) {
	b := browsertest.Start(t)
	a := newDemo(t)
	page := b.Open(t, a.URL+a.longSong(t), browsertest.Laptop)
	const strip = `document.querySelector("#song-map")`
	page.WaitFor(t, strip+`.role === "slider"`)
	says := func(want string) {
		t.Helper()
		page.WaitFor(t, strip+`.ariaValueText === "`+want+`"`)
		if got := page.Text(t, "[data-stretch]"); !strings.EqualFold(got, want) {
			t.Errorf("below the map it says %q, want %q", got, want)
		}
	}
	says("bars 1 to 16 of 64")
	at := func(bar float64) (x, y float64) {
		box := browsertest.Eval[[4]float64](t, page, `(r => [r.x, r.y, r.width, r.height])(`+strip+`.getBoundingClientRect())`)
		return box[0] + box[2]*(bar-0.5)/64, box[1] + box[3]/2
	}
	x, y := at(33)
	page.Do(t, "press bar 33", chromedp.MouseClickXY(x, y))
	says("bars 33 to 48 of 64")
	page.WaitFor(t, `document.querySelector("#result").textContent.includes("Bars 33 to 48")`)

	// Taken hold of at its fourth bar and brought 8 bars back.
	x, y = at(36)
	to, _ := at(28)
	page.Do(t, "drag the stretch", chromedp.MouseEvent("mousePressed", x, y, chromedp.Button("left"), chromedp.ClickCount(1)),
		chromedp.MouseEvent("mouseMoved", to, y, chromedp.Button("left")), chromedp.MouseEvent("mouseReleased", to, y, chromedp.Button("left")))
	says("bars 25 to 40 of 64")

	page.Do(t, "focus the map", chromedp.Focus(chromedp.CSS("#song-map")))
	for _, c := range []struct{ key, want string }{
		{"ArrowRight", "bars 26 to 41 of 64"}, {"ArrowLeft", "bars 25 to 40 of 64"}, {"PageUp", "bars 41 to 56 of 64"},
		{"End", "bars 49 to 64 of 64"}, {"ArrowUp", "bars 50 to 64 of 64"}, {"Home", "bars 1 to 16 of 64"}, {"ArrowLeft", "bars 1 to 16 of 64"},
		{"Shift+ArrowLeft", "bars 1 to 15 of 64"}, {"PageUp", "bars 16 to 30 of 64"}, {"Shift+ArrowRight", "bars 16 to 31 of 64"},
	} {
		page.Press(t, c.key)
		says(c.want)
	}
	page.WaitFor(t, `document.querySelector("#result").textContent.includes("Bars 16 to 31") && location.search.includes("from_bar=16")`)
	if got := browsertest.Eval[string](t, page, `document.activeElement.id`); got != "song-map" {
		t.Errorf("the focus went to %q", got)
	}
	page.Type(t, "#from_bar", "60")
	says("bars 60 to 64 of 64")
	page.Screenshot(t, "stretch-picked")

	take := browsertest.Eval[string](t, page, `document.querySelector("a[data-take-from]").dataset.takeFrom`)
	page.Click(t, "a[data-take-from]")
	page.WaitFor(t, `document.querySelector("#from_bar").value === "`+take+`" && new URLSearchParams(location.search).get("from_bar") === "`+take+`"`)
	page.WaitFor(t, `document.querySelector("#stretches").textContent.includes("set now")`)
}

// The choices of a part and of a transposition, by keys, and the pinning kept
// with them. Nine Knocks has 26 notes, 9 of them its knocks, track 2 on
// channel 1 (wheel/demo).
func TestChoicesAreSetAtOnceAndKept(t *testing.T) {
	b := browsertest.Start(t)
	a := newDemo(t)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d", a.URL, a.songID(t, "Nine Knocks")), browsertest.Laptop)
	counts := func(want string) {
		t.Helper()
		page.WaitFor(t, `document.querySelector("#brief").textContent.replace(/\s+/g, " ").includes("`+want+`")`)
	}
	counts("26 of 26 notes")
	page.Click(t, "#play_2_1")
	counts("17 of 17 notes")
	page.Click(t, "#transpose-0")
	page.WaitFor(t, `location.search.includes("transpose=0")`)
	page.Press(t, "ArrowDown", "ArrowDown")
	page.WaitFor(t, `document.querySelector("#result").textContent.includes("2 semitones up") && location.search.includes("transpose=2")`)
	if got := browsertest.Eval[string](t, page, `document.activeElement.id`); got != "transpose-2" {
		t.Errorf("the focus went to %q", got)
	}
	if got := browsertest.Eval[bool](t, page, `document.querySelector("#transpose-2").checked`); !got {
		t.Error("what was chosen is not ticked")
	}
	want := browsertest.Eval[string](t, page, `document.querySelector("#brief strong").textContent`)

	// The address asks for the same.
	page.Go(t, browsertest.Eval[string](t, page, `location.href`))
	counts(want + " of 17 notes")
	if browsertest.Eval[bool](t, page, `document.querySelector("#play_2_1").checked`) {
		t.Error("the part is on again")
	}
	page.Click(t, "#arranging button.main")
	page.WaitFor(t, `location.pathname.startsWith("/pinnings/") && document.querySelector("[data-ready]")`)
	if got := page.Text(t, "main"); !strings.Contains(got, want+" pins") {
		t.Errorf("the pinning has not %s pins: %.200s", want, got)
	}
}

// A change that comes while an answer is on its way is not put back by it.
func TestAQuickHandIsNotSetBack(t *testing.T) {
	b := browsertest.Start(t)
	a := newDemo(t)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d?from_bar=1&transpose=0", a.URL, a.songID(t, "Mill Race")), browsertest.Laptop)
	page.Do(t, "focus", chromedp.Focus(chromedp.CSS("#transpose-0")))
	for range 5 {
		page.Press(t, "ArrowDown")
		browsertest.Eval[bool](t, page, `new Promise((done) => document.body.addEventListener("htmx:beforeRequest", () => done(true), { once: true }))`)
	}
	page.WaitFor(t, `location.search.includes("transpose=5") && document.querySelector("#result").textContent.includes("5 semitones up")`)
	if got := browsertest.Eval[string](t, page, `document.querySelector("input[name=transpose]:checked").value`); got != "5" {
		t.Errorf("%s is ticked", got)
	}
}

// Eased to a tempo, one change refused, another kept, one taken back; each time
// the rest is solved again.
func TestAChangeIsRefusedAndTheRestSolvedAgain(t *testing.T) {
	b := browsertest.Start(t)
	a := newDemo(t)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d?from_bar=1&transpose=0&tempo=150&advance=on", a.URL, a.songID(t, "Nine Knocks")), browsertest.Laptop)
	page.Click(t, "#ease")
	page.WaitFor(t, `document.querySelector(".easings")`)
	if got := page.Text(t, "#brief"); !strings.Contains(got, "safe to 1") {
		t.Errorf("after easing: %q", got)
	}
	list := func() string {
		return browsertest.Eval[string](t, page, `[...document.querySelectorAll(".easings[aria-label=Changes] li p:first-child")].map((p) => p.textContent.trim()).join("\n")`)
	}
	before := list()
	first, _, _ := strings.Cut(before, "\n")
	page.Screenshot(t, "eased")
	page.Click(t, ".easings button[name=refuse]")
	page.WaitFor(t, `document.querySelector("[aria-label='Refused changes']")`)
	if after := list(); strings.Contains(after, first) {
		t.Errorf("%q is still among the changes:\n%s", first, after)
	}
	if got := browsertest.Eval[string](t, page, `document.activeElement.id`); got != "ease-title" {
		t.Errorf("the focus is on %q", got)
	}
	page.Screenshot(t, "eased-refused")
	page.Click(t, "[aria-label='Refused changes'] button")
	page.WaitFor(t, `!document.querySelector("[aria-label='Refused changes']")`)
	if after := list(); after != before {
		t.Errorf("taken back, the changes are\n%s\nand were\n%s", after, before)
	}
	page.Click(t, ".easings button[name=take]")
	page.WaitFor(t, `document.querySelector(".easings li.kept")`)
	page.WaitFor(t, `new URLSearchParams(location.search).getAll("take").length === 1`)
	query, err := url.Parse(browsertest.Eval[string](t, page, `location.href`))
	if err != nil {
		t.Fatal(err)
	}
	if d, ok := readDecision(query.Query().Get("take")); !ok || d.Channel == "" {
		t.Errorf("the address keeps %q", query.Query().Get("take"))
	}
	page.Click(t, "#arranging button.main")
	page.WaitFor(t, `location.pathname.startsWith("/pinnings/") && document.querySelector("[data-ready]")`)
	page.WaitFor(t, `document.querySelector("#brief").textContent.includes("safe")`)
}
