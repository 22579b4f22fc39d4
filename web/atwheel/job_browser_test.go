package atwheel_test

import (
	"context"
	"fmt"
	"net/url"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

// A whole changeover by thumb: a note of trouble, a row left for later, a step
// taken back, a page loaded again in the middle, and a second phone that comes
// from the other end.
func TestTwoPhonesChangeTheWheelOverFromBothEnds(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	page := browser.Open(t, a.URL+fmt.Sprintf("/machines/1/changeover?to=%d", a.New), browsertest.Phone)
	page.NoSideScroll(t)
	page.Screenshot(t, "changeover-phone")
	page.Click(t, `form[method=post] button.main`)
	page.WaitFor(t, webtest.JobShown)
	page.Screenshot(t, "atwheel-ways-phone")
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, webtest.StepShown(4))
	page.NoSideScroll(t)
	page.Axe(t)
	page.Screenshot(t, "atwheel-phone")
	job := browsertest.Eval[string](t, page, `location.href`)
	if text := page.Text(t, "[data-moves]"); text != "Pull row 5 Bar C5\nDrive row 9 Bar E5" && text != "Pull\nrow 5\nBar C5\nDrive\nrow 9\nBar E5" {
		t.Errorf("the step reads %q", text)
	}

	other := browser.Open(t, job, browsertest.Phone.InDark())
	other.WaitFor(t, webtest.JobShown)
	other.Click(t, `[data-way="backward"]`)
	other.WaitFor(t, webtest.StepShown(12))
	other.Axe(t)
	other.Screenshot(t, "atwheel-phone-dark")

	page.Click(t, "[data-done]")
	page.WaitFor(t, webtest.StepShown(8))
	page.WaitFor(t, webtest.JobShown)
	other.WaitFor(t, `document.querySelector("[data-count]").textContent.startsWith("4 of 6")`) // it follows
	page.Click(t, "[data-back]")
	page.WaitFor(t, webtest.StepShown(4))
	page.WaitFor(t, webtest.JobShown)
	page.Click(t, "[data-done]")
	page.WaitFor(t, webtest.StepShown(8))

	page.Click(t, "[data-wrong]")
	page.Click(t, `[name=trouble][value="split hole"]`)
	browsertest.Eval[string](t, page, `document.querySelector("#where").value = "bar-e5"`)
	page.Type(t, "#note", "wood is soft")
	page.Screenshot(t, "atwheel-trouble-phone")
	page.Axe(t)
	page.Click(t, "#wrong button")
	page.WaitFor(t, `document.querySelector("[data-done]").textContent === "The others are done"`)
	page.Click(t, "[data-done]") // only step 12 is left, and what was left of step 8
	page.WaitFor(t, webtest.StepShown(12))
	page.WaitFor(t, webtest.JobShown)
	other.Click(t, "[data-done]")
	other.WaitFor(t, webtest.JobShown)

	page.Go(t, job) // loaded again in the middle
	page.WaitFor(t, webtest.StepShown(8))
	page.WaitFor(t, `document.querySelector("[data-count]").textContent.startsWith("1 of 6")`)
	other.WaitFor(t, webtest.StepShown(8))
	// Both are done at once with the last.
	browsertest.Eval[bool](t, other, `(document.querySelector("[data-done]").click(), true)`)
	browsertest.Eval[bool](t, page, `(document.querySelector("[data-done]").click(), true)`)
	for _, p := range []*browsertest.Page{page, other} {
		p.WaitFor(t, `document.querySelector(".figure-words")?.textContent.includes("New Round is on the wheel") || document.querySelector(".figure-words")?.textContent.includes("is on the wheel.")`)
		p.WaitFor(t, webtest.JobShown)
	}
	page.Axe(t)
	page.Screenshot(t, "atwheel-finished-phone")
	on, err := a.Store.OnWheel(context.Background(), 1)
	if err != nil || on.Base.Head.Title != "New Round" || on.UnderWay != nil || len(on.File.Pins) != 4 {
		t.Errorf("on the wheel: %+v, %v", on, err)
	}
	if troubles, err := a.Store.Troubles(context.Background(), 1, 9); err != nil || len(troubles) != 1 || troubles[0].Note != "wood is soft" || troubles[0].Channel != "bar-e5" {
		t.Errorf("troubles: %+v, %v", troubles, err)
	}
	page.Go(t, a.URL+"/machines/1/wheel")
	page.Axe(t)
	page.NoSideScroll(t)
	page.Screenshot(t, "onwheel-phone")

	// The last step was not done after all.
	page.Go(t, job)
	page.WaitFor(t, `!document.querySelector("[data-back]").disabled`)
	page.Click(t, "[data-back]")
	page.WaitFor(t, webtest.StepShown(8))
}

