package pinnings_test

import (
	"context"
	"fmt"
	"net/url"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

// shownLabels are the names over the strip that can be seen.
const shownLabels = `[...document.querySelectorAll("#verdict .strip-over text")].filter((e) => getComputedStyle(e).display !== "none").map((e) => e.textContent).join("; ")`

// The tempo is chosen on the strip by keys and by hand; the strip stays in the
// hand while the verdict is written again around it.
func TestTheTempoIsChosenOnTheStripOfTheWheelsPage(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	w := openEditor(t, b, a.URL+a.SetSong(t, "Mill Race", url.Values{"tempo": {"120"}}), bench)
	w.WaitFor(t, `document.querySelector("#handle[data-joined]")`)
	if says := browsertest.Eval[string](t, w.Page, shownLabels); says != "own tempo 120; keep below 89.9; bare limit 113.2" {
		t.Errorf("over the strip stands %q", says)
	}
	browsertest.Eval[bool](t, w.Page, `(window.held = document.querySelector("#handle"), window.held.focus(), true)`)
	w.Press(t, "Home")
	w.WaitFor(t, `document.querySelector("[data-counted]").textContent.includes("No findings at 30 BPM") && document.querySelector("#brief").textContent.includes("30 BPM")`)
	for what, want := range map[string]string{
		`String(document.activeElement === window.held)`: "true",
		`document.querySelector("#tempo").value`:         "30",
		`window.held.ariaValueText`:                      "30 BPM, trusted",
		shownLabels:                                      "looked at 30; keep below 89.9; bare limit 113.2; own tempo 120",
	} {
		if got := browsertest.Eval[string](t, w.Page, what); got != want {
			t.Errorf("%s is %q, want %q", what, got, want)
		}
	}

	box := browsertest.Eval[[]float64](t, w.Page, `(() => { const r = window.held.getBoundingClientRect(); return [r.left + 12, r.right - 12, (r.top + r.bottom) / 2]; })()`)
	// The middle of the range of 30 to 180 BPM is 105, its last tenth begins at 165.
	at := func(share float64) (x, y float64) { return box[0] + share*(box[1]-box[0]), box[2] }
	x, y := at(0.5)
	w.Do(t, "press the strip", chromedp.MouseEvent(chromedp.MousePressed, x, y, chromedp.ButtonLeft))
	w.WaitFor(t, `document.querySelector("[data-counted]").textContent.includes("No findings at 105")`)
	x, y = at(0.9)
	w.Do(t, "drag", chromedp.MouseEvent(chromedp.MouseMoved, x, y, chromedp.ButtonLeft))
	w.WaitFor(t, `/findings at 165/.test(document.querySelector("[data-counted]").textContent) && document.querySelector(".warning.stop")`)
	x, y = at(0.2)
	w.Do(t, "drag back", chromedp.MouseEvent(chromedp.MouseMoved, x, y, chromedp.ButtonLeft))
	w.WaitFor(t, `document.querySelector("[data-counted]").textContent.includes("No findings at 60") && !document.querySelector(".warning.stop")`)
	w.Do(t, "let go", chromedp.MouseEvent(chromedp.MouseReleased, x, y, chromedp.ButtonLeft))
	if same := browsertest.Eval[bool](t, w.Page, `window.held.isConnected && document.querySelectorAll(".handle").length === 1`); !same {
		t.Error("the strip was put in another's place under the hand")
	}

	// An edit that changes the strip puts a new one there, on which a tempo is
	// chosen as before: two pins a step apart on one channel.
	w.click("tube-d3", 101)
	w.kept(1)
	w.click("tube-d3", 102)
	w.kept(2)
	w.WaitFor(t, `document.querySelector("#handle[data-joined]") && document.querySelector("#handle").value === document.querySelector("#tempo").value`)
	browsertest.Eval[bool](t, w.Page, `(document.querySelector("#handle").focus(), true)`)
	w.Press(t, "End")
	w.WaitFor(t, `document.querySelector("#tempo").value === "180" && document.querySelector("#brief").textContent.includes("180 BPM") && document.activeElement.id === "handle"`)
}

// On paper the whole turn stands, in pieces, not the part in the window.
func TestTheWholeFaceIsPrinted(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	w := openEditor(t, b, a.URL+a.SetSong(t, "Mill Race", nil), browsertest.View{WidthPX: 718, HeightPX: 1000}.InDark()) // A4 less 10 mm at each side
	w.Do(t, "look at it as paper", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		return err
	}))
	pieces := browsertest.Eval[[][]int](t, w.Page, `(() => {
		dispatchEvent(new Event("beforeprint"));
		return [...document.querySelectorAll(".face-printed canvas")].map((c) => {
			const px = c.getContext("2d").getImageData(0, 0, c.width, c.height).data;
			let dark = 0, light = 0;
			for (let i = 0; i < px.length; i += 4) px[i] + px[i + 1] + px[i + 2] < 120 ? dark++ : px[i] + px[i + 1] + px[i + 2] > 700 && light++;
			const box = c.getBoundingClientRect();
			return [Number(c.dataset.from), Number(c.dataset.long), dark, light > dark * 5 ? 1 : 0, Math.round(box.width), Math.round(box.height)];
		});
	})()`)
	next := 0
	for _, p := range pieces {
		if p[0] != next || p[1] < 1 || p[2] < 1000 || p[3] != 1 || p[4] < 300 || p[5] > 1000 {
			t.Errorf("a piece from step %d of %d steps has %d dark pixels (mostly white: %d), %d by %d px; it should follow step %d", p[0], p[1], p[2], p[3], p[4], p[5], next-1)
		}
		next += p[1]
	}
	if next != 256 || len(pieces) < 2 {
		t.Errorf("%d pieces end at step %d, want 256", len(pieces), next)
	}
	for _, hidden := range []string{".face-scroll", "[data-tools]", ".hear", ".strip .handle", ".books"} {
		if browsertest.Eval[bool](t, w.Page, fmt.Sprintf(`document.querySelector(%q).checkVisibility()`, hidden)) {
			t.Errorf("%s is printed", hidden)
		}
	}
	w.Screenshot(t, "look-wheel-printed")
	if left := browsertest.Eval[int](t, w.Page, `(dispatchEvent(new Event("afterprint")), document.querySelectorAll(".face-printed canvas").length)`); left != 0 {
		t.Errorf("%d pieces are left behind", left)
	}
}
