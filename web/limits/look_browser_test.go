package limits_test

import (
	"fmt"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

// What a reader comes for stands in the first screen, and the page stays short
// until something is opened.
func TestVerdictAndStripAreInTheFirstScreen(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	p := b.Open(t, a.URL+a.SetSong(t, "Mill Race", nil)+"/timing", browsertest.View{WidthPX: 1280, HeightPX: 800})
	for _, view := range []browsertest.View{{WidthPX: 1280, HeightPX: 800}, browsertest.Phone} {
		p.Show(t, view)
		for _, what := range []string{"[data-max-safe]", ".strip"} {
			bottom := browsertest.Eval[float64](t, p, fmt.Sprintf(`document.querySelector(%q).getBoundingClientRect().bottom + scrollY`, what))
			if bottom <= 0 || bottom > float64(view.HeightPX) {
				t.Errorf("at %d px %s ends %.0f px down, the screen at %d", view.WidthPX, what, bottom, view.HeightPX)
			}
		}
		if view.WidthPX == 1280 {
			if high := browsertest.Eval[float64](t, p, `document.documentElement.scrollHeight`); high > 2500 {
				t.Errorf("the page is %.0f px high", high)
			}
		}
	}
	p.Show(t, browsertest.View{WidthPX: 1280, HeightPX: 800})
	if shown := browsertest.Eval[int](t, p, `[...document.querySelectorAll(".ladder > li")].filter((li) => li.checkVisibility()).length`); shown != 8 {
		t.Errorf("%d limits are shown until the list is opened, want 8", shown)
	}
	p.ClickOn(t, "DisclosureTriangle", "Show all 11 limits")
	if shown := browsertest.Eval[int](t, p, `[...document.querySelectorAll(".ladder > li")].filter((li) => li.checkVisibility()).length`); shown != 11 {
		t.Errorf("%d limits are shown when it is open, want 11", shown)
	}
}

// stripTroubles are the labels of strips that leave their strip, cover another
// label, or cannot be seen.
const stripTroubles = `(() => {
	const troubles = [];
	for (const strip of document.querySelectorAll(".strip")) {
		const edge = strip.getBoundingClientRect();
		const texts = [...strip.querySelectorAll("text")].filter((text) => getComputedStyle(text).display !== "none");
		if (texts.length < 6) troubles.push("only " + texts.length + " labels");
		const boxes = texts.map((text) => text.getBoundingClientRect());
		boxes.forEach((box, i) => {
			if (box.left < edge.left - 1 || box.right > edge.right + 1) troubles.push(texts[i].textContent + " leaves the strip");
			if (box.width === 0) troubles.push(texts[i].textContent + " is not drawn");
			boxes.slice(i + 1).forEach((other, j) => {
				const across = Math.min(box.right, other.right) - Math.max(box.left, other.left);
				const down = Math.min(box.bottom, other.bottom) - Math.max(box.top, other.top);
				if (across > 1 && down > 6) troubles.push(texts[i].textContent + " covers " + texts[i + 1 + j].textContent);
			});
		});
	}
	return troubles.join("; ");
})()`

func TestStripKeepsWithinItsCardAtEveryWidth(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Mill Race", nil) + "/timing"
	p := b.Open(t, a.URL+path, browsertest.View{WidthPX: 1280, HeightPX: 800})
	for _, tempo := range []string{"30", "100", "180"} {
		p.Go(t, a.URL+path+"?tempo="+tempo+"&path=channels.tube-d3.gate.reload_ms&value=216")
		for _, width := range []int{320, 390, 768, 1100, 1280, 1440} {
			p.Show(t, browsertest.View{WidthPX: width, HeightPX: 800})
			p.NoSideScroll(t)
			if said := browsertest.Eval[string](t, p, stripTroubles); said != "" {
				t.Errorf("at %s BPM and %d px: %s", tempo, width, said)
			}
		}
	}
}

// The handle is moved by keys; what was opened stays open, and what the handle
// stands on is said.
func TestHandleSaysWhatItStandsOn(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	p := b.Open(t, a.URL+a.SetSong(t, "Mill Race", nil)+"/timing?tempo=150", browsertest.View{WidthPX: 1280, HeightPX: 800})
	p.WaitFor(t, `document.querySelector(".handle[data-joined]") && window.htmx`)
	if said := browsertest.Eval[string](t, p, `document.querySelector("#handle").ariaValueText`); said != "150 BPM, not safe" {
		t.Errorf("the handle says %q", said)
	}
	p.ClickOn(t, "DisclosureTriangle", "Each channel, early and late")
	p.WaitFor(t, `document.querySelector(".errors").checkVisibility()`)
	p.ClickOn(t, "link", "Set 89.9 BPM") // the red line of the demo's Mill Race
	p.WaitFor(t, `document.querySelector("#at").dataset.bpm === "89.9" && location.search.includes("tempo=89.9")`)
	for what, want := range map[string]string{
		`document.activeElement.id`:                                   "handle",
		`document.querySelector("#handle").ariaValueText`:             "89.9 BPM, trusted",
		`String(document.querySelector(".errors").checkVisibility())`: "true",
	} {
		if got := browsertest.Eval[string](t, p, what); got != want {
			t.Errorf("%s is %q, want %q", what, got, want)
		}
	}
	p.Press(t, "End")
	p.WaitFor(t, `document.querySelector("#at").dataset.bpm === "180"`)
}

func TestTimingPageIsOpenToEverybody(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	path := a.URL + a.SetSong(t, "Mill Race", nil) + "/timing?tempo=150&path=channels.tube-d3.gate.reload_ms&value=216"
	for _, view := range []browsertest.View{{WidthPX: 1280, HeightPX: 800}, browsertest.Phone} {
		for _, view := range []browsertest.View{view, view.InDark()} {
			p := b.Open(t, path, view)
			p.Axe(t)
			browsertest.Eval[bool](t, p, `[...document.querySelectorAll("main details")].every((fold) => fold.open = true)`)
			p.Axe(t)
			p.NoSideScroll(t)
			small := browsertest.Eval[[]string](t, p, `[...document.querySelectorAll("main :is(button, .button, summary, input, select)")].filter((e) => e.checkVisibility() && e.getBoundingClientRect().height < 24).map((e) => e.outerHTML.slice(0, 80))`)
			if len(small) > 0 {
				t.Errorf("at %d px too low to hit: %s", view.WidthPX, strings.Join(small, ", "))
			}
		}
	}
}
