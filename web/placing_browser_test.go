package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"pinwright/web/browsertest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
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
	w, err := b.store.Work(context.Background(), on.UnderWay.ID)
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

// boxOf is a function of selectors that gives the boxes of what they fit.
const boxOf = `(([...e]) => e.map((n) => { const b = document.querySelector(n).getBoundingClientRect(); return [b.x, b.y, b.width, b.height].join(" ") }).join())`

// stairs is a pinning of n pins on step 4n, n from 1 to 12.
func (b wheelBench) stairs(t *testing.T) int64 {
	t.Helper()
	var pins []wheel.Pin
	for n := 1; n <= 12; n++ {
		for _, c := range demo.Machine().Channels[:n] {
			pins = append(pins, wheel.Pin{Channel: c.ID, Step: 4 * n})
		}
	}
	return b.pinning(t, "Stairs", 60, pins...)
}

var smallPhone = browsertest.View{WidthPX: 320, HeightPX: 568, Touch: true}

// A thumb that goes on pressing meets the same button at the same place,
// however much there is to do at a step, and nothing that could be seen or
// pressed stays behind it.
func TestTheButtonThatLeadsOnNeverMoves(t *testing.T) {
	browser := browsertest.Start(t)
	b := newWheelBench(t)
	b.say(t, 0)
	b.new = b.stairs(t)
	job := b.begin(t)
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
		page := browser.Open(t, b.URL+job, view)
		page.WaitFor(t, ready)
		page.Click(t, `[data-way="forward"]`)
		var box string
		for n := 1; n <= 12; n++ {
			page.WaitFor(t, stepShown(4*n))
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
	b.post(t, job+"/stop", nil)
	b.say(t, b.new)
	_, proof := b.post(t, "/machines/1/proof", url.Values{"start": {"4"}})
	for _, view := range []browsertest.View{browsertest.Phone, smallPhone} {
		name := fmt.Sprint("proofreading at ", view.WidthPX)
		page := browser.Open(t, b.URL+proof, view)
		page.WaitFor(t, ready)
		page.WaitFor(t, stepShown(4))
		box := look(page, name, "[data-next]")
		page.Screenshot(t, fmt.Sprint("proof-step-", view.WidthPX))
		for n := 2; n <= 12; n++ {
			page.Click(t, "[data-skip]")
			page.WaitFor(t, stepShown(4*n))
			if now := browsertest.Eval[string](t, page, boxOf+`(["[data-next]"])`); now != box {
				t.Errorf("%s: with %d rows the button lies at %s, before at %s", name, n, now, box)
			}
		}
	}
}

// Whoever works by keys, or has the page read out, is left at what to do next.
func TestFocusAtTheWheelStaysWithTheWork(t *testing.T) {
	browser := browsertest.Start(t)
	b := newWheelBench(t)
	b.say(t, b.old)
	page := browser.Open(t, b.URL+b.begin(t), browsertest.Laptop)
	focused := func(after, selector string) {
		t.Helper()
		page.WaitFor(t, ready)
		if !browsertest.Eval[bool](t, page, fmt.Sprintf(`document.activeElement.matches(%q)`, selector)) {
			t.Errorf("after %s the focus is on %s", after, browsertest.Eval[string](t, page, `document.activeElement.outerHTML.slice(0, 80)`))
		}
	}
	for _, way := range []string{"backward", "forward"} {
		browsertest.Eval[bool](t, page, `(sessionStorage.clear(), true)`)
		page.Go(t, browsertest.Eval[string](t, page, `location.href`))
		page.WaitFor(t, ready)
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
	page.WaitFor(t, stepShown(4))
	note("bar-c5")
	focused("a note", "[data-done]")
	note("bar-e5") // which leaves nothing to be done here
	focused("a note of all there is", "[data-step]")
	browsertest.Eval[bool](t, page, `(document.querySelector("[data-leave]").focus(), true)`)
	page.Press(t, "Enter")
	page.WaitFor(t, stepShown(8))
	browsertest.Eval[bool](t, page, `(document.querySelector("[data-done]").focus(), true)`)
	page.Press(t, "Enter")
	page.WaitFor(t, stepShown(12))
	browsertest.Eval[bool](t, page, `(document.querySelector("[data-back]").focus(), true)`)
	page.Press(t, "Enter")
	page.WaitFor(t, stepShown(8))
	focused("Back, where nothing more can be taken back", "[data-done]")
	for _, step := range []int{8, 12, 4} {
		page.WaitFor(t, stepShown(step))
		browsertest.Eval[bool](t, page, `(document.querySelector("[data-done]").focus(), true)`)
		page.Press(t, "Enter")
	}
	page.WaitFor(t, `document.querySelector(".figure-words")?.textContent.includes("is on the wheel.")`)
	focused("the last step", "#result")

	b.say(t, 0)
	_, proof := b.post(t, "/machines/1/proof", url.Values{"start": {"255"}})
	for step := range 255 {
		b.tapAt(t, proof, map[string]any{"id": fmt.Sprint("r", step), "do": "read", "step": step})
	}
	page.Go(t, b.URL+proof)
	page.WaitFor(t, stepShown(255))
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
	b := newWheelBench(t)
	b.say(t, b.old)
	page := browser.Open(t, b.URL+b.begin(t), browsertest.Laptop)
	page.WaitFor(t, ready)
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, stepShown(4))
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
	page.WaitFor(t, stepShown(8))
	key(true)
	page.WaitFor(t, ready)
	if count := page.Text(t, "[data-count]"); count != "4 of 6 pulls and drives left, on 2 steps" {
		t.Errorf("it says %q", count)
	}
}

// What the browser would not keep is still there when another page of the phone
// taps, and is sent when the program is back.
func TestTapThatTheBrowserWouldNotKeepIsNotLost(t *testing.T) {
	browser := browsertest.Start(t)
	b := newWheelBench(t)
	b.say(t, b.old)
	at := b.begin(t)
	door := openDoor(t, b.app)
	page := browser.Open(t, "http://"+door.host+at, browsertest.Phone)
	page.WaitFor(t, ready)
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, stepShown(4))
	door.shut()
	browsertest.Eval[bool](t, page, `(Storage.prototype.setItem = () => { throw new DOMException("full", "QuotaExceededError") }, true)`)
	page.Click(t, "[data-done]")
	page.WaitFor(t, stepShown(8))
	page.WaitFor(t, `document.querySelector("[data-network]").textContent === "The program does not answer. 1 tap waits here: leave this page open."`)
	browsertest.Eval[bool](t, page, fmt.Sprintf(`dispatchEvent(new StorageEvent("storage", { key: "pinwright tap %s other" }))`, at))
	if waiting := browsertest.Eval[string](t, page, `document.querySelector("[data-waiting]").dataset.waiting`); waiting != "1" {
		t.Errorf("%s taps wait, want 1", waiting)
	}
	page.WaitFor(t, stepShown(8))
	door.open()
	page.WaitFor(t, `document.querySelector("[data-network]").textContent === "Everything is kept."`)
	page.Troubles(t) // requests that found nobody
	on, err := b.store.OnWheel(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	if w, err := b.store.Work(context.Background(), on.UnderWay.ID); err != nil || w.LastStep != 4 {
		t.Errorf("%+v, %v", w, err)
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
