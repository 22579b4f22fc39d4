package web

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"pinwright/web/browsertest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

func TestAfterATempoThatIsNoneTheNextIsJudged(t *testing.T) {
	b := browsertest.Start(t)
	a := newDemo(t)
	page := b.Open(t, a.URL+a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"150"}}), browsertest.Laptop)
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
	a := newDemo(t)
	door := openDoor(t, a)
	page := b.Open(t, "http://"+door.host+a.keepPinning(t, "Nine Knocks", nil), browsertest.Laptop)
	page.WaitFor(t, sectionHere+`?.dataset.open === "true"`)
	door.shut()
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
	a := newDemo(t)
	page := b.Open(t, a.URL+a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"150"}}), browsertest.Laptop)
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
	tabTo("Tempo, in steps")
	page.Press(t, "ArrowLeft", "ArrowLeft")
	page.WaitFor(t, `document.querySelector("#brief").textContent.includes("at 149 BPM")`)
	if !strings.HasPrefix(focused(), "Tempo, in steps") {
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
	tabTo("Remove…")
	page.Press(t, "Enter", "Tab")
	if focused() != "Remove Nine Knocks" {
		t.Errorf("after the question comes %q", focused())
	}
	page.Press(t, "Enter")
	page.WaitFor(t, `document.querySelector("h1").textContent === "Pinnings"`)
	if got := a.kept(t); got[2] != 0 {
		t.Errorf("%d pinnings are left", got[2])
	}
}

// A finger that moves up over the wheel turns it to its end, and then moves
// the page; the verdict in a line stays in sight.
func TestAPhoneScrollsPastTheWheelWithTheVerdictInSight(t *testing.T) {
	b := browsertest.Start(t)
	a := newDemo(t)
	page := b.Open(t, a.URL+a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"150"}}), browsertest.Phone)
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

// WCAG 2.2, 2.5.8: targets of 24 by 24 CSS pixels; links within a sentence
// are exempt.
func TestTargetsAreLargeEnoughForAFinger(t *testing.T) {
	b := browsertest.Start(t)
	a := newDemo(t)
	pinning := a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"150"}})
	page := b.Open(t, a.URL+"/", browsertest.Phone)
	for _, path := range []string{"/", "/songs", "/songs/1", "/songs/99", "/pinnings", pinning, "/machines", "/machines/1"} {
		page.Go(t, a.URL+path)
		small := browsertest.Eval[[]string](t, page, `[...document.querySelectorAll("a, button, summary, input, select")]
			.filter((e) => e.checkVisibility() && !e.matches("p:not(.trail, .on) a"))
			.map((e) => [e, e.getBoundingClientRect()])
			.filter(([e, box]) => box.width < 24 || box.height < 24)
			.map(([e, box]) => e.outerHTML.slice(0, 60) + " " + box.width + " by " + box.height)`)
		for _, s := range small {
			t.Errorf("%s: %s", path, s)
		}
		page.Troubles(t) // the page that is not there
	}
}

// Texts that come in with files stand as they are, however long, whatever
// they look like, and move nothing out of its place.
func TestTextsOfFilesStayInTheirPlaces(t *testing.T) {
	b := browsertest.Start(t)
	for name, text := range map[string]string{
		"unbroken": `<script>document.title="gone"</script><img src=x onerror="document.title='gone'">` + strings.Repeat("Mühlrad", 16),
		"reversed": "\u202eשיר הגשם\u202e על גלגל הטחנה",
	} {
		t.Run(name, func(t *testing.T) {
			a := newApp(t)
			m := demo.Machine()
			m.Name, m.Note = text, text
			for i := range m.Channels {
				m.Channels[i].Name, m.Channels[i].Note = fmt.Sprintf("%.190s %d", text, i), text
			}
			for i := range m.Lanes {
				m.Lanes[i].Note = text
			}
			ctx := context.Background()
			if _, err := a.store.AddMachine(ctx, m); err != nil {
				t.Fatal(err)
			}
			p := &wheel.Pinning{Format: wheel.PinningFormat, Title: text, TempoBPM: 180,
				Pins: []wheel.Pin{{Channel: "bar-c5", Step: 1}, {Channel: "bar-c5", Step: 2}, {Channel: "bar-b4", Step: 1}}}
			if _, err := a.store.AddSongs(ctx, text+".mid", smf(0, text)); err != nil {
				t.Fatal(err)
			}
			if _, err := a.store.AddPinning(ctx, 1, 1, p); err != nil {
				t.Fatal(err)
			}
			page := b.Open(t, a.URL+"/", browsertest.Phone)
			for _, path := range []string{"/", "/songs?added=1", "/songs/1", "/pinnings", "/pinnings/1", "/machines", "/machines/1"} {
				page.Go(t, a.URL+path)
				if strings.Contains(path, "pinnings/") {
					page.WaitFor(t, `document.querySelector("[data-ready]")`)
				}
				if s := page.SideScroll(t); s != "" {
					t.Errorf("%s: %s", path, s)
				}
				if title := browsertest.Eval[string](t, page, `document.title`); !strings.HasSuffix(title, "Pinwright") {
					t.Errorf("%s: the title is %q", path, title)
				}
				page.Screenshot(t, "text-"+name+strings.NewReplacer("/", "-", "?added=1", "").Replace(path))
			}
		})
	}
}

// Everything but the drawing works without a script.
func TestPagesWorkWithoutScripts(t *testing.T) {
	b := browsertest.Start(t)
	a := newApp(t)
	page := b.Open(t, a.URL+"/songs", browsertest.Laptop)
	scripts := func(off bool) {
		page.Do(t, "switch scripts", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: off})
			return err
		}))
	}
	scripts(true)
	defer scripts(false)
	heading := func(want string) {
		t.Helper()
		page.WaitFor(t, `document.readyState === "complete" && document.querySelector("h1").textContent.trim() === "`+want+`"`)
	}
	page.Go(t, a.URL+"/machines")
	page.Upload(t, `input[name=file]`, saved(t, "hailstone.json", machineFile(t)))
	page.Click(t, "form.bring button")
	heading("Hailstone")
	page.Go(t, a.URL+"/songs")
	knocks := demo.Songs()[2]
	page.Upload(t, "#song-file", saved(t, knocks.FileName, knocks.Bytes))
	page.Click(t, "form.drop button")
	heading("Nine Knocks")
	page.Type(t, "#tempo", "150")
	page.Click(t, "#arranging button:not(.main)")
	page.WaitFor(t, `document.querySelector("#result").textContent.includes("at 150 BPM") && location.search.includes("tempo=150")`)
	page.Click(t, "#arranging button.main")
	page.WaitFor(t, `location.pathname.startsWith("/pinnings/") && document.readyState === "complete"`)
	if got := page.Text(t, "[data-max-safe]"); got != "107.1" {
		t.Errorf("highest safe tempo %q, want 107.1", got)
	}
	if got := page.Text(t, ".face"); !strings.Contains(got, "The wheel is drawn by a script.") {
		t.Errorf("where the wheel would be: %q", got)
	}
	page.Type(t, "#tempo", "100")
	page.Click(t, "form.tempo button")
	page.WaitFor(t, `document.querySelector("#verdict").textContent.includes("No findings at 100 BPM")`)
	page.Screenshot(t, "without-scripts")
	page.Click(t, `details:has([action$="/remove"]) summary`)
	page.Click(t, `[action$="/remove"] button`)
	heading("Pinnings")
	if got := a.kept(t); got != [3]int{1, 1, 0} {
		t.Errorf("kept %v, want the machine and the song", got)
	}
}
