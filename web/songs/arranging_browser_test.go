package songs_test

import (
	"context"
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/songs"
	"pinwright/web/webtest"
	"pinwright/wheel/song"
)

// longSong is 64 bars of four quarters, one bar full and three empty in turn.
func longSong(t *testing.T, a *webtest.App) string {
	t.Helper()
	var notes []song.Note
	for bar := int64(0); bar < 64; bar++ {
		for beat := range int64(4) {
			if beat == 0 || bar%4 == 0 {
				notes = append(notes, tone(bar*4+beat, uint8(72+bar%4)))
			}
		}
	}
	return a.AddSong(t, "Long Leat", 64*4*96, notes...)
}

// Hailstone's wheel holds 16 bars of 4/4 (wheel/demo).
func TestAStretchIsPickedWithMouseAndKeys(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, a.URL+longSong(t, a), browsertest.Laptop)
	const strip = `document.querySelector("#song-map")`
	page.WaitFor(t, strip+`.role === "slider"`)
	says := func(want string) {
		t.Helper()
		page.WaitFor(t, strip+`.ariaValueText === "`+want+`"`)
		if got := page.Text(t, "[data-stretch]"); !strings.EqualFold(got, want) {
			t.Errorf("below the map it says %q, want %q", got, want)
		}
	}
	says("bars 1 to 16 of 64")
	at := func(bar float64) (x, y float64) {
		box := browsertest.Eval[[4]float64](t, page, `(r => [r.x, r.y, r.width, r.height])(`+strip+`.getBoundingClientRect())`)
		return box[0] + box[2]*(bar-0.5)/64, box[1] + box[3]/2
	}
	x, y := at(33)
	page.Do(t, "press bar 33", chromedp.MouseClickXY(x, y))
	says("bars 33 to 48 of 64")
	page.WaitFor(t, `document.querySelector("#result").textContent.includes("Bars 33 to 48")`)

	// Taken hold of at its fourth bar and brought 8 bars back.
	x, y = at(36)
	to, _ := at(28)
	page.Do(t, "drag the stretch", chromedp.MouseEvent("mousePressed", x, y, chromedp.Button("left"), chromedp.ClickCount(1)),
		chromedp.MouseEvent("mouseMoved", to, y, chromedp.Button("left")), chromedp.MouseEvent("mouseReleased", to, y, chromedp.Button("left")))
	says("bars 25 to 40 of 64")

	page.Do(t, "focus the map", chromedp.Focus(chromedp.CSS("#song-map")))
	for _, c := range []struct{ key, want string }{
		{"ArrowRight", "bars 26 to 41 of 64"}, {"ArrowLeft", "bars 25 to 40 of 64"}, {"PageUp", "bars 41 to 56 of 64"},
		{"End", "bars 49 to 64 of 64"}, {"ArrowUp", "bars 50 to 64 of 64"}, {"Home", "bars 1 to 16 of 64"}, {"ArrowLeft", "bars 1 to 16 of 64"},
		{"Shift+ArrowLeft", "bars 1 to 15 of 64"}, {"PageUp", "bars 16 to 30 of 64"}, {"Shift+ArrowRight", "bars 16 to 31 of 64"},
	} {
		page.Press(t, c.key)
		says(c.want)
	}
	page.WaitFor(t, `document.querySelector("#result").textContent.includes("Bars 16 to 31") && location.search.includes("from_bar=16")`)
	if got := browsertest.Eval[string](t, page, `document.activeElement.id`); got != "song-map" {
		t.Errorf("the focus went to %q", got)
	}
	page.Type(t, "#from_bar", "60")
	says("bars 60 to 64 of 64")
	page.Screenshot(t, "stretch-picked")

	page.Click(t, "#best summary")
	take := browsertest.Eval[string](t, page, `document.querySelector("a[data-take-from]").dataset.takeFrom`)
	page.Click(t, "a[data-take-from]")
	page.WaitFor(t, `document.querySelector("#from_bar").value === "`+take+`" && new URLSearchParams(location.search).get("from_bar") === "`+take+`"`)
	page.WaitFor(t, `document.querySelector("#stretches").textContent.includes("set now")`)
}

