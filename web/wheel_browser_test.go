package web

import (
	"net/url"
	"strings"
	"testing"

	"pinwright/web/browsertest"
	"pinwright/wheel/demo"
)

// The whole main job, as a person does it: a MIDI file dropped on the page,
// set on the wheel, the highest safe tempo read, a finding followed to its
// pins.
func TestFromADroppedMIDIFileToAFindingOnTheWheel(t *testing.T) {
	b := browsertest.Start(t)
	a := newApp(t)
	page := b.Open(t, a.URL+"/machines", browsertest.Laptop)
	page.Upload(t, `input[name=file]`, saved(t, "hailstone.json", machineFile(t)))
	page.Click(t, "form.bring button")
	page.WaitFor(t, `document.querySelector("h1").textContent === "Hailstone"`)

	page.Go(t, a.URL+"/")
	knocks := demo.Songs()[2]
	page.DropFiles(t, "form.drop", saved(t, knocks.FileName, knocks.Bytes))
	page.WaitFor(t, `document.querySelector("h1").textContent === "Nine Knocks" && document.readyState === "complete"`)
	page.Type(t, "#tempo", "150")
	page.WaitFor(t, `document.querySelector("#result").textContent.includes("at 150 BPM")`)
	if got := page.Text(t, "#result"); !strings.Contains(got, "107.1 BPM") {
		t.Errorf("the counts say %q", got)
	}
	page.Click(t, "#arranging button.main")
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

func TestTheWheelIsReadByKeyboard(t *testing.T) {
	b := browsertest.Start(t)
	a := newDemo(t)
	page := b.Open(t, a.URL+a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"150"}}), browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]")`)
	browsertest.Eval[bool](t, page, `(document.querySelector(".face-scroll").focus(), true)`)
	for _, c := range []struct {
		keys []string
		want string
	}{
		{[]string{"ArrowDown"}, "Bar G4, bar 1 beat 1, step 0: no pin."},
		{[]string{"ArrowRight", "ArrowRight", "ArrowRight", "ArrowRight", "ArrowRight"}, "Bar C5, bar 1 beat 1, step 0: pin."},
		{[]string{"PageDown"}, "Bar C5, bar 2 beat 1, step 16"},
		{[]string{"End"}, "Bar C5, bar 16 beat 4, 3 of 4 steps into it, step 255"},
		{[]string{"ArrowDown"}, "step 255"},
		{[]string{"Home", "ArrowRight"}, "Bar C♯5, resting, bar 1 beat 1, step 0"},
	} {
		page.Press(t, c.keys...)
		if got := page.Text(t, "[data-readout]"); !strings.Contains(got, c.want) {
			t.Errorf("after %v the wheel reads %q, want %q", c.keys, got, c.want)
		}
	}
	page.Click(t, "[data-whole]")
	page.Screenshot(t, "whole-turn")
	page.Click(t, "[data-nearer]")
	page.Click(t, "[data-nearer]")
	page.Click(t, "[data-nearer]")
	page.Click(t, ".findings a")
	page.Screenshot(t, "near")
}
