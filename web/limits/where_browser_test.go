package limits_test

import (
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

// A limit opens to the part of the machine in which it is, and stays open when a
// figure goes on trial.
func TestALimitIsShownOnTheMachinesDrawing(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	p := b.Open(t, a.URL+a.SetSong(t, "Mill Race", nil)+"/timing?tempo=150", browsertest.View{WidthPX: 1280, HeightPX: 800})
	p.WaitFor(t, `document.querySelector(".handle[data-joined]") && window.htmx`)
	if high := p.Height(t); high > 2500 {
		t.Errorf("the page is %d px high before anything is opened", high)
	}
	// The demo's first limit is the gate of Tube D3, the third a meeting of its
	// marbles and those of Low Drum in the drain.
	p.Click(t, ".ladder li:nth-child(1) .where summary")
	p.WaitFor(t, `document.querySelectorAll(".ladder li:nth-child(1) .machine-drawing").length === 1`)
	p.Click(t, ".ladder li:nth-child(3) .where summary")
	p.WaitFor(t, `document.querySelectorAll(".ladder li:nth-child(3) .machine-drawing").length === 2`)
	for what, want := range map[string]string{
		`document.querySelector(".ladder li:nth-child(1) .where-drawn p").textContent`:                                                                       "The gate of Tube D3.",
		`document.querySelector(".ladder li:nth-child(3) .where-drawn p").textContent`:                                                                       "In lane drain, which Tube D3 and Low Drum share.",
		`[...document.querySelectorAll(".ladder li:nth-child(1) text.lit")].map((e) => e.textContent).join("").slice(0, 5)`:                                  "gate:",
		`String([...document.querySelectorAll(".ladder .machine-drawing")].every((f) => f.querySelector(".lit") && f.getBoundingClientRect().height < 520))`: "true",
	} {
		if got := browsertest.Eval[string](t, p, what); got != want {
			t.Errorf("%s is %q, want %q", what, got, want)
		}
	}
	for _, v := range []browsertest.View{{WidthPX: 1280, HeightPX: 800}, browsertest.Phone.InDark()} {
		p.Show(t, v)
		p.Contained(t)
		p.Handy(t)
		p.Axe(t)
	}
	p.Show(t, browsertest.View{WidthPX: 1280, HeightPX: 800})
	p.Click(t, ".ladder li:nth-child(2) a.button")
	p.WaitFor(t, `document.querySelector("[data-trial-max-safe]") && document.querySelector(".where[open] .machine-drawing")`)

	// A finding at the tempo has its place too.
	p.ClickOn(t, "DisclosureTriangle", browsertest.Eval[string](t, p, `document.querySelector("#at .fold > summary").textContent.trim()`))
	p.Click(t, "#at .findings .where summary")
	p.WaitFor(t, `document.querySelector("#at .findings .machine-drawing .lit")`)
}
