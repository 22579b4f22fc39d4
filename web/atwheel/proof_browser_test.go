package atwheel_test

import (
	"context"
	"net/url"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

func TestProofreadingByThumb(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	_, job := a.Post(t, "/machines/1/proof", url.Values{"start": {"4"}})
	page := browser.Open(t, a.URL+job, browsertest.Phone)
	page.WaitFor(t, webtest.JobShown)
	page.WaitFor(t, webtest.StepShown(4))
	if got := page.Text(t, "[data-calls]"); got != "Row 5" {
		t.Errorf("to be called: %q", got)
	}
	page.NoSideScroll(t)
	page.Axe(t)
	page.Screenshot(t, "proof-phone")
	page.Click(t, `[data-touch] [data-row="7"]`) // a pin too many
	page.WaitFor(t, `document.querySelector("[data-here]").textContent === "1 row is wrong"`)
	page.WaitFor(t, webtest.JobShown)
	page.Click(t, `[data-touch] [data-row="5"]`)
	page.WaitFor(t, `document.querySelector("[data-here]").textContent === "2 rows are wrong"`)
	page.Axe(t)
	page.Screenshot(t, "proof-found-phone")
	page.Click(t, `[data-touch] [data-row="5"]`) // it is there after all
	page.WaitFor(t, `document.querySelector("[data-here]").textContent === "1 row is wrong"`)
	page.Click(t, "[data-next]")
	page.WaitFor(t, webtest.StepShown(5))
	page.Click(t, "[data-skip]")
	page.WaitFor(t, webtest.StepShown(8))
	page.Click(t, "[data-next]")
	page.WaitFor(t, webtest.StepShown(9))
	page.WaitFor(t, webtest.JobShown)
	page.Click(t, "[data-stop] summary") // it is asked once more
	page.Axe(t)
	page.Screenshot(t, "proof-ending-phone")
	if !browsertest.Eval[bool](t, page, `document.activeElement.matches("[data-stop] summary")`) {
		t.Error("the focus is not on what was pressed")
	}
	page.Press(t, "Tab", "Enter")
	// Steps 4 and 8 have 1 + 2 pins, all there, and 1 extra: 3 of 4.
	page.WaitFor(t, `document.querySelector(".figure-words").textContent === "On 2 of 256 steps, 3 of 4 pins were right the first time, 75 %."`)
	page.WaitFor(t, `document.activeElement.matches(".figure-words")`)
	page.WaitFor(t, `document.querySelector(".at-wheel").textContent.includes("2 of 256 steps were read: 0 missing, 1 extra.")`)
	page.Axe(t)
	page.Screenshot(t, "proof-result-phone")
	page.Click(t, `form[action$="/right"] button`)
	page.WaitFor(t, webtest.JobShown)
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, webtest.StepShown(4))
	page.Click(t, "[data-done]")
	page.WaitFor(t, `document.querySelector(".figure-words")?.textContent.includes("All pins are correct.")`)
	on, err := a.Store.OnWheel(context.Background(), 1)
	if err != nil || on.UnderWay != nil || len(on.File.Pins) != 4 || on.Base.Head.Title != "Old Round" {
		t.Errorf("on the wheel: %+v, %v", on, err)
	}
}
