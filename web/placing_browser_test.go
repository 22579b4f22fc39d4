package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"testing"

	"pinwright/web/browsertest"
)

// ready waits until a page at the wheel shows what the program has.
const ready = `document.querySelector("[data-ready]") && document.querySelector("[data-waiting]").dataset.waiting === "0"`

// stepShown is that a step is under the hand, and its button takes a touch.
func stepShown(step int) string {
	return fmt.Sprintf(`document.querySelector("[data-step]").textContent.endsWith("step %d") && document.querySelector("[data-armed]").dataset.armed === "yes"`, step)
}

// A whole changeover by thumb: a note of trouble, a row left for later, a step
// taken back, a page loaded anew in the middle, and a second phone that comes
// from the other end.
func TestTwoPhonesChangeTheWheelOverFromBothEnds(t *testing.T) {
	browser := browsertest.Start(t)
	b := newWheelBench(t)
	b.say(t, b.old)
	page := browser.Open(t, b.URL+fmt.Sprintf("/machines/1/changeover?to=%d", b.new), browsertest.Phone)
	page.NoSideScroll(t)
	page.Screenshot(t, "changeover-phone")
	page.Click(t, `form[method=post] button.main`)
	page.WaitFor(t, ready)
	page.Screenshot(t, "atwheel-ways-phone")
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, stepShown(4))
	page.NoSideScroll(t)
	page.Axe(t)
	page.Screenshot(t, "atwheel-phone")
	job := browsertest.Eval[string](t, page, `location.href`)
	if text := page.Text(t, "[data-moves]"); text != "Pull row 5 Bar C5\nDrive row 9 Bar E5" && text != "Pull\nrow 5\nBar C5\nDrive\nrow 9\nBar E5" {
		t.Errorf("the step reads %q", text)
	}

	other := browser.Open(t, job, browsertest.Phone.InDark())
	other.WaitFor(t, ready)
	other.Click(t, `[data-way="backward"]`)
	other.WaitFor(t, stepShown(12))
	other.Axe(t)
	other.Screenshot(t, "atwheel-phone-dark")

	page.Click(t, "[data-done]")
	page.WaitFor(t, stepShown(8))
	page.WaitFor(t, ready)
	other.WaitFor(t, `document.querySelector("[data-count]").textContent.startsWith("4 of 6")`) // it follows
	page.Click(t, "[data-back]")
	page.WaitFor(t, stepShown(4))
	page.WaitFor(t, ready)
	page.Click(t, "[data-done]")
	page.WaitFor(t, stepShown(8))

	page.Click(t, "[data-wrong]")
	page.Click(t, `[name=trouble][value="split hole"]`)
	browsertest.Eval[string](t, page, `document.querySelector("#where").value = "bar-e5"`)
	page.Type(t, "#note", "wood is soft")
	page.Screenshot(t, "atwheel-trouble-phone")
	page.Axe(t)
	page.Click(t, "#wrong button")
	page.WaitFor(t, `document.querySelector("[data-done]").textContent === "The others are done"`)
	page.Click(t, "[data-done]") // only step 12 is left, and what was left of step 8
	page.WaitFor(t, stepShown(12))
	page.WaitFor(t, ready)
	other.Click(t, "[data-done]")
	other.WaitFor(t, ready)

	page.Go(t, job) // loaded anew in the middle
	page.WaitFor(t, stepShown(8))
	page.WaitFor(t, `document.querySelector("[data-count]").textContent.startsWith("1 of 6")`)
	other.WaitFor(t, stepShown(8))
	// Both are done at once with the last.
	browsertest.Eval[bool](t, other, `(document.querySelector("[data-done]").click(), true)`)
	browsertest.Eval[bool](t, page, `(document.querySelector("[data-done]").click(), true)`)
	for _, p := range []*browsertest.Page{page, other} {
		p.WaitFor(t, `document.querySelector(".figure-words")?.textContent.includes("New Round is on the wheel") || document.querySelector(".figure-words")?.textContent.includes("is on the wheel.")`)
		p.WaitFor(t, ready)
	}
	page.Axe(t)
	page.Screenshot(t, "atwheel-finished-phone")
	on, err := b.store.OnWheel(context.Background(), 1)
	if err != nil || on.Base.Head.Title != "New Round" || on.UnderWay != nil || len(on.File.Pins) != 4 {
		t.Errorf("on the wheel: %+v, %v", on, err)
	}
	if troubles, err := b.store.Troubles(context.Background(), 1, 9); err != nil || len(troubles) != 1 || troubles[0].Note != "wood is soft" || troubles[0].Channel != "bar-e5" {
		t.Errorf("troubles: %+v, %v", troubles, err)
	}
	page.Go(t, b.URL+"/machines/1/wheel")
	page.Axe(t)
	page.NoSideScroll(t)
	page.Screenshot(t, "onwheel-phone")

	// The last step was not done after all.
	page.Go(t, job)
	page.WaitFor(t, `!document.querySelector("[data-back]").disabled`)
	page.Click(t, "[data-back]")
	page.WaitFor(t, stepShown(8))
}

