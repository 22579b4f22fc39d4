package limits_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel/say"
)

// The handle is dragged through the tempos; each time the page is waited for.
// The figures are printed: they are of this machine.
func TestTheHandleIsAttachedToWhatItMoves(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	p := b.Open(t, a.URL+a.SetSong(t, "Mill Race", nil)+"/timing", browsertest.Laptop)
	p.WaitFor(t, `document.querySelector(".handle[data-joined]") && window.htmx`)
	took := browsertest.Eval[[]float64](t, p, `(async () => {
		const handle = document.querySelector(".handle"), took = [];
		const shown = (bpm) => new Promise((done) => requestAnimationFrame(() => {
			if (document.querySelector("#at").dataset.bpm !== String(bpm)) return shown(bpm).then(done);
			const drawn = new MessageChannel(); // the frame that shows it
			drawn.port1.onmessage = done;
			drawn.port2.postMessage(0);
		}));
		await new Promise((done) => setTimeout(done, 2000)); // the page has come to rest
		for (let bpm = 40; bpm < 170; bpm += 1.5) {
			const start = performance.now();
			handle.value = bpm;
			handle.dispatchEvent(new Event("input", { bubbles: true }));
			await shown(bpm);
			took.push(performance.now() - start);
		}
		return took;
	})()`)
	slices.Sort(took)
	at := func(share float64) float64 { return took[int(math.Ceil(share*float64(len(took))))-1] }
	t.Logf("from drag to drawn, %d moves: p50 %.0f ms, p95 %.0f ms, longest %.0f ms", len(took), at(0.5), at(0.95), at(1))
	if got := p.Text(t, "#at-title"); got != "At 169 BPM" {
		t.Errorf("the page says %q", got)
	}

	p.Type(t, "#tempo", "112")
	p.WaitFor(t, `document.querySelector("#at").dataset.bpm === "112"`)
	if got := browsertest.Eval[string](t, p, `document.querySelector(".handle").value`); got != "112" {
		t.Errorf("the handle stands at %s BPM", got)
	}
	p.Press(t, "Tab") // leaving the field draws the rest again
	p.WaitFor(t, `location.search.includes("tempo=112") && !document.querySelector(".htmx-request, .htmx-settling, .htmx-swapping")`)
	p.Type(t, p.Find(t, "searchbox", "Find a figure"), "d3 reload")
	p.ClickOn(t, "button", "reload of Tube D3, 265 ms")
	p.WaitFor(t, `document.querySelector("#tried-0") && !document.querySelector(".htmx-request, .htmx-settling, .htmx-swapping")`)
	p.Type(t, "#tried-0", "200")
	p.Press(t, "Tab")
	p.WaitFor(t, `document.querySelector("[data-trial-max-safe]")?.textContent > "130"`)
	if got := browsertest.Eval[string](t, p, `location.search`); !strings.Contains(got, "path=channels.tube-d3.gate.reload_ms") || !strings.Contains(got, "value=200") {
		t.Errorf("the address does not hold the trial: %s", got)
	}
	p.Type(t, "#reason", "Polished the feed")
	p.ClickOn(t, "button", "Keep the change")
	p.WaitFor(t, `document.querySelector(".changes")?.textContent.includes("Polished the feed")`)
}

// What has the focus keeps it, however the tempo is given and whatever is tried;
// what is on the page under the hand is not replaced.
func TestTheTimingPageKeepsTheFocus(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	p := b.Open(t, a.URL+a.SetSong(t, "Mill Race", nil)+"/timing", browsertest.View{WidthPX: 1280, HeightPX: 800})
	p.WaitFor(t, `document.querySelector(".handle[data-joined]") && window.htmx`)
	focus := func() string { return browsertest.Eval[string](t, p, `document.activeElement.id`) }
	const still = `!document.querySelector(".htmx-request, .htmx-settling, .htmx-swapping")`

	// 84 BPM and 20 steps of a tenth; the page is let come to rest after each.
	p.Do(t, "focus the handle", chromedp.Focus(chromedp.CSS("#handle")))
	browsertest.Eval[bool](t, p, `Boolean(window.held = document.activeElement)`)
	for i := range 20 {
		p.Press(t, "ArrowRight")
		p.WaitFor(t, fmt.Sprintf(`document.querySelector("#at").dataset.bpm === "%s" && %s`, say.Rounded(84+float64(i+1)/10, 1), still))
		if got := focus(); got != "handle" {
			t.Fatalf("after %d keys the focus is on %q", i+1, got)
		}
	}
	p.WaitFor(t, `location.search.includes("tempo=86") && held.isConnected`)
	p.WaitFor(t, `document.querySelector("[data-tries]").href.includes("tempo=86&")`)

	p.Type(t, "#tempo", "90")
	p.Press(t, "Tab")
	p.WaitFor(t, `location.search.includes("tempo=90") && document.querySelector("#at").dataset.bpm === "90" && `+still)
	if got := focus(); got != "handle" {
		t.Errorf("from the tempo the focus went to %q", got)
	}

	// What cannot be read is said, and put right in the same place.
	p.Type(t, "#tempo", "fast")
	p.WaitFor(t, `document.querySelector("#at .problem")?.textContent.includes("fast")`)
	_ = p.Troubles(t) // the refusal stands on the console
	p.Type(t, "#tempo", "100")
	p.WaitFor(t, `document.querySelector("#at").dataset.bpm === "100"`)
	_ = p.Troubles(t)

	id := browsertest.Eval[string](t, p, `document.querySelector("[id^=try-][data-tries]").id`)
	p.Do(t, "focus Try it", chromedp.Focus(chromedp.CSS("#"+id)))
	p.Press(t, "Enter")
	p.WaitFor(t, `document.querySelector("[data-trial-max-safe]") && location.search.includes("path=") && `+still)
	if got := focus(); got != id && got != "tried-0" {
		t.Errorf("from Try it the focus went to %q", got)
	}
	p.Screenshot(t, "timing-tried-1280")
	p.Do(t, "focus the way back", chromedp.Focus(chromedp.CSS("#leave-0")))
	p.Press(t, "Enter")
	p.WaitFor(t, `!document.querySelector("[data-trial-max-safe]") && `+still)
	if got := focus(); got != "try-search" {
		t.Errorf("with nothing left on trial the focus is on %q", got)
	}
	p.Show(t, browsertest.Phone)
	p.NoSideScroll(t)
	p.Screenshot(t, "timing-390")
	p.ClickOn(t, "DisclosureTriangle", "Each channel, early and late")
	// A channel's error stands on the line of its name.
	if apart := browsertest.Eval[float64](t, p, `Math.max(...[...document.querySelectorAll(".errors li")].map((li) =>
		Math.abs(li.querySelector(".errors-name").getBoundingClientRect().top - li.querySelector(".errors-says").getBoundingClientRect().top)))`); apart > 2 {
		t.Errorf("a channel's error stands %.0f px from its name", apart)
	}
}
