package atwheel_test

import (
	"fmt"
	"net/url"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// boxOf is a function of selectors that gives the boxes of what they fit.
const boxOf = `(([...e]) => e.map((n) => { const b = document.querySelector(n).getBoundingClientRect(); return [b.x, b.y, b.width, b.height].join(" ") }).join())`

// stairs is a pinning of n pins on step 4n, n from 1 to 12.
func stairs(t *testing.T, a *webtest.Wheel) int64 {
	t.Helper()
	var pins []wheel.Pin
	for n := 1; n <= 12; n++ {
		for _, c := range demo.Machine().Channels[:n] {
			pins = append(pins, wheel.Pin{Channel: c.ID, Step: 4 * n})
		}
	}
	return a.AddPinning(t, "Stairs", 60, pins...)
}

var smallPhone = browsertest.View{WidthPX: 320, HeightPX: 568, Touch: true}

// A thumb that goes on pressing meets the same button at the same place,
// however much there is to do at a step, and nothing that could be seen or
// pressed stays behind it.
func TestTheButtonThatLeadsOnNeverMoves(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, 0)
	a.New = stairs(t, a)
	job := a.BeginChangeover(t)
	const behind = `[...document.querySelectorAll("main :is(a, button, summary, select, input, li, svg, p, h1, h2), .foot p")]
		.filter((e) => e.checkVisibility() && !e.closest(".hand-bar") && !e.matches(".unseen, .problem *"))
		.filter((e) => {
			e.scrollIntoView({ block: "nearest" });
			const box = e.getBoundingClientRect(), bar = document.querySelector(".hand-bar").getBoundingClientRect();
			return box.bottom > bar.top + 0.5 || box.top < -0.5;
		}).map((e) => e.outerHTML.slice(0, 80))`
	look := func(page *browsertest.Page, what, button string) string {
		t.Helper()
		for _, e := range browsertest.Eval[[]string](t, page, behind) {
			t.Errorf("%s: behind the bar: %s", what, e)
		}
		if !browsertest.Eval[bool](t, page, fmt.Sprintf(`(() => { const b = document.querySelector(%q).getBoundingClientRect();
			return b.bottom <= innerHeight && [0.05, 0.5, 0.95].every((f) => document.elementFromPoint(b.x + f * b.width, b.y + f * b.height).matches(%q)) })()`, button, button)) {
			t.Errorf("%s: the button cannot be pressed all over", what)
		}
		return browsertest.Eval[string](t, page, boxOf+fmt.Sprintf(`([%q])`, button))
	}
	for _, view := range []browsertest.View{browsertest.Phone, smallPhone, {WidthPX: 1280, HeightPX: 800}} {
		name := fmt.Sprint(view.WidthPX)
		page := browser.Open(t, a.URL+job, view)
		page.WaitFor(t, webtest.JobShown)
		page.Click(t, `[data-way="forward"]`)
		var box string
		for n := 1; n <= 12; n++ {
			page.WaitFor(t, webtest.StepShown(4*n))
			if !browsertest.Eval[bool](t, page, `((step, bar) => step.top > -1 && step.bottom <= bar.top)(...["[data-step]", ".hand-bar"].map((e) => document.querySelector(e).getBoundingClientRect()))`) {
				t.Errorf("%s: with %d rows their beginning is out of view", name, n)
			}
			if n == 5 || n == 12 {
				page.Screenshot(t, fmt.Sprintf("atwheel-%d-rows-%s", n, name))
			}
			if now := browsertest.Eval[string](t, page, boxOf+`(["[data-done]"])`); box == "" {
				box = now
			} else if now != box {
				t.Errorf("%s: with %d rows Done lies at %s, before at %s", name, n, now, box)
			}
			if n == 1 || n == 12 {
				if now := look(page, fmt.Sprintf("%s, %d rows", name, n), "[data-done]"); now != box {
					t.Errorf("%s: scrolled, Done lies at %s, before at %s", name, now, box)
				}
			}
			page.NoSideScroll(t)
			if n < 12 {
				page.Click(t, "[data-leave]")
			}
		}
		browsertest.Eval[bool](t, page, `(scrollTo(0, document.body.scrollHeight), true)`)
		page.WaitFor(t, `document.querySelector("[data-here]").textContent === "12 drives"`)
		if view == smallPhone { // on whose screen, scrolled to its top, there is room for 3 rows of 12
			browsertest.Eval[bool](t, page, `(scrollTo(0, 0), true)`)
			page.WaitFor(t, `document.querySelector("[data-here]").textContent === "12 drives · 9 further down"`)
		}
	}
	a.Post(t, job+"/stop", nil)
	a.SayOnWheel(t, a.New)
	_, proof := a.Post(t, "/machines/1/proof", url.Values{"start": {"4"}})
	for _, view := range []browsertest.View{browsertest.Phone, smallPhone} {
		name := fmt.Sprint("proofreading at ", view.WidthPX)
		page := browser.Open(t, a.URL+proof, view)
		page.WaitFor(t, webtest.JobShown)
		page.WaitFor(t, webtest.StepShown(4))
		box := look(page, name, "[data-next]")
		page.Screenshot(t, fmt.Sprint("proof-step-", view.WidthPX))
		for n := 2; n <= 12; n++ {
			page.Click(t, "[data-skip]")
			page.WaitFor(t, webtest.StepShown(4*n))
			if now := browsertest.Eval[string](t, page, boxOf+`(["[data-next]"])`); now != box {
				t.Errorf("%s: with %d rows the button lies at %s, before at %s", name, n, now, box)
			}
		}
	}
}