// The choices of a part and of a transposition, by keys, and the pinning kept
// with them. Nine Knocks has 26 notes, 9 of them its knocks, track 2 on
// channel 1 (wheel/demo).
func TestChoicesAreSetAtOnceAndKept(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d", a.URL, a.SongID(t, "Nine Knocks")), browsertest.Laptop)
	counts := func(want string) {
		t.Helper()
		page.WaitFor(t, `document.querySelector("#brief").textContent.replace(/\s+/g, " ").includes("`+want+`")`)
	}
	counts("26 of 26 notes")
	page.Click(t, "#play_2_1")
	counts("17 of 17 notes")
	page.Click(t, "#transpositions summary")
	page.Click(t, "#transpose-0")
	page.WaitFor(t, `location.search.includes("transpose=0")`)
	page.Press(t, "ArrowDown", "ArrowDown")
	page.WaitFor(t, `document.querySelector("#result").textContent.includes("2 semitones up") && location.search.includes("transpose=2")`)
	if got := browsertest.Eval[string](t, page, `document.activeElement.id`); got != "transpose-2" {
		t.Errorf("the focus went to %q", got)
	}
	if got := browsertest.Eval[bool](t, page, `document.querySelector("#transpose-2").checked`); !got {
		t.Error("what was chosen is not ticked")
	}
	want := browsertest.Eval[string](t, page, `document.querySelector("#brief strong").textContent`)

	// The address asks for the same.
	page.Go(t, browsertest.Eval[string](t, page, `location.href`))
	counts(want + " of 17 notes")
	if browsertest.Eval[bool](t, page, `document.querySelector("#play_2_1").checked`) {
		t.Error("the part is on again")
	}
	page.ClickOn(t, "button", "Keep as a pinning")
	page.WaitFor(t, `location.pathname.startsWith("/pinnings/") && document.querySelector("[data-ready]")`)
	if got := page.Text(t, "main"); !strings.Contains(got, want+" pins") {
		t.Errorf("the pinning has not %s pins: %.200s", want, got)
	}
}

// A change that comes while an answer is on its way is not put back by it.
func TestAQuickHandIsNotSetBack(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d?from_bar=1&transpose=0", a.URL, a.SongID(t, "Mill Race")), browsertest.Laptop)
	page.Click(t, "#transpositions summary")
	page.Do(t, "focus", chromedp.Focus(chromedp.CSS("#transpose-0")))
	for range 5 {
		page.Press(t, "ArrowDown")
		browsertest.Eval[bool](t, page, `new Promise((done) => document.body.addEventListener("htmx:beforeRequest", () => done(true), { once: true }))`)
	}
	page.WaitFor(t, `location.search.includes("transpose=5") && document.querySelector("#result").textContent.includes("5 semitones up")`)
	if got := browsertest.Eval[string](t, page, `document.querySelector("input[name=transpose]:checked").value`); got != "5" {
		t.Errorf("%s is ticked", got)
	}
}

