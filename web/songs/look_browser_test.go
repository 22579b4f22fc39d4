package songs_test

import (
	"fmt"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
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
		"unsafe": fmt.Sprintf("/songs/%d?from_bar=1&transpose=0&tempo=170", a.SongID(t, "Mill Race")),
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

// With nothing opened a song's page is under 2,200 px, its verdict and the way to
// keep it are in view from the first screen to the last, and the notes above.
func TestASongsPageIsShortAndItsBarStays(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, a.URL+"/", smallLaptop)
	for _, title := range []string{"Mill Race", "Frère Jacques", "Nine Knocks"} {
		page.Go(t, fmt.Sprintf("%s/songs/%d", a.URL, a.SongID(t, title)))
		if got := browsertest.Eval[int](t, page, `document.documentElement.scrollHeight`); got >= 2200 {
			t.Errorf("%s: the page is %d px tall, want under 2200", title, got)
		}
		for _, at := range []string{"0", "document.documentElement.scrollHeight / 2"} {
			if got := browsertest.Eval[string](t, page, `(scrollTo(0, `+at+`), [...document.querySelectorAll("#brief, [data-hear-here], #keep button")].filter((e) => { const box = e.getBoundingClientRect(); return box.top < 0 || box.bottom > innerHeight; }).map((e) => e.textContent.trim()).join(", "))`); got != "" {
				t.Errorf("%s: out of view: %s", title, got)
			}
		}
		if got := browsertest.Eval[bool](t, page, `(scrollTo(0, 0), document.querySelector("#song-map").getBoundingClientRect().bottom < innerHeight)`); !got {
			t.Errorf("%s: the notes are not in the first screen", title)
		}
	}
}

// From Ease to Keep the keyboard makes at most 12 stops, and ticking Ease leaves
// what is looked at in its place.
func TestEasingIsNearToKeepingAndLeavesThePageInItsPlace(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d?from_bar=1&transpose=0&tempo=170&advance=on", a.URL, a.SongID(t, "Mill Race")), smallLaptop)
	const top = `Math.round(document.querySelector("#ease").getBoundingClientRect().top)`
	browsertest.Eval[bool](t, page, `document.querySelector("#ease").scrollIntoView({block: "center"}) === undefined`)
	before := browsertest.Eval[int](t, page, top)
	page.Click(t, "#ease")
	page.WaitFor(t, `document.querySelector(".easings") && !document.querySelector(".htmx-request, .htmx-settling, .htmx-swapping")`)
	if after := browsertest.Eval[int](t, page, top); after < before-2 || after > before+2 {
		t.Errorf("the box moved from %d to %d px", before, after)
	}
	if got := browsertest.Eval[string](t, page, `document.activeElement.id`); got != "ease" {
		t.Errorf("the focus is on %q", got)
	}
	for stops := 1; ; stops++ {
		page.Press(t, "Tab")
		if browsertest.Eval[bool](t, page, `document.activeElement.matches("#keep button")`) {
			t.Logf("%d stops", stops)
			break
		}
		if stops == 12 {
			t.Fatal("more than 12 stops from Ease to Keep")
		}
	}
}
