package visitors_test

import (
	"fmt"
	"math"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel"
)

// onsets are the times of clicks in a second of samples: where, after 50 ms of
// near silence, the sound first passes a tenth of its peak.
const onsets = `(samples, rate) => {
	let peak = 0;
	for (const v of samples) peak = Math.max(peak, Math.abs(v));
	const found = [];
	let quiet = rate;
	samples.forEach((v, i) => {
		if (Math.abs(v) < peak / 10) quiet++;
		else {
			if (quiet > rate / 20) found.push(i / rate);
			quiet = 0;
		}
	});
	return found;
}`

// A minute of the beat is rendered as the screen sounds it, and the clicks are
// looked for in the samples: the last comes when so many beats after the first
// are due, to under a millisecond. The test also prints how far the clock of the
// sound went from that of the browser.
func TestVisitorBeatDriftsLessThanAMillisecondAMinute(t *testing.T) {
	page := browsertest.Start(t).Open(t, webtest.Start(t, web.New).URL+"/machines", browsertest.Laptop)
	for _, bpm := range []float64{52.3, 84, 173.7} {
		got := browsertest.Eval[[]float64](t, page, fmt.Sprintf(`(async () => {
			const { Beat, clicks } = await import("/static/js/lib/beat.js");
			const { Room } = await import("/static/js/lib/sound.js");
			const rate = 16000;
			const context = new OfflineAudioContext(1, rate * 62, rate);
			const room = new Room(context);
			const beat = new Beat(%g, 0.1);
			for (let until = 0.2; until < 61.2; until += 0.025) clicks(room, beat, until, 1e9);
			const samples = (await context.startRendering()).getChannelData(0);
			return (%s)(samples, rate);
		})()`, bpm, onsets))
		first, last, beats := got[1], got[len(got)-1], len(got)-2 // the very first is louder, being a bar's
		off := (last - first) - float64(beats)*60/bpm
		perMinute := off * 60 / (last - first) * 1000
		if want := int(61.1 * bpm / 60); len(got) < want-1 || len(got) > want+2 {
			t.Fatalf("%g BPM: %d clicks in a minute, want about %d", bpm, len(got), want)
		}
		worst := 0.0
		for i, at := range got[1:] {
			worst = max(worst, math.Abs(at-first-float64(i)*60/bpm))
		}
		t.Logf("%g BPM: %d beats drift by %+.4f ms a minute; the farthest click is %.4f ms off", bpm, beats, perMinute, worst*1000)
		if math.Abs(perMinute) >= 1 || worst >= 0.001 {
			t.Errorf("%g BPM: the beat drifts by %.3f ms a minute, a click is %.3f ms off", bpm, perMinute, worst*1000)
		}
	}
}

// openVisitor is the screen of Nine Knocks, at a tempo, in a view.
func openVisitor(t *testing.T, tempo string, view browsertest.View) (*webtest.App, *browsertest.Page) {
	t.Helper()
	a := withProgramme(t)
	form := filledForm(t, a, "keep", "")
	form["tempo"] = []string{"78", tempo}
	form["story"] = []string{"", "Nine knocks at the mill door."}
	if status, to := a.Post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	return a, browsertest.Start(t).Open(t, a.URL+"/programmes/1/visitor/2", view)
}