// What is tapped while the program is away is kept by the phone, even over a
// page that is closed, and sent once it is back.
func TestTapsOutliveAProgramThatIsAway(t *testing.T) {
	browser := browsertest.Start(t)
	b := newWheelBench(t)
	b.say(t, b.old)
	at := b.begin(t)
	door := openDoor(t, b.app)
	job := "http://" + door.host + at
	page := browser.Open(t, job, browsertest.Phone)
	page.WaitFor(t, ready)
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, stepShown(4))
	door.shut()
	page.Click(t, "[data-done]")
	page.WaitFor(t, stepShown(8))
	page.Click(t, "[data-done]")
	page.WaitFor(t, stepShown(12))
	page.Click(t, "[data-back]")
	page.WaitFor(t, stepShown(8))
	page.WaitFor(t, `document.querySelector("[data-network]").textContent === "The program does not answer. 3 taps are kept on this phone and will be sent when it is back."`)
	page.Axe(t)
	page.Screenshot(t, "atwheel-away-phone")
	page.Troubles(t) // requests that found nobody
	on, err := b.store.OnWheel(context.Background(), 1)
	if err != nil || len(on.File.Pins) != 4 {
		t.Fatalf("%+v, %v", on, err)
	}
	door.open()
	page.Go(t, job)
	page.WaitFor(t, `document.querySelector("[data-network]").textContent === "Everything is kept."`)
	page.WaitFor(t, stepShown(8))
	page.Troubles(t)
	// Step 4 is done: a pull and a drive. Step 8 was taken back: nothing.
	w, err := b.store.Working(context.Background(), on.UnderWay.ID)
	if err != nil || w.LastStep != 4 || len(w.On) != 4 {
		t.Errorf("%+v, %v", w, err)
	}
	status, _, _ := b.tapAt(t, at, map[string]any{"id": "late", "do": "done", "step": 8, "channels": []string{"bar-c5", "bar-d5", "bar-e5"}})
	if status != http.StatusOK {
		t.Errorf("%d", status)
	}
	page.WaitFor(t, stepShown(12)) // it follows the other
}

func TestProofreadingByThumb(t *testing.T) {
	browser := browsertest.Start(t)
	b := newWheelBench(t)
	b.say(t, b.old)
	_, job := b.post(t, "/machines/1/proof", url.Values{"start": {"4"}})
	page := browser.Open(t, b.URL+job, browsertest.Phone)
	page.WaitFor(t, ready)
	page.WaitFor(t, stepShown(4))
	if got := page.Text(t, "[data-calls]"); got != "Row 5" {
		t.Errorf("to be called: %q", got)
	}
	page.NoSideScroll(t)
	page.Axe(t)
	page.Screenshot(t, "proof-phone")
	page.Click(t, `[data-touch] [data-row="7"]`) // a pin too many
	page.WaitFor(t, `document.querySelector("[data-here]").textContent === "1 not as it should be"`)
	page.WaitFor(t, ready)
	page.Click(t, `[data-touch] [data-row="5"]`)
	page.WaitFor(t, `document.querySelector("[data-here]").textContent === "2 not as it should be"`)
	page.Axe(t)
	page.Screenshot(t, "proof-found-phone")
	page.Click(t, `[data-touch] [data-row="5"]`) // it is there after all
	page.WaitFor(t, `document.querySelector("[data-here]").textContent === "1 not as it should be"`)
	page.Click(t, "[data-next]")
	page.WaitFor(t, stepShown(5))
	page.Click(t, "[data-skip]")
	page.WaitFor(t, stepShown(8))
	page.Click(t, "[data-next]")
	page.WaitFor(t, stepShown(9))
	page.WaitFor(t, ready)
	page.Click(t, "[data-finish]")
	// Steps 4 and 8 have 1 + 2 pins, all there, and 1 extra: 3 of 4.
	page.WaitFor(t, `document.querySelector(".figure-words").textContent === "3 of 4 pins were right the first time, 75 %."`)
	page.WaitFor(t, `document.querySelector(".at-wheel").textContent.includes("2 of 256 steps were read: 0 missing, 1 extra.")`)
	page.Axe(t)
	page.Screenshot(t, "proof-result-phone")
	page.Click(t, `form[action$="/right"] button`)
	page.WaitFor(t, ready)
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, stepShown(4))
	page.Click(t, "[data-done]")
	page.WaitFor(t, `document.querySelector(".figure-words")?.textContent.includes("All is put right.")`)
	on, err := b.store.OnWheel(context.Background(), 1)
	if err != nil || on.UnderWay != nil || len(on.File.Pins) != 4 || on.Base.Head.Title != "Old Round" {
		t.Errorf("on the wheel: %+v, %v", on, err)
	}
}