// Eased to a tempo, one change refused, another kept, one taken back; each time
// the rest is solved again.
func TestAChangeIsRefusedAndTheRestSolvedAgain(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d?from_bar=1&transpose=0&tempo=150&advance=on", a.URL, a.SongID(t, "Nine Knocks")), browsertest.Laptop)
	page.Click(t, "#ease")
	page.WaitFor(t, `document.querySelector(".easings")`)
	if got := page.Text(t, "#brief"); !strings.Contains(got, "keep below 1") {
		t.Errorf("after easing: %q", got)
	}
	list := func() string {
		return browsertest.Eval[string](t, page, `[...document.querySelectorAll(".easings[aria-label=Changes] li p:first-child")].map((p) => p.textContent.trim()).join("\n")`)
	}
	before := list()
	first, _, _ := strings.Cut(before, "\n")
	page.Screenshot(t, "eased")
	page.Click(t, "#changes summary")
	page.Click(t, ".easings button[name=refuse_this]")
	page.WaitFor(t, `document.querySelector("[aria-label='Refused changes']")`)
	if after := list(); strings.Contains(after, first) {
		t.Errorf("%q is still among the changes:\n%s", first, after)
	}
	if got := browsertest.Eval[string](t, page, `document.activeElement.id`); got != "ease-title" {
		t.Errorf("the focus is on %q", got)
	}
	page.Screenshot(t, "eased-refused")
	page.Click(t, "[aria-label='Refused changes'] button")
	page.WaitFor(t, `!document.querySelector("[aria-label='Refused changes']")`)
	if after := list(); after != before {
		t.Errorf("taken back, the changes are\n%s\nand were\n%s", after, before)
	}
	page.Click(t, ".easings button[name=take_this]")
	page.WaitFor(t, `document.querySelector(".easings li.kept")`)
	page.WaitFor(t, `new URLSearchParams(location.search).getAll("take").length === 1`)
	query, err := url.Parse(browsertest.Eval[string](t, page, `location.href`))
	if err != nil {
		t.Fatal(err)
	}
	if d, ok := songs.ReadDecision(query.Query().Get("take")); !ok || d.Channel == "" {
		t.Errorf("the address keeps %q", query.Query().Get("take"))
	}
	page.ClickOn(t, "button", "Keep as a pinning")
	page.WaitFor(t, `location.pathname.startsWith("/pinnings/") && document.querySelector("[data-ready]")`)
	page.WaitFor(t, `document.querySelector("#brief").textContent.includes("trusted")`)
}

// smallLaptop is as narrow as the counts stand beside the form.
var smallLaptop = browsertest.View{WidthPX: 1280, HeightPX: 800}

func TestHeadsOfTheTranspositionsStandAboveTheirColumns(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d", a.URL, a.SongID(t, "Mill Race")), smallLaptop)
	for _, view := range []browsertest.View{smallLaptop, browsertest.Phone} {
		page.Show(t, view)
		if got := browsertest.Eval[string](t, page, `(() => {
			const table = document.querySelector("[aria-labelledby=transpose-title] table");
			const cells = [...table.tBodies[0].rows].find((row) => row.cells.length > 2 && row.checkVisibility()).cells;
			return [...table.tHead.rows[0].cells].filter((head, i) => {
				const a = head.getBoundingClientRect(), b = cells[i].getBoundingClientRect();
				return Math.abs(a.left - b.left) > 0.5 || Math.abs(a.right - b.right) > 0.5;
			}).map((head) => head.textContent).join(", ");
		})()`); got != "" {
			t.Errorf("at %d px not above their columns: %s", view.WidthPX, got)
		}
		if view == smallLaptop && browsertest.Eval[bool](t, page, `(() => { const wide = document.querySelector(".wide:has(> .transpositions)"); return wide.scrollWidth > wide.clientWidth; })()`) {
			t.Errorf("at %d px the table is cut", view.WidthPX)
		}
	}
}

// Every field of every part is in sight without scrolling sideways, its chosen
// words too.
func TestFieldsOfThePartsAreInSight(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d", a.URL, a.SongID(t, "Mill Race")), browsertest.Laptop)
	browsertest.Eval[bool](t, page, `document.querySelectorAll(".song-part-how").forEach((part) => { part.open = true; }) === undefined`)
	for _, view := range []browsertest.View{browsertest.Laptop, smallLaptop, browsertest.Phone, {WidthPX: 320, HeightPX: 700}} {
		page.Show(t, view)
		page.NoSideScroll(t)
		got := browsertest.Eval[[]int](t, page, `(() => {
			const section = document.querySelector("[aria-labelledby=parts]"), edge = section.getBoundingClientRect().right + 0.5;
			const fields = [...section.querySelectorAll(".song-parts :is(select, input:not([type=hidden]))")];
			const cut = (e) => { for (let p = e.parentElement; p !== section; p = p.parentElement) if (p.scrollWidth > p.clientWidth + 1) return true; return false; };
			return [fields.length, fields.filter((e) => e.getBoundingClientRect().right > edge || e.getBoundingClientRect().width < 16 || cut(e)).length];
		})()`)
		// Three parts with a box and three choices, percussion without octaves.
		if got[0] != 15 || got[1] != 0 {
			t.Errorf("at %d px: %d fields, %d of them out of sight", view.WidthPX, got[0], got[1])
		}
		if got := browsertest.Eval[float64](t, page, `Math.max(0, ...[...document.querySelectorAll("[data-wrong]")].map((e) => e.getBoundingClientRect().height))`); got > 0 {
			t.Errorf("at %d px: with nothing wrong there is %.0f px to say so", view.WidthPX, got)
		}
		page.Screenshot(t, fmt.Sprintf("song-%d", view.WidthPX))
	}
}