// Controls at the wheel are for a thumb: 48 px and more (common practice).
func TestControlsAtTheWheelAreForAThumb(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	small := `[...document.querySelectorAll("main button, main summary, main select, main input, main .thumb-label")]
		.filter((e) => e.checkVisibility() && !e.matches("[type=radio]"))
		.map((e) => [e, e.getBoundingClientRect()]).filter(([, box]) => box.width < 48 || box.height < 48)
		.map(([e, box]) => e.outerHTML.slice(0, 60) + " " + box.width + " by " + box.height)`
	job := a.BeginChangeover(t)
	page := browser.Open(t, a.URL+job, browsertest.Phone)
	page.WaitFor(t, webtest.JobShown)
	for _, click := range []string{"", `[data-way="forward"]`, "[data-wrong]"} {
		if click != "" {
			page.Click(t, click)
		}
		for _, s := range browsertest.Eval[[]string](t, page, small) {
			t.Error(s)
		}
	}
	a.Post(t, job+"/stop", nil)
	page.WaitFor(t, `document.querySelector(".figure-words")?.textContent.startsWith("Stopped")`) // it follows
	_, proof := a.Post(t, "/machines/1/proof", url.Values{"start": {"0"}})
	page.Go(t, a.URL+proof)
	page.WaitFor(t, webtest.JobShown)
	for _, s := range browsertest.Eval[[]string](t, page, small) {
		t.Error(s)
	}
}

// A thumb that touches twice does one step.
func TestSecondTouchAtOnceDoesNotDoTheNextStep(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	page := browser.Open(t, a.URL+a.BeginChangeover(t), browsertest.Phone)
	page.WaitFor(t, webtest.JobShown)
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, webtest.StepShown(4))
	browsertest.Eval[bool](t, page, `(document.querySelector("[data-done]").click(), document.querySelector("[data-done]").click(), true)`)
	page.WaitFor(t, webtest.StepShown(8))
	page.WaitFor(t, webtest.JobShown)
	if count := page.Text(t, "[data-count]"); count != "4 of 6 pulls and drives left, on 2 steps" {
		t.Errorf("it says %q", count)
	}
}
