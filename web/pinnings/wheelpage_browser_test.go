package pinnings_test

import (
	"context"
	"errors"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

func TestAfterATempoThatIsNoneTheNextIsJudged(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, a.URL+a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"150"}}), browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]")`)
	page.Type(t, "#tempo", "fast")
	page.WaitFor(t, `document.querySelector("#verdict").textContent.includes("The tempo is \"fast\"")`)
	if got := page.Text(t, "#brief"); got != "No verdict on this." {
		t.Errorf("the line beside the tempo says %q", got)
	}
	page.WaitFor(t, `document.querySelector("[data-face]").face.marks.size === 0`)
	page.Troubles(t) // the browser's own note of the refusal
	page.Type(t, "#tempo", "150")
	page.WaitFor(t, `document.querySelector("#brief").textContent.includes("2 findings")`)
	page.WaitFor(t, `document.querySelector("[data-face]").face.marks.size === 1`) // Bar C5's
}

func TestAProgramThatIsGoneIsSaidToBe(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	door := webtest.OpenDoor(t, a)
	page := b.Open(t, door.URL(a.SetSong(t, "Nine Knocks", nil)), browsertest.Laptop)
	page.WaitFor(t, sectionHere+`?.dataset.open === "true"`)
	door.Shut()
	page.WaitFor(t, `document.querySelector("[data-desk]").textContent.includes("The program does not answer")`)
	// One change, so one request, so that no second one fails after the first
	// has been seen to.
	browsertest.Eval[bool](t, page, `(() => {
		const field = document.querySelector("#tempo");
		field.value = "90";
		return field.dispatchEvent(new Event("input", { bubbles: true }));
	})()`)
	page.WaitFor(t, `document.querySelector("#verdict").textContent.includes("The program does not answer.") && !document.querySelector(".htmx-request")`)
	page.Go(t, "about:blank") // it asks for the program as long as it is open
	page.Troubles(t)
}

// What a mouse does, keys do: the tempo by its slide, a finding and back, and
// a removal.
func TestTheWheelPageIsWorkedByKeysAlone(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, a.URL+a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"150"}}), browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]")`)
	focused := func() string {
		return browsertest.Eval[string](t, page, `(document.activeElement.ariaLabel ?? document.activeElement.textContent).trim().replace(/\s+/g, " ")`)
	}
	tabTo := func(start string) {
		t.Helper()
		for range 40 {
			if strings.HasPrefix(focused(), start) {
				if shown := browsertest.Eval[string](t, page, `getComputedStyle(document.activeElement).outlineStyle`); shown != "solid" {
					t.Errorf("nothing shows that %q has the focus: outline %s", start, shown)
				}
				return
			}
			page.Press(t, "Tab")
		}
		t.Fatalf("no way by Tab to %q", start)
	}
	page.Press(t, "Tab")
	tabTo("To the page")
	page.Press(t, "Enter")
	if in := browsertest.Eval[string](t, page, `document.activeElement.id`); in != "main" {
		t.Errorf("the way past the head leads to %q", in)
	}
	tabTo("Tempo, beats per minute")
	page.Press(t, "ArrowLeft", "ArrowLeft")
	page.WaitFor(t, `document.querySelector("#brief").textContent.includes("at 149.8 BPM")`)
	if !strings.HasPrefix(focused(), "Tempo, beats per minute") {
		t.Errorf("the focus went to %q", focused())
	}
	tabTo("unready Bar C5")
	page.Press(t, "Enter")
	if !strings.HasPrefix(focused(), "Wheel's face") {
		t.Errorf("a finding leads to %q", focused())
	}
	page.Press(t, "ArrowDown", "Escape")
	if !strings.HasPrefix(focused(), "unready Bar C5") {
		t.Errorf("Escape leads to %q", focused())
	}

	page.Go(t, a.URL+"/pinnings/1")
	page.Press(t, "Tab")
	tabTo("More for this pinning")
	page.Press(t, "Enter")
	tabTo("Remove")
	page.Press(t, "Enter", "Tab")
	if focused() != "Remove Nine Knocks" {
		t.Errorf("after the question comes %q", focused())
	}
	page.Press(t, "Enter")
	page.WaitFor(t, `document.querySelector("h1").textContent === "Pinnings"`)
	if got := a.Kept(t); got[2] != 0 {
		t.Errorf("%d pinnings are left", got[2])
	}
}

// A finger that moves up over the wheel turns it to its end, and then moves
// the page; the verdict in a line stays in sight.
func TestAPhoneScrollsPastTheWheelWithTheVerdictInSight(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, a.URL+a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"150"}}), browsertest.Phone)
	page.WaitFor(t, `document.querySelector("[data-ready]")`)
	browsertest.Eval[bool](t, page, `(document.querySelector(".face").scrollIntoView(), true)`)
	seen := func(what string) bool {
		return browsertest.Eval[bool](t, page, `(() => {
			const box = document.querySelector("`+what+`").getBoundingClientRect();
			const at = document.elementFromPoint(box.left + 5, box.top + box.height / 2);
			return document.querySelector("`+what+`").contains(at) && box.bottom <= innerHeight;
		})()`)
	}
	for _, what := range []string{"#brief", "[data-nearer]", ".face-scroll"} {
		if !seen(what) {
			t.Errorf("%s is out of sight beside the wheel", what)
		}
	}
	type places struct{ Page, Face, Room float64 }
	where := func() places {
		return browsertest.Eval[places](t, page, `(() => {
			const s = document.querySelector(".face-scroll");
			return { Page: scrollY, Face: s.scrollTop, Room: s.scrollHeight - s.clientHeight };
		})()`)
	}
	swipe := func() {
		page.Do(t, "swipe over the wheel", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			touch := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) error {
				_, err := cdp.Call(ctx, target, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points})
				return err
			}
			err := touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: 200, Y: 620})
			for y := 600.0; y >= 220 && err == nil; y -= 20 {
				err = touch(input.DispatchTouchEventTypeTouchMove, &input.TouchPoint{X: 200, Y: y})
			}
			return errors.Join(err, touch(input.DispatchTouchEventTypeTouchEnd))
		}))
		browsertest.Eval[bool](t, page, `new Promise((resolve) => setTimeout(() => resolve(true), 100))`)
	}
	start := where()
	swipe()
	if w := where(); w.Face <= start.Face || w.Page != start.Page {
		t.Errorf("a swipe over the wheel: %+v, from %+v", w, start)
	}
	for range 20 {
		if w := where(); w.Face >= w.Room-1 {
			break
		}
		swipe()
	}
	swipe()
	if w := where(); w.Page <= start.Page {
		t.Errorf("the page is held by the wheel at its end: %+v, from %+v", w, start)
	}
	if !seen("#brief") {
		t.Error("the verdict is out of sight below the wheel")
	}
}

func TestTheWheelIsReadByKeyboard(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, a.URL+a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"150"}}), browsertest.Laptop)
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
