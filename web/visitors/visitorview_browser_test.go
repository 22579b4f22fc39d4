package visitors_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pinwright/web/browsertest"
)

// visitorPlaces is where everything stands that has to be seen, and what is
// wrong with that.
const visitorPlaces = `(() => {
	const mustBeOpen = ["[data-count]", "[data-start]", "[data-click]", "[data-tap]", "[data-leave]", ".visitor-speed", ".visitor-line"];
	const names = [...mustBeOpen, ".visitor-wheel svg", ".story-told", "h1", document.querySelector("[data-light]").hidden ? "[data-track]" : "[data-light]"];
	const places = Object.fromEntries(names.map((n) => [n, document.querySelector(n).getBoundingClientRect().toJSON()]));
	const out = names.filter((n) => places[n].top < 0 || places[n].left < 0 || places[n].right > innerWidth + 0.5 || places[n].bottom > innerHeight + 0.5 || places[n].height < 20);
	const under = mustBeOpen.filter((n) => {
		const { x, y, width, height } = places[n];
		const top = document.elementFromPoint(x + width / 2, y + height / 2);
		return !document.querySelector(n).contains(top);
	});
	const words = [".story-told", "h1", ".visitor-speed", ".visitor-line"];
	const overlap = words.flatMap((m, i) => words.slice(i + 1).filter((n) => places[m].top < places[n].bottom - 0.5 && places[n].top < places[m].bottom - 0.5).map((n) => m + " on " + n));
	return { places, faults: [...out.map((n) => n + " out of view"), ...under.map((n) => n + " under something"), ...overlap,
		...(document.scrollingElement.scrollHeight > innerHeight ? ["the page scrolls"] : [])] };
})()`

type visitorSeen struct {
	Places map[string]struct{ Top, Bottom, Left, Right float64 }
	Faults []string
}

var visitorViews = map[string]browsertest.View{
	"1440x900": browsertest.Laptop, "390x844": browsertest.Phone,
	"1024x768": {WidthPX: 1024, HeightPX: 768, Touch: true}, "800x600": {WidthPX: 800, HeightPX: 600, Touch: true}, "768x1024": {WidthPX: 768, HeightPX: 1024, Touch: true},
}

// A tablet stands either way up and stories are long: beat, count, figures and
// buttons are on the screen all the same, and nothing moves when it says slower.
func TestVisitorScreenShowsBeatAndButtonsWhateverTheStory(t *testing.T) {
	long := strings.Repeat("The mill wheel knocks nine times before the door is opened, and whoever turns the crank is the miller. ", 10)
	for name, c := range map[string]struct{ title, story string }{
		"short": {"Nine Knocks", "Nine knocks."}, "480": {"Nine Knocks", long[:480]}, "989": {"Nine Knocks", long[:989]},
		"title": {strings.Repeat("Nine Knocks at the Mill ", 8), long[:989]},
	} {
		page := openLone(t, c.title, "80", c.story, browsertest.Laptop)
		for viewName, view := range visitorViews {
			page.Show(t, view)
			page.WaitFor(t, fmt.Sprintf("innerWidth === %d && innerHeight === %d", view.WidthPX, view.HeightPX))
			before := browsertest.Eval[visitorSeen](t, page, visitorPlaces)
			page.NoSideScroll(t)
			page.Screenshot(t, "visitor-"+name+"-"+viewName)
			page.Do(t, "turn too fast", chromedp.Evaluate[chromedp.Void](`document.querySelector("[data-visitor]").screen.tapped(true)`))
			after := browsertest.Eval[visitorSeen](t, page, visitorPlaces)
			bar := browsertest.Eval[struct{ Top, Bottom, Width float64 }](t, page, `document.querySelector("[data-slower]").getBoundingClientRect().toJSON()`)
			page.Screenshot(t, "visitor-"+name+"-"+viewName+"-slower")
			page.Do(t, "turn slower", chromedp.Evaluate[chromedp.Void](`document.querySelector("[data-visitor]").screen.tapped(false)`))
			for _, fault := range before.Faults {
				t.Errorf("story %s, %s: %s", name, viewName, fault)
			}
			for what, place := range before.Places {
				if after.Places[what] != place {
					t.Errorf("story %s, %s: %s moves from %v to %v when it says slower", name, viewName, what, place, after.Places[what])
				}
			}
			if bar.Top != 0 || bar.Bottom < 50 || bar.Width != float64(view.WidthPX) {
				t.Errorf("story %s, %s: the bar stands at %+v", name, viewName, bar)
			}
			for _, what := range []string{"[data-count]", "[data-start]", "[data-tap]", "[data-leave]"} {
				if before.Places[what].Top < bar.Bottom {
					t.Errorf("story %s, %s: the bar covers %s", name, viewName, what)
				}
			}
		}
		if name == "title" {
			page.Show(t, visitorViews["800x600"])
			page.Axe(t)
			page.Do(t, "focus the story", chromedp.Focus(chromedp.CSS(".story-told")))
			page.Press(t, "End")
			page.WaitFor(t, `(s => s.scrollTop > 0 && s.scrollTop + s.clientHeight >= s.scrollHeight - 1)(document.querySelector(".story-told"))`)
		}
	}
}

