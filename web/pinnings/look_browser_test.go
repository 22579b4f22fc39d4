package pinnings_test

import (
	"context"
	"fmt"
	"net/url"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// The views in which the first screen is judged.
var (
	bench = browsertest.View{WidthPX: 1280, HeightPX: 800}
	hand  = browsertest.View{WidthPX: 320, HeightPX: 640, Touch: true}
)

// inFirstScreen fails t for parts that are not whole in the window before
// anything is scrolled.
func inFirstScreen(t *testing.T, p *browsertest.Page, parts ...string) {
	t.Helper()
	for _, part := range parts {
		if out := browsertest.Eval[string](t, p, fmt.Sprintf(`(() => {
			const e = document.querySelector(%q), box = e?.getBoundingClientRect();
			if (!e?.checkVisibility()) return "not shown";
			return box.top < 0 || box.bottom > innerHeight || box.left < 0 || box.right > innerWidth ? "at " + [box.left, box.top, box.right, box.bottom].map(Math.round) : "";
		})()`, part)); out != "" {
			t.Errorf("%s is not in the first screen: %s", part, out)
		}
	}
}

// fitting fails t for what sticks out of the page's main part, for controls
// smaller than a finger can be sure to hit (WCAG 2.2, 2.5.8: 24 px) unless they
// are links within a sentence, and for controls without a name.
func fitting(t *testing.T, p *browsertest.Page) {
	t.Helper()
	p.NoSideScroll(t)
	for _, says := range browsertest.Eval[[]string](t, p, `(() => {
		const main = document.querySelector("main"), edge = main.getBoundingClientRect();
		const what = (e) => e.localName + " " + (e.id || e.className.baseVal || e.className || "") + " “" + (e.ariaLabel ?? e.textContent).trim().slice(0, 40) + "”";
		const says = [];
		const scrolls = (e) => { for (let up = e.parentElement; up && up !== main; up = up.parentElement) if (/auto|scroll|hidden/.test(getComputedStyle(up).overflowX)) return true; return false; };
		for (const e of main.querySelectorAll("*:not(svg *)")) {
			if (!e.checkVisibility() || e.closest(".unseen")) continue;
			const box = e.getBoundingClientRect();
			if (box.width && (box.right > edge.right + 0.5 || box.left < edge.left - 0.5) && !scrolls(e)) says.push(what(e) + " sticks out to " + Math.round(box.left) + ", " + Math.round(box.right));
			if (!e.matches("button, a, input, select, summary")) continue;
			if ((box.height < 24 || box.width < 24) && !e.matches("p a, p label a")) says.push(what(e) + " is " + Math.round(box.width) + " by " + Math.round(box.height));
			if (e.matches("button, a, summary") && !(e.ariaLabel ?? e.textContent).trim()) says.push(what(e) + " has no name");
		}
		return says;
	})()`) {
		t.Error(says)
	}
}

func TestTheWheelsFirstScreenHasFaceUndoReadOutAndVerdict(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	w := openEditor(t, b, a.URL+a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"150"}}), bench)
	inFirstScreen(t, w.Page, "h1", ".face-scroll", "[data-act=undo]", "[data-readout]", "#find", "[data-tools]", "[data-crank]", "#brief", ".warning.stop", "[data-max-safe]")
	if rows := browsertest.Eval[int](t, w.Page, `new Set([...document.querySelectorAll("[data-tools] > * > button, [data-tools] > details > summary")].filter((e) => e.checkVisibility()).map((e) => e.getBoundingClientRect().top)).size`); rows != 1 {
		t.Errorf("the tools stand in %d rows, want 1", rows)
	}
	if main := browsertest.Eval[int](t, w.Page, `document.querySelectorAll("main :is(button, a).main").length`); main != 1 {
		t.Errorf("%d primary actions, want 1", main)
	}
	fitting(t, w.Page)
	w.Screenshot(t, "look-wheel-1280")
	w.Axe(t)

	// What stops has the tempo that resolves it; the focus stays with what changes.
	w.ClickOn(t, "link", "Set 86.2 BPM")
	w.WaitFor(t, `document.querySelector("#verdict").textContent.includes("No findings at 86.2 BPM") && !document.querySelector(".warning.stop")`)
	if at := browsertest.Eval[string](t, w.Page, `document.activeElement.id + " " + document.querySelector("#tempo").value`); at != "tempo 86.2" {
		t.Errorf("the focus and the tempo are %q", at)
	}

	// Every tool of the menu works, and the keys are back on the face.
	w.point("bar-c5", 8)
	w.ClickOn(t, "DisclosureTriangle", "More tools")
	fitting(t, w.Page)
	w.ClickOn(t, "button", "Select the channel")
	w.WaitFor(t, `document.activeElement.matches(".face-scroll") && document.querySelector("[data-told]").textContent.includes("the whole turn")`)
	w.ClickOn(t, "DisclosureTriangle", "More for this pinning")
	w.Axe(t)
	w.Press(t, "Escape")
	if at := browsertest.Eval[string](t, w.Page, `document.activeElement.textContent + document.querySelectorAll("details.more[open]").length`); at != "More for this pinning0" {
		t.Errorf("Escape leaves the menu for %q", at)
	}
}