// Whoever works by keys, or has the page read out, is left at what to do next.
func TestFocusAtTheWheelStaysWithTheWork(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	page := browser.Open(t, a.URL+a.BeginChangeover(t), browsertest.Laptop)
	focused := func(after, selector string) {
		t.Helper()
		page.WaitFor(t, webtest.JobShown)
		if !browsertest.Eval[bool](t, page, fmt.Sprintf(`document.activeElement.matches(%q)`, selector)) {
			t.Errorf("after %s the focus is on %s", after, browsertest.Eval[string](t, page, `document.activeElement.outerHTML.slice(0, 80)`))
		}
	}
	for _, way := range []string{"backward", "forward"} {
		browsertest.Eval[bool](t, page, `(sessionStorage.clear(), true)`)
		page.Go(t, browsertest.Eval[string](t, page, `location.href`))
		page.WaitFor(t, webtest.JobShown)
		browsertest.Eval[bool](t, page, fmt.Sprintf(`(document.querySelector("[data-way=%s]").focus(), true)`, way))
		page.Press(t, "Enter")
		focused(way, "[data-done]")
	}
	note := func(channel string) {
		t.Helper()
		browsertest.Eval[bool](t, page, `(document.querySelector("[data-wrong]").focus(), true)`)
		page.Press(t, "Enter")
		browsertest.Eval[string](t, page, fmt.Sprintf(`document.querySelector("#where").value = %q`, channel))
		browsertest.Eval[bool](t, page, `(document.querySelector("#wrong button").focus(), true)`)
		page.Press(t, "Enter")
	}
	page.WaitFor(t, webtest.StepShown(4))
	note("bar-c5")
	focused("a note", "[data-done]")
	note("bar-e5") // which leaves nothing to be done here
	focused("a note of all there is", "[data-step]")
	browsertest.Eval[bool](t, page, `(document.querySelector("[data-leave]").focus(), true)`)
	page.Press(t, "Enter")
	page.WaitFor(t, webtest.StepShown(8))
	browsertest.Eval[bool](t, page, `(document.querySelector("[data-done]").focus(), true)`)
	page.Press(t, "Enter")
	page.WaitFor(t, webtest.StepShown(12))
	browsertest.Eval[bool](t, page, `(document.querySelector("[data-back]").focus(), true)`)
	page.Press(t, "Enter")
	page.WaitFor(t, webtest.StepShown(8))
	focused("Back, where nothing more can be taken back", "[data-done]")
	for _, step := range []int{8, 12, 4} {
		page.WaitFor(t, webtest.StepShown(step))
		browsertest.Eval[bool](t, page, `(document.querySelector("[data-done]").focus(), true)`)
		page.Press(t, "Enter")
	}
	page.WaitFor(t, `document.querySelector(".figure-words")?.textContent.includes("is on the wheel.")`)
	focused("the last step", "#result")

	a.SayOnWheel(t, 0)
	_, proof := a.Post(t, "/machines/1/proof", url.Values{"start": {"255"}})
	for step := range 255 {
		sendTap(t, a, proof, map[string]any{"id": fmt.Sprint("r", step), "do": "read", "step": step})
	}
	page.Go(t, a.URL+proof)
	page.WaitFor(t, webtest.StepShown(255))
	browsertest.Eval[bool](t, page, `(document.querySelector("[data-next]").focus(), true)`)
	page.Press(t, "Enter")
	page.WaitFor(t, `document.querySelector("[data-hand]").hidden`)
	focused("the last step read", "[data-whole]")
	page.Press(t, "Tab", "Enter") // the whole turn is read: nothing is asked
	page.WaitFor(t, `document.querySelector(".figure-words")?.textContent === "No pins were looked at."`)
	focused("the end of the proofreading", "#result")
}

// A key that is held down does one step, however long it is held.
func TestKeyHeldDownDoesOneStep(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	page := browser.Open(t, a.URL+a.BeginChangeover(t), browsertest.Laptop)
	page.WaitFor(t, webtest.JobShown)
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, webtest.StepShown(4))
	key := func(repeat bool) {
		t.Helper()
		page.Do(t, "hold Enter", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, input.DispatchKeyEvent, input.DispatchKeyEventParams{
				Type: "keyDown", Key: "Enter", Code: "Enter", Text: "\r", WindowsVirtualKeyCode: 13, AutoRepeat: &repeat,
			})
			return err
		}))
	}
	key(false)
	page.WaitFor(t, webtest.StepShown(8))
	key(true)
	page.WaitFor(t, webtest.JobShown)
	if count := page.Text(t, "[data-count]"); count != "4 of 6 pulls and drives left, on 2 steps" {
		t.Errorf("it says %q", count)
	}
}