// Mill Race has 16 bars.
func TestAFieldSaysBesideItselfWhatIsWrong(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d", a.URL, a.SongID(t, "Mill Race")), smallLaptop)
	const keep = `document.querySelector("#keep button.main[formmethod=post]")`
	page.WaitFor(t, keep)
	for _, c := range []struct{ field, typed, says string }{
		{"from_bar", "999", "past the song's end; the last bar is bar 16"},
		{"from_bar", "-1", `From bar is "-1"; it should be a whole number from 1.`},
		{"bars", "1.5", `Number of bars is "1.5"; it should be a whole number from 1.`},
		{"bars", "40", "runs past the end of the song"},
		{"tempo", "fast", `The tempo is "fast"; it should be a number of beats per minute from 1 to 1000.`},
	} {
		before := browsertest.Eval[string](t, page, `document.querySelector("#`+c.field+`").value`)
		page.Type(t, "#"+c.field, c.typed)
		page.WaitFor(t, fmt.Sprintf(`document.querySelector("#%s-wrong").textContent.includes(%q)`, c.field, c.says))
		page.WaitFor(t, fmt.Sprintf(`document.querySelector("#%s").getAttribute("aria-invalid") === "true" && !%s`, c.field, keep))
		if !browsertest.Eval[bool](t, page, fmt.Sprintf(`(() => {
			const field = document.querySelector("#%s"), says = document.querySelector("#%s-wrong");
			const a = field.getBoundingClientRect(), b = says.getBoundingClientRect();
			return field.getAttribute("aria-describedby").split(" ").includes(says.id) && b.height > 0 && b.top - a.bottom < 12 && Math.abs(a.left - b.left) < 2;
		})()`, c.field, c.field)) {
			t.Errorf("what is wrong with %s stands elsewhere", c.field)
		}
		if c.field != "tempo" && c.typed != "40" {
			if got := page.Text(t, "[data-stretch]"); !strings.HasPrefix(got, "No stretch") {
				t.Errorf("%s is %s, and the map says %q", c.field, c.typed, got)
			}
		}
		page.Screenshot(t, "song-wrong-"+c.field)
		page.Type(t, "#"+c.field, before)
		page.WaitFor(t, fmt.Sprintf(`document.querySelector("#%s-wrong").textContent === "" && %s`, c.field, keep))
		page.WaitFor(t, fmt.Sprintf(`document.querySelector("#%s").getAttribute("aria-invalid") === "false"`, c.field))
	}
}

// WCAG 2.2, 2.4.11: what has the focus is not hidden beneath the bar that stays
// in sight. Tabbed through forth and back.
func TestNothingWithTheFocusLiesUnderTheBar(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d", a.URL, a.SongID(t, "Mill Race")), browsertest.Phone)
	const covered = `(() => {
		const e = document.activeElement, a = e.getBoundingClientRect(), stays = document.querySelector(".song-bar"), bar = stays.getBoundingClientRect();
		const shown = Math.min(a.bottom, innerHeight) - Math.max(a.top, 0), over = Math.min(a.bottom, bar.bottom) - Math.max(a.top, bar.top);
		const stuck = bar.top <= 1 || bar.bottom >= innerHeight - 1;
		if (e === document.body) return "end";
		if (stays.contains(e)) return "";
		return stuck && over > 0 && (a.height < 300 || shown - over < 60) ? e.id || e.textContent.trim().slice(0, 40) || e.outerHTML.slice(0, 80) : "";
	})()`
	for _, key := range []string{"Tab", "Shift+Tab"} {
		seen := 0
		for range 120 {
			page.Press(t, key)
			got := browsertest.Eval[string](t, page, covered)
			if got == "end" {
				break
			}
			seen++
			if got != "" {
				t.Errorf("by %s: covered: %s", key, got)
			}
		}
		if seen < 25 {
			t.Errorf("by %s only %d fields and links were come to", key, seen)
		}
	}
}

