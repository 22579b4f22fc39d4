package web_test

import (
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel/demo"
)

// The whole main job, as a person does it: a MIDI file dropped on the page,
// set on the wheel, the highest safe tempo read, a finding followed to its
// pins.
func TestFromADroppedMIDIFileToAFindingOnTheWheel(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.Start(t, web.New)
	page := b.Open(t, a.URL+"/machines", browsertest.Laptop)
	page.Upload(t, `input[name=file]`, webtest.SaveFile(t, "hailstone.json", webtest.MachineFile(t, nil)))
	page.ClickOn(t, "button", "Bring the machine")
	page.WaitFor(t, `document.querySelector("h1").textContent === "Hailstone"`)

	page.Go(t, a.URL+"/")
	knocks := demo.Songs()[2]
	page.DropFiles(t, "form.drop", webtest.SaveFile(t, knocks.FileName, knocks.Bytes))
	page.WaitFor(t, `document.querySelector("h1").textContent === "Nine Knocks" && document.readyState === "complete"`)
	page.Type(t, "#tempo", "150")
	page.WaitFor(t, `document.querySelector("#result").textContent.includes("at 150 BPM")`)
	if got := page.Text(t, "#result"); !strings.Contains(got, "Set 86.2 BPM") { // the red line, below 107.1, the bare limit
		t.Errorf("the counts say %q", got)
	}
	page.ClickOn(t, "button", "Keep as a pinning")
	page.WaitFor(t, `document.querySelector("[data-ready]")`)

	// 60/(4 × 0.140 s) = 107.14 BPM: two pins of Bar C5 are one step apart, its
	// gate takes 140 ms and there are four steps to a beat (worked by hand).
	if got := page.Text(t, "[data-max-safe]"); got != "107.1" {
		t.Errorf("highest safe tempo %q, want 107.1", got)
	}
	link := ".findings a[data-channel=bar-c5]"
	want := browsertest.Eval[string](t, page, `document.querySelector("`+link+`").dataset.step`)
	page.Click(t, link)
	page.WaitFor(t, `document.querySelector("[data-readout]").textContent.includes("step `+want+`: pin")`)
	got := page.Text(t, "[data-readout]")
	if !strings.HasPrefix(got, "Bar C5, bar 3 beat 3") || !strings.Contains(got, "unready") {
		t.Errorf("the wheel reads %q", got)
	}
	page.Screenshot(t, "finding-followed")

	page.Type(t, "form.tempo #tempo", "100")
	page.WaitFor(t, `document.querySelector("#verdict").textContent.includes("No findings at 100 BPM")`)
	page.Press(t, "Enter")
	page.WaitFor(t, `document.querySelector("#verdict").textContent.includes("No findings at 100 BPM")`)
}
