package songs_test

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel/song"
)

// lookedAt are the sizes at which the pages here have to hold.
var lookedAt = []browsertest.View{
	{WidthPX: 1280, HeightPX: 800}, {WidthPX: 390, HeightPX: 844}, {WidthPX: 320, HeightPX: 700},
}

func TestPagesOfSongsAreWholeAtEveryWidth(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, a.URL+"/songs", browsertest.Laptop)
	for name, path := range map[string]string{
		"list": "/songs", "song": fmt.Sprintf("/songs/%d", a.SongID(t, "Mill Race")),
		"unsafe": fmt.Sprintf("/songs/%d?from_bar=1&transpose=0&tempo=170", a.SongID(t, "Mill Race")), "survey": "/survey",
	} {
		page.Go(t, a.URL+path)
		for _, view := range lookedAt {
			for _, view := range []browsertest.View{view, view.InDark()} {
				page.Show(t, view)
				page.NoSideScroll(t)
				page.Axe(t)
			}
			page.Screenshot(t, fmt.Sprintf("look-%s-%d", name, view.WidthPX))
			if got := browsertest.Eval[string](t, page, `[...document.querySelectorAll("main :is(a, button, summary)")].filter((e) => e.checkVisibility() && !e.textContent.trim() && !e.ariaLabel).map((e) => e.outerHTML.slice(0, 60)).join(", ")`); got != "" {
				t.Errorf("%s: without a name: %s", path, got)
			}
		}
	}
}

// With nothing opened a song's page is under 2,200 px on a laptop and on a phone,
// its verdict and the way to keep it are in view from the first screen to the
// last, and the notes above.
func TestASongsPageIsShortAndItsBarStays(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	paths := []string{
		a.AddSong(t, "Sixteen Wheels", 16*4*96, manyParts(16)...),
		fmt.Sprintf("/songs/%d?from_bar=1&transpose=auto&tempo=170&advance=on", a.SongID(t, "Mill Race")), // not safe
	}
	for _, title := range []string{"Mill Race", "Frère Jacques", "Nine Knocks"} {
		paths = append(paths, fmt.Sprintf("/songs/%d", a.SongID(t, title)))
	}
	page := b.Open(t, a.URL+"/", smallLaptop)
	for _, path := range paths {
		page.Go(t, a.URL+path)
		for _, view := range []browsertest.View{smallLaptop, browsertest.Phone} {
			page.Show(t, view)
			page.Do(t, "go to the top", chromedp.Evaluate[chromedp.Void](`scrollTo(0, 0)`))
			page.InFirstScreen(t, "h1", "#song-map", "#brief", "[data-hear-here]", "#keep button")
			got := page.Height(t)
			t.Logf("%s at %d px: %d px", path, view.WidthPX, got)
			if got >= 2200 {
				t.Errorf("%s: at %d px the page is %d px tall, want under 2200", path, view.WidthPX, got)
			}
			if got := browsertest.Eval[string](t, page, `(scrollTo(0, document.documentElement.scrollHeight / 2), [...document.querySelectorAll("#brief, [data-hear-here], #keep button")].filter((e) => { const box = e.getBoundingClientRect(); return box.top < 0 || box.bottom > innerHeight; }).map((e) => e.textContent.trim()).join(", "))`); got != "" {
				t.Errorf("%s: half way down, out of view: %s", path, got)
			}
		}
	}
}

// manyParts is a note a bar for each of so many parts, on a MIDI channel each, that
// of percussion among them.
func manyParts(n int) (notes []song.Note) {
	for bar := range int64(16) {
		for part := range n {
			notes = append(notes, webtest.Note(uint8(part+1), bar*4+int64(part%4), 72))
		}
	}
	return notes
}