// A technician decides on change after change; the keyboard goes on down the
// list.
func TestDecidingOnAChangeLeadsToTheNext(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d?from_bar=1&transpose=0&tempo=170&ease=on&advance=on", a.URL, a.SongID(t, "Mill Race")), smallLaptop)
	page.Click(t, "#changes summary")
	const list = `[...document.querySelectorAll(".easings[aria-label=Changes] > li")]`
	page.WaitFor(t, list+`.length > 6`)
	for i, as := range []string{"take_this", "take_this", "refuse_this", "take_this"} {
		if i == 0 {
			page.Do(t, "focus", chromedp.Focus(chromedp.CSS(`.easings button[name=take_this]`)))
		} else if as == "refuse_this" {
			page.Press(t, "Tab")
		}
		now := browsertest.Eval[[]string](t, page, `(() => {
			const all = `+list+`, at = all.indexOf(document.activeElement.closest("li"));
			return [document.activeElement.name, ...all.slice(at + 1).map((li) => li.id)];
		})()`)
		if now[0] != as {
			t.Fatalf("decision %d: the focus is on %q, want %q", i+1, now[0], as)
		}
		settled := fmt.Sprintf(`new URLSearchParams(location.search).getAll("take").length + new URLSearchParams(location.search).getAll("refuse").length === %d`, i+1)
		page.Press(t, "Enter")
		page.WaitFor(t, settled+` && !document.querySelector(".htmx-request, .htmx-settling, .htmx-swapping")`)
		got := browsertest.Eval[[2]string](t, page, `[document.activeElement.closest("li")?.id ?? "", document.activeElement.name ?? ""]`)
		next := ""
		for _, id := range now[1:] {
			if browsertest.Eval[bool](t, page, fmt.Sprintf(`Boolean(document.getElementById(%q))`, id)) {
				next = id
				break
			}
		}
		if got[0] != next {
			t.Errorf("decision %d, %s: the focus is on the change %q, want %q", i+1, as, got[0], next)
		}
		if as == "refuse_this" { // the next is decided on from its first button
			page.Press(t, "Shift+Tab")
		}
	}
	page.Screenshot(t, "song-decided")
}

// On paper stands what is set and what comes of it, and nothing to press or to
// choose.
func TestASongsPageIsPrintedWithoutItsTools(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, fmt.Sprintf("%s/songs/%d?from_bar=1&transpose=0&group_2_1=bar&play_4_3=off&parts=1", a.URL, a.SongID(t, "Mill Race")), browsertest.View{WidthPX: 718, HeightPX: 1000})
	page.Do(t, "print", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		return err
	}))
	if got := browsertest.Eval[string](t, page, `[...document.querySelectorAll("main :is(button, .button, input, summary)")].filter((e) => e.checkVisibility() && !e.matches(".key-fates summary, .fold > summary")).map((e) => e.id || e.textContent.trim()).join(", ")`); got != "ease, advance" { // ticked or not, they say how it is set
		t.Errorf("to press or fill in stands: %s", got)
	}
	if got := browsertest.Eval[string](t, page, `[...document.querySelectorAll("main .wide")].filter((e) => e.checkVisibility() && e.scrollWidth > e.clientWidth + 1).map((e) => e.ariaLabel).join(", ")`); got != "" {
		t.Errorf("cut at the side: %s", got)
	}
	page.NoSideScroll(t)
	page.Screenshot(t, "song-printed")
}