// On a window too low for all of it the page scrolls, and nothing lies on
// anything else: WCAG 1.4.10 has 320 px by 256 px.
func TestVisitorScreenScrollsWhereThereIsNoRoom(t *testing.T) {
	_, page := openVisitor(t, "75", browsertest.Laptop)
	for _, view := range []browsertest.View{{WidthPX: 320, HeightPX: 256}, {WidthPX: 720, HeightPX: 450}, {WidthPX: 360, HeightPX: 640}} {
		page.Show(t, view)
		page.WaitFor(t, fmt.Sprintf("innerHeight === %d", view.HeightPX))
		page.NoSideScroll(t)
		page.Screenshot(t, fmt.Sprintf("visitor-low-%dx%d", view.WidthPX, view.HeightPX))
		if overlaps := browsertest.Eval[string](t, page, `(() => {
			const boxes = ["h1", ".story-told", ".visitor-speed", ".visitor-line", ".visitor-wheel svg", ".visitor-beat", "[data-start]", "[data-tap]", "[data-leave]"].map((n) => [n, document.querySelector(n).getBoundingClientRect()]);
			return boxes.flatMap(([m, a], i) => boxes.slice(i + 1).filter(([, b]) => a.top < b.bottom - 0.5 && b.top < a.bottom - 0.5 && a.left < b.right - 0.5 && b.left < a.right - 0.5).map(([n]) => m + " on " + n)).join(", ");
		})()`); overlaps != "" {
			t.Errorf("%d×%d: %s", view.WidthPX, view.HeightPX, overlaps)
		}
	}
}

// Where the browser keeps no screen awake, as over plain http, the screen says so to staff.
func TestVisitorScreenSaysWhereItMayGoDark(t *testing.T) {
	a, page := openVisitor(t, "75", visitorViews["800x600"])
	const told = `(e => !e.hidden && getComputedStyle(e).visibility === "visible")(document.querySelector("[data-asleep]"))`
	for _, c := range []struct {
		name, wakeLock string
		told           bool
	}{
		{"missing", `undefined`, true},
		{"refused", `{ request: async () => { throw new DOMException("no", "NotAllowedError"); } }`, true},
		{"granted", `{ request: async () => new EventTarget() }`, false},
	} {
		page.Do(t, "have a wake lock that is "+c.name, chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, cdppage.AddScriptToEvaluateOnNewDocument, cdppage.AddScriptToEvaluateOnNewDocumentParams{
				Source: fmt.Sprintf(`globalThis.asked = 0; Object.defineProperty(Navigator.prototype, "wakeLock", { configurable: true, get() { globalThis.asked++; return %s; } })`, c.wakeLock),
			})
			return err
		}))
		page.Go(t, a.URL+"/programmes/1/visitor/2")
		page.WaitFor(t, `globalThis.asked > 0`)
		page.WaitFor(t, fmt.Sprintf(`%s === %t`, told, c.told))
		page.Screenshot(t, "visitor-wake-lock-"+c.name)
		if !c.told {
			continue
		}
		for _, fault := range browsertest.Eval[visitorSeen](t, page, visitorPlaces).Faults {
			t.Errorf("%s: %s", c.name, fault)
		}
		if words := page.Text(t, "[data-asleep]"); !strings.Contains(words, "never") || !strings.Contains(words, "sleep") {
			t.Errorf("staff are told %q", words)
		}
		page.Click(t, "[data-start]")
		page.WaitFor(t, `!`+told) // visitors need not read it
	}
}