// Controls at the wheel are for a thumb: 48 px and more (common practice).
func TestControlsAtTheWheelAreForAThumb(t *testing.T) {
	browser := browsertest.Start(t)
	b := newWheelBench(t)
	b.say(t, b.old)
	small := `[...document.querySelectorAll("main button, main summary, main select, main input, main .thumb-label")]
		.filter((e) => e.checkVisibility() && !e.matches("[type=radio]"))
		.map((e) => [e, e.getBoundingClientRect()]).filter(([, box]) => box.width < 48 || box.height < 48)
		.map(([e, box]) => e.outerHTML.slice(0, 60) + " " + box.width + " by " + box.height)`
	job := b.begin(t)
	page := browser.Open(t, b.URL+job, browsertest.Phone)
	page.WaitFor(t, ready)
	for _, click := range []string{"", `[data-way="forward"]`, "[data-wrong]"} {
		if click != "" {
			page.Click(t, click)
		}
		for _, s := range browsertest.Eval[[]string](t, page, small) {
			t.Error(s)
		}
	}
	b.post(t, job+"/stop", nil)
	page.WaitFor(t, `document.querySelector(".figure-words")?.textContent.startsWith("Stopped")`) // it follows
	_, proof := b.post(t, "/machines/1/proof", url.Values{"start": {"0"}})
	page.Go(t, b.URL+proof)
	page.WaitFor(t, ready)
	for _, s := range browsertest.Eval[[]string](t, page, small) {
		t.Error(s)
	}
}

// A thumb that touches twice does one step.
func TestSecondTouchAtOnceDoesNotDoTheNextStep(t *testing.T) {
	browser := browsertest.Start(t)
	b := newWheelBench(t)
	b.say(t, b.old)
	page := browser.Open(t, b.URL+b.begin(t), browsertest.Phone)
	page.WaitFor(t, ready)
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, stepShown(4))
	browsertest.Eval[bool](t, page, `(document.querySelector("[data-done]").click(), document.querySelector("[data-done]").click(), true)`)
	page.WaitFor(t, stepShown(8))
	page.WaitFor(t, ready)
	if count := page.Text(t, "[data-count]"); count != "4 of 6 pulls and drives left, on 2 steps" {
		t.Errorf("it says %q", count)
	}
}

// As every page: no accessibility rule of axe-core is broken, and nothing lies
// outside the window.
func TestPlacingPagesAreGoodForEveryone(t *testing.T) {
	browser := browsertest.Start(t)
	b := newWheelBench(t)
	at := fmt.Sprintf("/pinnings/%d/sheets", b.old)
	look := func(name, path, wait string) {
		t.Helper()
		page := browser.Open(t, b.URL+path, browsertest.Laptop)
		if wait != "" {
			page.WaitFor(t, wait)
		}
		for _, v := range []struct {
			name string
			view browsertest.View
		}{{"laptop-light", browsertest.Laptop}, {"phone-dark", browsertest.Phone.InDark()}} {
			page.Show(t, v.view)
			page.NoSideScroll(t)
			page.Screenshot(t, name+"-"+v.name)
			page.Axe(t)
		}
	}
	look("sheets", at, "")
	look("sheets-wrong", at+"?paper=roll&roll=9", "")
	look("onwheel-unknown", "/machines/1/wheel", "")
	b.say(t, b.old)
	look("changeover", fmt.Sprintf("/machines/1/changeover?to=%d&rotate=on&exchange=on", b.new), "")
	job := b.begin(t)
	b.tapAt(t, job, map[string]any{"id": "t1", "do": "done", "step": 4, "channels": []string{"bar-c5", "bar-e5"}})
	look("atwheel", job, ready)
	b.post(t, job+"/stop", nil)
	look("onwheel-between", "/machines/1/wheel", "")
	look("atwheel-stopped", job, "")
	_, proof := b.post(t, "/machines/1/proof", url.Values{"start": {"0"}})
	look("proof", proof, ready)
}