func TestAPhoneShowsTheFaceFirst(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	w := openEditor(t, b, a.URL+a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"150"}}), browsertest.Phone.InDark())
	inFirstScreen(t, w.Page, "h1", "#brief", "[data-nearer]")
	// Names of channels and at least a bar of holes.
	if shown := browsertest.Eval[float64](t, w.Page, `innerHeight - document.querySelector(".face-scroll").getBoundingClientRect().top - 118 - 16 * 13`); shown < 0 {
		t.Errorf("of the face's first bar %.0f px lie below the first screen", -shown)
	}
	fitting(t, w.Page)
	w.Screenshot(t, "look-wheel-390-dark")
	w.Axe(t)
	w.Show(t, hand)
	fitting(t, w.Page)
	w.Screenshot(t, "look-wheel-320")
}

// Sixty-four channels scroll sideways within the face, with all their names in
// its head.
func TestSixtyFourChannelsScrollWithTheirNames(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.Start(t, web.New)
	m := demo.Machine()
	m.Name = "Long Hail"
	pattern, fall := m.Channels[0], m.Lanes[0]
	m.Channels, m.Lanes = nil, nil
	for i := range 64 {
		fall.ID = fmt.Sprintf("drop-%d", i)
		c := pattern
		c.ID, c.Name, c.Row, c.Keys, c.Path, c.Exit = fmt.Sprintf("bar-%d", i), fmt.Sprintf("Bar %d", i), i, []int{i}, []string{fall.ID}, nil
		m.Lanes, m.Channels = append(m.Lanes, fall), append(m.Channels, c)
	}
	id, err := a.Store.AddMachine(context.Background(), m)
	if err != nil {
		t.Fatal(err)
	}
	p, err := a.Store.AddPinning(context.Background(), id, 0, &wheel.Pinning{Format: wheel.PinningFormat, Title: "Wide", Machine: m.Name, TempoBPM: 60, Pins: []wheel.Pin{{Channel: "bar-63", Step: 4}}})
	if err != nil {
		t.Fatal(err)
	}
	w := openEditor(t, b, address(a, p), bench)
	w.Type(t, "#find", "drop-63")
	w.Press(t, "Enter")
	if got := w.Text(t, "[data-found]"); got != "Bar 63, bar 1 beat 2, step 4: pin." {
		t.Errorf("its lane leads to %q", got)
	}
	if last := browsertest.Eval[[]int](t, w.Page, `(() => { const [view] = `+faceHere+`.views; return [view.firstAcross, view.lastAcross]; })()`); last[0] == 0 || last[1] != 63 {
		t.Errorf("channels %v are in view", last)
	}
	// As many names are written over the face as channels are in view.
	if names := browsertest.Eval[[]string](t, w.Page, `(() => {
		const face = `+faceHere+`, names = new Set(), { fillText } = face.ink;
		face.ink.fillText = (text) => names.add(text);
		face.draw();
		delete face.ink.fillText;
		face.draw();
		const [view] = face.views;
		return face.turn.channels.slice(view.firstAcross + 1, view.lastAcross + 1).map((c) => c.name).filter((name) => !names.has(name));
	})()`); len(names) != 0 {
		t.Errorf("the face has no names over channels %v", names)
	}
	fitting(t, w.Page)
	w.Click(t, "[data-whole]")
	w.Screenshot(t, "look-wheel-64")
	fitting(t, w.Page)
}

func TestTheListOfPinningsIsSearchedAndFits(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	page := b.Open(t, a.URL+"/pinnings", bench)
	page.Find(t, "heading", "No pinnings yet")
	page.Find(t, "link", "Choose a song")
	fitting(t, page)
	page.Screenshot(t, "look-pinnings-empty")
	for i := range 9 {
		a.AddPinning(t, fmt.Sprintf("Étude %d", i), 60, wheel.Pin{Channel: "bar-d5", Step: 4})
	}
	page.Go(t, a.URL+"/pinnings")
	shown := func() int {
		return browsertest.Eval[int](t, page, `[...document.querySelectorAll("[data-pinnings] tbody tr")].filter((e) => e.checkVisibility()).length`)
	}
	if n := shown(); n != 9 {
		t.Errorf("%d pinnings are shown, want 9", n)
	}
	page.Type(t, page.Find(t, "searchbox", "Search the pinnings"), "etude 7")
	if n, says := shown(), page.Text(t, "[data-shown]"); n != 1 || says != "1 of 9 pinnings" {
		t.Errorf("the search shows %d and says %q", n, says)
	}
	page.Axe(t)
	for _, v := range []browsertest.View{bench, browsertest.Phone.InDark(), hand} {
		page.Show(t, v)
		fitting(t, page)
		page.Screenshot(t, fmt.Sprintf("look-pinnings-%d", v.WidthPX))
	}
	page.Axe(t)
}

func TestWhatFitsAnotherMachineStandsInTheFirstScreen(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	other := demo.Machine()
	other.Name, other.Wheel.Steps = "Graupel", 128
	id, err := a.Store.AddMachine(context.Background(), other)
	if err != nil {
		t.Fatal(err)
	}
	page := b.Open(t, fmt.Sprintf("%s/pinnings/%d/onto/%d", a.URL, knocks(t, a), id), bench)
	inFirstScreen(t, page, "h1", ".fits", ".fits button.main", ".warning")
	for _, v := range []browsertest.View{bench, browsertest.Phone.InDark(), hand} {
		page.Show(t, v)
		fitting(t, page)
		page.Screenshot(t, fmt.Sprintf("look-onto-%d", v.WidthPX))
		if v != hand {
			page.Axe(t)
		}
	}
}