// From Ease to Keep the keyboard makes at most 12 stops, and ticking Ease leaves
// what is looked at in its place.
func TestEasingIsNearToKeepingAndLeavesThePageInItsPlace(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, a.URL+"/", smallLaptop)
	for _, view := range []browsertest.View{smallLaptop, browsertest.Phone} {
		page.Show(t, view)
		page.Go(t, fmt.Sprintf("%s/songs/%d?from_bar=1&transpose=0&tempo=170&advance=on", a.URL, a.SongID(t, "Mill Race")))
		const top = `Math.round(document.querySelector("#ease").getBoundingClientRect().top)`
		browsertest.Eval[bool](t, page, `document.querySelector("#ease").scrollIntoView({block: "center"}) === undefined`)
		before := browsertest.Eval[int](t, page, top)
		page.Click(t, "#ease")
		page.WaitFor(t, `document.querySelector(".easings") && `+settled)
		if after := browsertest.Eval[int](t, page, top); after < before-2 || after > before+2 {
			t.Errorf("at %d px the box moved from %d to %d px", view.WidthPX, before, after)
		}
		if got := browsertest.Eval[string](t, page, `document.activeElement.id`); got != "ease" {
			t.Errorf("at %d px the focus is on %q", view.WidthPX, got)
		}
		for stops := 1; ; stops++ {
			page.Press(t, "Tab")
			if browsertest.Eval[bool](t, page, `document.activeElement.matches("#keep button")`) {
				t.Logf("at %d px %d stops", view.WidthPX, stops)
				break
			}
			if stops == 12 {
				t.Fatal("more than 12 stops from Ease to Keep")
			}
		}
	}
}

const settled = `!document.querySelector(".htmx-request, .htmx-settling, .htmx-swapping")`

// Someone who goes on with the keyboard while the program works something out
// finds the focus where it was once the answer has been drawn.
func TestTheFocusStaysWhenAnAnswerIsDrawn(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d?from_bar=1&transpose=0&tempo=170&advance=on", a.URL, a.SongID(t, "Mill Race")), smallLaptop)
	for i, summary := range []string{"#transpositions > details > summary", "#remains summary", "#percussion summary", "#counts > details > summary"} {
		page.Do(t, "focus", chromedp.Focus(chromedp.CSS(summary)))
		browsertest.Eval[bool](t, page, fmt.Sprintf(`(document.querySelector("#tempo").value = "%d", document.querySelector("#tempo").dispatchEvent(new Event("input", {bubbles: true})))`, 150+i))
		page.WaitFor(t, fmt.Sprintf(`location.search.includes("tempo=%d") && document.querySelector("#brief").textContent.includes("at %d BPM") && `, 150+i, 150+i)+settled)
		if !browsertest.Eval[bool](t, page, fmt.Sprintf(`document.activeElement === document.querySelector(%q)`, summary)) {
			t.Errorf("from %s the focus went to %q", summary, browsertest.Eval[string](t, page, `document.activeElement.outerHTML.slice(0, 80)`))
		}
	}
}

// Searching, sorting, removing and bringing back need nothing but keys, and after a
// removal the focus is on what brings the song back.
func TestTheListOfSongsIsWorkedByKeys(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, a.URL+"/songs", browsertest.Phone)
	rows := func(want string) {
		t.Helper()
		page.WaitFor(t, `[...document.querySelectorAll("tbody th a")].map((a) => a.textContent).join() === "`+want+`"`)
	}
	focus := func(selector string) { // of the page that is coming, too
		t.Helper()
		page.WaitFor(t, fmt.Sprintf(`document.readyState === "complete" && ((e) => e !== null && (e.focus(), document.activeElement === e))(document.querySelector(%q))`, selector))
	}
	page.Type(t, "#songs-q", "n")
	page.Press(t, "Enter")
	rows("Nine Knocks")
	focus(`a.button[href="/songs"]`)
	page.Press(t, "Enter")
	rows("Frère Jacques,Mill Race,Nine Knocks")
	focus(`thead a[href*="sort=bars"]`)
	page.Press(t, "Enter")
	rows("Nine Knocks,Frère Jacques,Mill Race")
	focus(`tbody tr:first-child button`)
	page.Press(t, "Enter")
	rows("Frère Jacques,Mill Race")
	page.WaitFor(t, `document.activeElement.matches("button") && document.activeElement.textContent.includes("bring Nine Knocks back")`)
	page.Press(t, "Enter")
	rows("Frère Jacques,Mill Race,Nine Knocks")
	page.WaitFor(t, `document.activeElement.textContent === "Nine Knocks"`)
}