// openLone is the screen of a lone pin, which is safe at any tempo.
func openLone(t *testing.T, title, tempo, story string, view browsertest.View) *browsertest.Page {
	t.Helper()
	a := withProgramme(t)
	ctx := t.Context()
	m, err := a.Store.Machine(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.Store.ChangeMachine(ctx, 1, m.Revision, "a test", []wheel.Set{{Path: "limits.tempo_max_bpm", Value: 240}}); err != nil {
		t.Fatal(err)
	}
	lone := &wheel.Pinning{Format: wheel.PinningFormat, Title: title, Machine: "Hailstone", TempoBPM: 80, Pins: []wheel.Pin{{Channel: "bar-c5"}}}
	if _, err := a.Store.AddPinning(ctx, 1, 0, lone); err != nil {
		t.Fatal(err)
	}
	press(t, a, "add", "3")
	form := filledForm(t, a, "keep", "")
	form["tempo"][2], form["story"][2] = tempo, story
	if status, to := a.Post(t, "/programmes/1", form); status != http.StatusSeeOther {
		t.Fatalf("%d %s", status, to)
	}
	return browsertest.Start(t).Open(t, a.URL+"/programmes/1/visitor/3", view)
}

// What the page hands to the clock of the sound, while it runs in the browser, is
// on the beat; and the page shows that beat.
func TestVisitorScreenKeepsTheBeatItSounds(t *testing.T) {
	_, page := openVisitor(t, "75", browsertest.Laptop)
	page.Do(t, "listen", chromedp.Evaluate[chromedp.Void](`(async () => {
		const { Room } = await import("/static/js/lib/sound.js");
		const strike = Room.prototype.strike;
		globalThis.handed = [];
		Room.prototype.strike = function (channel, at) { handed.push(at); strike.call(this, channel, at); };
	})()`))
	page.Click(t, "[data-click]")
	page.Click(t, "[data-start]")
	page.WaitFor(t, `globalThis.handed.length >= 12`)
	got := browsertest.Eval[struct {
		Handed []float64 `json:"handed"`
		Seen   []struct {
			At    float64 `json:"at"`    // beats since the first, by the clock of the sound
			Count int     `json:"count"` // what the screen counts
		} `json:"seen"`
		Bar int `json:"bar"`
	}](t, page, `(async () => {
		const screen = document.querySelector("[data-visitor]").screen;
		const seen = [];
		let last = document.querySelector("[data-count]").textContent;
		while (seen.length < 6) {
			await new Promise(requestAnimationFrame);
			const count = document.querySelector("[data-count]").textContent;
			if (count !== last) { seen.push({ at: screen.beat.at(screen.now), count: Number(count) }); last = count; }
		}
		return { handed, seen, bar: screen.bar };
	})()`)
	for i, at := range got.Handed {
		if off := at - got.Handed[0] - float64(i)*0.8; math.Abs(off) > 1e-9 {
			t.Errorf("click %d is %.6f ms off", i, off*1000)
		}
	}
	for _, seen := range got.Seen {
		beat := math.Floor(seen.At)
		late := (seen.At - beat) * 800
		t.Logf("beat %.0f is counted as %d, %.1f ms after it is due by the clock of the sound", beat, seen.Count, late)
		if late > 250 {
			t.Errorf("a beat is seen %.0f ms after it is due", late)
		}
		// The next may begin between the drawing and the reading.
		if ahead := (int(beat) + 1 - seen.Count + 2*got.Bar) % got.Bar; ahead > 1 {
			t.Errorf("beat %.0f of bars of %d is counted as %d", beat, got.Bar, seen.Count)
		}
	}
	clock := browsertest.Eval[float64](t, page, `(async () => {
		const { context } = document.querySelector("[data-visitor]").screen.room;
		const stamp = () => { const s = context.getOutputTimestamp(); return s.contextTime * 1000 - s.performanceTime; };
		await new Promise((r) => setTimeout(r, 300));
		const before = stamp();
		const from = performance.now();
		await new Promise((r) => setTimeout(r, 5000));
		return ((stamp() - before) / (performance.now() - from)) * 60000;
	})()`)
	t.Logf("the clock of the sound went %+.2f ms a minute against the browser's own, over 5 s in a headless browser without a sound card", clock)
	page.Click(t, "[data-start]")
	if running := browsertest.Eval[bool](t, page, `document.querySelector("[data-visitor]").screen.beat !== null`); running {
		t.Error("the beat goes on after it was stopped")
	}
}

func TestVisitorScreenNeverFlashesMoreThanThreeTimesASecond(t *testing.T) {
	shown := func(page *browsertest.Page) string {
		return browsertest.Eval[string](t, page, `["light", "track"].filter((n) => !document.querySelector("[data-" + n + "]").hidden).join()`)
	}
	for _, c := range []struct {
		tempo string
		view  browsertest.View
		want  string
	}{
		{"180", browsertest.Laptop, "light"}, // three a second (WCAG 2.3.1)
		{"181", browsertest.Laptop, "track"},
		{"80", browsertest.Laptop.HeldStill(), ""}, // nothing that flashes or moves
	} {
		page := openLone(t, "Lone", c.tempo, "", c.view)
		if got := shown(page); got != c.want {
			t.Errorf("at %s BPM there is %q, want %q", c.tempo, got, c.want)
		}
		page.Click(t, "[data-start]")
		page.WaitFor(t, `document.querySelector("[data-count]").textContent !== "1"`)
		if c.view.Still {
			if moved := browsertest.Eval[bool](t, page, `document.querySelector("[data-rim]").hasAttribute("transform")`); moved {
				t.Error("with reduced motion the wheel turns all the same")
			}
		}
	}
}

func TestVisitorScreenSaysSlower(t *testing.T) {
	a, page := openVisitor(t, "75", browsertest.Phone)
	for i := range 4 {
		if status, body := sendTurn(t, a, fmt.Sprintf(`{"turn": %d, "at_s": %d}`, i, 2*i)); status != http.StatusNoContent {
			t.Fatal(status, body)
		}
	}
	page.WaitFor(t, `document.querySelector("[data-slower]").textContent === "Slower"`)
	page.NoSideScroll(t)
	page.Axe(t)
	page.Screenshot(t, "visitor-slower-phone")
	sendTurn(t, a, `{"turn": 4, "at_s": 8}`) // a crank that is not heard of for long has stopped
	sendTurn(t, a, "nonsense")
	page.WaitFor(t, `document.querySelector("[data-slower]").textContent === "Slower"`)
	for i := range 4 {
		sendTurn(t, a, fmt.Sprintf(`{"turn": %d, "at_s": %d}`, 5+i, 8+6*(i+1)))
	}
	page.WaitFor(t, `document.querySelector("[data-slower]").textContent === ""`)
	// Taps four times a second are 8 beats every quarter of a second.
	page.Do(t, "tap", chromedp.Evaluate[chromedp.Void](`(async () => {
		for (let i = 0; i < 4; i++) {
			document.querySelector("[data-tap]").dispatchEvent(new PointerEvent("pointerdown"));
			await new Promise((r) => setTimeout(r, 250));
		}
	})()`))
	page.WaitFor(t, `document.querySelector("[data-slower]").textContent === "Slower"`)
}

func TestVisitorScreenIsLeftByALongPressAndACode(t *testing.T) {
	a, page := openVisitor(t, "75", browsertest.Laptop)
	page.Click(t, "[data-leave]")
	if open := browsertest.Eval[bool](t, page, `document.querySelector("dialog").open`); open {
		t.Fatal("a short press opens the way out")
	}
	page.Do(t, "hold", chromedp.Evaluate[chromedp.Void](`document.querySelector("[data-leave]").dispatchEvent(new KeyboardEvent("keydown", { key: "Enter" }))`))
	page.WaitFor(t, `document.querySelector("dialog").open`)
	page.Axe(t)
	page.Screenshot(t, "visitor-leave")
	page.Type(t, "#leave-code", "9999")
	page.Press(t, "Enter")
	page.WaitFor(t, `document.querySelector("dialog [data-problem]").textContent === "That is not the code."`)
	for _, trouble := range page.Troubles(t) {
		if !strings.Contains(trouble, "403") {
			t.Error(trouble)
		}
	}
	page.Type(t, "#leave-code", "1234")
	page.Press(t, "Enter")
	page.WaitFor(t, fmt.Sprintf(`location.pathname === %q`, "/programmes/1"))
	if err := a.Store.SetLeaveCode(t.Context(), ""); err != nil {
		t.Fatal(err)
	}
}

const holdStaff = `document.querySelector("[data-leave]").dispatchEvent(new KeyboardEvent("keydown", { key: "Enter" }))`

func TestVisitorScreenStaysWhileTheProgramIsAway(t *testing.T) {
	a, page := openVisitor(t, "75", browsertest.Laptop)
	if err := a.Store.SetLeaveCode(t.Context(), ""); err != nil {
		t.Fatal(err)
	}
	red := windowOf(t, a, 1).RedLineBPM
	address := a.URL + "/programmes/1/visitor/2"
	page.Go(t, address)
	page.Click(t, "[data-start]")
	page.WaitFor(t, `document.querySelector("[data-visitor]").dataset.beating`)
	a.CloseClientConnections()
	a.Close()
	page.Do(t, "hold", chromedp.Evaluate[chromedp.Void](holdStaff))
	page.WaitFor(t, `document.querySelector("[data-says]").textContent.startsWith("The program does not answer")`)
	// A tap every 1.5 s, 40 turns a minute of 8 beats each, is 320 BPM.
	page.Do(t, "tap", chromedp.Evaluate[chromedp.Void](`(async () => {
		for (let i = 0; i < 2; i++) {
			document.querySelector("[data-tap]").dispatchEvent(new PointerEvent("pointerdown"));
			await new Promise((r) => setTimeout(r, 1500));
		}
	})()`))
	page.WaitFor(t, `document.querySelector("[data-slower]").textContent === "Slower"`)
	page.WaitFor(t, `document.querySelector("[data-slower]").textContent === ""`)
	// A turn of the crank has 8 beats, and at the red line of Nine Knocks takes
	// 8 × 60 s / red line: no less is fine.
	for _, c := range []struct {
		everyS float64
		want   string
	}{{480/red - 0.001, "Slower"}, {480/red + 0.001, ""}} {
		got := browsertest.Eval[string](t, page, fmt.Sprintf(`(() => {
			const { screen } = document.querySelector("[data-visitor]");
			screen.taps.at = [];
			for (let i = 0; i < 3; i++) screen.tap(100 + i * %g);
			return document.querySelector("[data-slower]").textContent;
		})()`, c.everyS))
		if got != c.want {
			t.Errorf("a turn every %g s: %q, want %q", c.everyS, got, c.want)
		}
	}
	if at := browsertest.Eval[string](t, page, `location.href`); at != address {
		t.Errorf("the screen is left for %s", at)
	}
	if beating := browsertest.Eval[bool](t, page, `document.querySelector("[data-visitor]").screen.beat !== null`); !beating {
		t.Error("the beat has stopped")
	}
	for _, trouble := range page.Troubles(t) {
		if !strings.Contains(trouble, "net::ERR_") {
			t.Error(trouble)
		}
	}
}

// Without a code a long press leaves; a code that was settled since the screen
// was opened is asked for.
func TestVisitorScreenAsksForACodeSettledSince(t *testing.T) {
	a, page := openVisitor(t, "75", browsertest.Laptop)
	if err := a.Store.SetLeaveCode(t.Context(), ""); err != nil {
		t.Fatal(err)
	}
	page.Go(t, a.URL+"/programmes/1/visitor/2")
	page.Do(t, "hold", chromedp.Evaluate[chromedp.Void](holdStaff))
	page.WaitFor(t, `location.pathname === "/programmes/1"`)
	page.Go(t, a.URL+"/programmes/1/visitor/2")
	if err := a.Store.SetLeaveCode(t.Context(), "24680"); err != nil {
		t.Fatal(err)
	}
	page.Do(t, "hold", chromedp.Evaluate[chromedp.Void](holdStaff))
	page.WaitFor(t, `document.querySelector("dialog").open`)
	for _, trouble := range page.Troubles(t) {
		if !strings.Contains(trouble, "403") {
			t.Error(trouble)
		}
	}
	page.Type(t, "#leave-code", "24680")
	page.Press(t, "Enter")
	page.WaitFor(t, `location.pathname === "/programmes/1"`)
}

func TestVisitorBeatPressedTwiceAtOnceStopsWhenItIsStopped(t *testing.T) {
	_, page := openVisitor(t, "75", browsertest.Laptop)
	page.Click(t, "[data-click]") // sound is for a page that was touched
	page.Do(t, "press twice", chromedp.Evaluate[chromedp.Void](`(() => {
		const { screen } = document.querySelector("[data-visitor]");
		const { schedule } = screen;
		globalThis.scheduled = 0;
		screen.schedule = function () { globalThis.scheduled++; schedule.call(screen); };
		for (let i = 0; i < 2; i++) document.querySelector("[data-start]").click();
	})()`))
	page.WaitFor(t, `document.querySelector("[data-visitor]").dataset.beating && globalThis.scheduled > 5`)
	page.Click(t, "[data-start]")
	page.WaitFor(t, `!document.querySelector("[data-visitor]").dataset.beating`)
	if ran := browsertest.Eval[int](t, page, `(async () => {
		globalThis.scheduled = 0;
		await new Promise((r) => setTimeout(r, 400));
		return globalThis.scheduled;
	})()`); ran > 0 {
		t.Errorf("the timer ran %d times in 0.4 s after the beat was stopped", ran)
	}
}
