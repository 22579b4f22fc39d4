package visitors_test

import (
	"fmt"
	"net/url"
	"testing"

	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

func TestCrankPageShowsSensorAndTaps(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	if err := a.Store.SetMargin(t.Context(), 0.05); err != nil { // so that 80 BPM are for visitors
		t.Fatal(err)
	}
	page := browsertest.Start(t).Open(t, a.URL+"/crank?pinning=1", browsertest.Laptop)
	for i := range 10 {
		sendTurn(t, a, fmt.Sprintf(`{"turn": %d, "at_s": %d}`, i, 6*i))
	}
	page.WaitFor(t, `document.querySelector("[data-sensor] [data-bpm]").textContent === "80" && document.querySelector("[data-sensor] [data-judged]").textContent.startsWith("Inside the window")`)
	sendTurn(t, a, `{"turn": -4}`)
	page.WaitFor(t, `!document.querySelector("[data-sensor] [data-problem]").hidden && document.querySelector("[data-sensor] [data-bpm]").textContent === "80"`)
	page.Do(t, "tap", chromedp.Evaluate[chromedp.Void](`(() => {
		document.querySelector("input[value=beat]").click();
		for (let i = 0; i < 100; i++) {
			const tap = new PointerEvent("pointerdown");
			Object.defineProperty(tap, "timeStamp", { value: 1000 + 600 * i + 40 * Math.sin(i / 5) });
			document.querySelector("[data-tap]").dispatchEvent(tap);
		}
	})()`))
	page.WaitFor(t, `document.querySelector("[data-taps] [data-spans]").textContent === "99" && document.querySelector("[data-taps] [data-wander]").textContent !== "–"`)
	page.Click(t, `[data-take="taps"]`)
	page.WaitFor(t, `document.getElementById("wander").value === document.querySelector("[data-taps] [data-wander]").textContent`)
}

// The button that clears the taps clears what is shown of them, what the button
// beside the wander would take, and an answer that arrives late.
func TestCrankTapsThatAreClearedLeaveNothingBehind(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	page := browsertest.Start(t).Open(t, a.URL+"/crank?pinning=1", browsertest.Laptop)
	taps := func(n int) {
		page.Do(t, "tap", chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`(() => {
			document.querySelector("input[value=beat]").click();
			for (let i = 0; i < %d; i++) {
				const tap = new PointerEvent("pointerdown");
				Object.defineProperty(tap, "timeStamp", { value: 1000 + 480 * i + 5 * (i %% 3) });
				document.querySelector("[data-tap]").dispatchEvent(tap);
			}
		})()`, n)))
	}
	const cleared = `["bpm", "rpm", "mean", "wander"].every((name) => document.querySelector("[data-taps] [data-" + name + "]").textContent === "–") &&
		["sure", "judged", "state"].every((name) => document.querySelector("[data-taps] [data-" + name + "]").textContent === "") &&
		document.querySelector("[data-taps] [data-beats]").textContent === "0" && document.querySelector("[data-take=taps]").disabled`
	page.WaitFor(t, cleared)
	taps(120)
	page.WaitFor(t, `document.querySelector("[data-taps] [data-beats]").textContent === "119" && /^ ± 0\.\d+$/.test(document.querySelector("[data-taps] [data-sure]").textContent) &&
		document.querySelector("[data-taps] [data-judged]").textContent.startsWith("Slower") && !document.querySelector("[data-take=taps]").disabled`)
	page.Axe(t)
	was := browsertest.Eval[string](t, page, `document.getElementById("wander").value`)
	page.Click(t, "[data-again]")
	page.WaitFor(t, cleared)
	page.Do(t, "take", chromedp.Evaluate[chromedp.Void](`document.querySelector("[data-take=taps]").click()`))
	if now := browsertest.Eval[string](t, page, `document.getElementById("wander").value`); now != was {
		t.Errorf("the wander of the old taps is taken: %q was %q", now, was)
	}
	// An answer that arrives after the taps were cleared is about those taps.
	page.Do(t, "late", chromedp.Evaluate[chromedp.Void](`(() => {
		const asks = window.fetch;
		window.late = 0;
		window.fetch = async (...args) => {
			const answer = await asks(...args);
			if (!String(args[0]).startsWith("/crank/tapped")) return answer;
			await new Promise((r) => setTimeout(r, 300));
			setTimeout(() => window.late++, 50);
			return answer;
		};
	})()`))
	taps(120)
	page.Click(t, "[data-again]")
	page.WaitFor(t, `window.late > 0`)
	if !browsertest.Eval[bool](t, page, cleared) {
		t.Error("what was tapped before comes back late")
	}
}

// The sensor's ripple is shown with its doubt, and one button takes it and the
// wander for the machine's.
func TestCrankPageShowsTheRippleOfASensorsMarks(t *testing.T) {
	a := markedDemo(t, 16)
	sendRipple(t, a, 16)
	page := browsertest.Start(t).Open(t, a.URL+"/crank", browsertest.Laptop)
	page.WaitFor(t, `/^10(\.\d+)?$/.test(document.querySelector("[data-sensor] [data-ripple]").textContent) && document.querySelector("[data-sensor] [data-ripple-sure]").textContent.startsWith(" ± ") &&
		document.querySelector("[data-sensor] [data-ripples]").textContent.includes("fastest near mark")`)
	page.Axe(t)
	page.Click(t, `[data-take="sensor"]`)
	page.WaitFor(t, `["wander", "ripple"].every((name) => document.getElementById(name).value === document.querySelector("[data-sensor] [data-" + name + "]").textContent)`)
}
