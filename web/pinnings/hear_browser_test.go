package pinnings_test

import (
	"context"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// smallWheel keeps a machine of 16 steps, whose turn takes a second at 240 BPM,
// and a pinning of four pins on it, and returns the pinning's page.
func smallWheel(t testing.TB, a *webtest.App) string {
	t.Helper()
	m := demo.Machine()
	m.Name, m.Wheel.Steps, m.Wheel.RadiusMM = "Little Hail", 16, m.Wheel.RadiusMM/16
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Four Drops", Machine: m.Name, TempoBPM: 240}
	for i, id := range []string{"bar-c5", "bar-e5", "bar-g5", "bar-e5"} {
		p.Pins = append(p.Pins, wheel.Pin{Channel: id, Step: i * 4})
	}
	ctx := context.Background()
	id, err := a.Store.AddMachine(ctx, m)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := a.Store.AddPinning(ctx, id, 0, p)
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("/pinnings/%d", kept)
}

// hearingHere is what plays on the page.
const hearingHere = `document.querySelector("[data-hear]").hearing`

// record keeps when each strike is due by the audio clock in window.due, and
// in window.starts when it was started, which is later only after a stall.
func record(t testing.TB, page *browsertest.Page) {
	t.Helper()
	browsertest.Eval[bool](t, page, `(() => {
		window.due = [];
		window.starts = [];
		const start = AudioBufferSourceNode.prototype.start;
		AudioBufferSourceNode.prototype.start = function (at) { window.starts.push(at); start.call(this, at); };
		const { turning } = `+hearingHere+`;
		const take = turning.take.bind(turning);
		turning.take = (until, sound) => take(until, (strike, at) => { window.due.push(at); sound(strike, at); });
		return true;
	})()`)
}

// setTempo sets the tempo in one go, as a slide does: no half of it is heard.
func setTempo(t *testing.T, page *browsertest.Page, bpm string) {
	t.Helper()
	browsertest.Eval[bool](t, page, fmt.Sprintf(`(() => {
		const field = document.querySelector("form.tempo #tempo");
		field.value = %q;
		return field.dispatchEvent(new Event("input", { bubbles: true }));
	})()`, bpm))
}

// recordPlaces keeps every place that the page names while the wheel turns.
func recordPlaces(t *testing.T, page *browsertest.Page) {
	t.Helper()
	browsertest.Eval[bool](t, page, `(() => {
		window.places = [];
		const place = document.querySelector("[data-place]");
		new MutationObserver(() => places.push(place.textContent)).observe(place, { childList: true, characterData: true, subtree: true });
		return true;
	})()`)
}

func TestHearThePageSoundsTurnAfterTurnByTheAudioClock(t *testing.T) {
	a := webtest.Start(t, web.New)
	page := browsertest.Start(t).Open(t, a.URL+smallWheel(t, a), browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	if browsertest.Eval[bool](t, page, hearingHere+`.room !== null`) {
		t.Error("the sound is open before anyone asked for it")
	}
	record(t, page)
	page.Click(t, "[data-crank]")
	page.WaitFor(t, `window.starts.length >= 12`)
	if got := page.Text(t, "[data-crank]"); got != "Stop the wheel" {
		t.Errorf("while it turns the button says %q", got)
	}
	page.Click(t, "[data-crank]")
	page.WaitFor(t, `!document.querySelector("[data-turning]")`)
	due := browsertest.Eval[[]float64](t, page, `window.due`)
	for i, at := range due {
		// Four strikes to the turn of 1 s, so one each quarter (worked by hand).
		if want := due[0] + 0.25*float64(i); math.Abs(at-want) > 1e-9 {
			t.Errorf("strike %d is due at %v s, want %v", i, at, want)
		}
	}
	onTime := 0
	for _, at := range browsertest.Eval[[]float64](t, page, `window.starts`) {
		if slices.Contains(due, at) {
			onTime++
		}
	}
	t.Logf("%d of %d strikes were started on time", onTime, len(due))
	if onTime < len(due)/2 {
		t.Errorf("only %d of %d strikes were started when they were due", onTime, len(due))
	}
	n := browsertest.Eval[int](t, page, `new Promise((done) => setTimeout(() => done(window.due.length), 400))`)
	if n != len(due) {
		t.Errorf("%d strikes came after the stop", n-len(due))
	}
	if got := page.Text(t, "[data-crank]"); got != "Turn the wheel" {
		t.Errorf("after the stop the button says %q", got)
	}
}

func TestHearTheTempoChangesWithoutLosingThePlace(t *testing.T) {
	a := webtest.Start(t, web.New)
	page := browsertest.Start(t).Open(t, a.URL+smallWheel(t, a), browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	record(t, page)
	page.Click(t, "[data-crank]")
	page.WaitFor(t, `window.due.length >= 3`)
	setTempo(t, page, "120")
	page.WaitFor(t, hearingHere+`.answer.tempo_bpm === 120`)
	changed := browsertest.Eval[int](t, page, `window.due.length`)
	page.WaitFor(t, fmt.Sprintf(`window.due.length >= %d`, changed+4))
	page.Click(t, "[data-crank]")
	due := browsertest.Eval[[]float64](t, page, `window.due`)
	slow := 0
	for i := 1; i < len(due); i++ {
		// A quarter of a second at 240 BPM, half of one at 120, and one gap in
		// which the tempo changed.
		switch gap := due[i] - due[i-1]; {
		case math.Abs(gap-0.25) < 1e-6 && slow == 0:
		case math.Abs(gap-0.5) < 1e-6:
			slow++
		case gap > 0.25 && gap < 0.5 && slow == 0:
			slow++
		default:
			t.Errorf("gap %d is %v s in %v", i, gap, due)
		}
	}
	if slow < 3 {
		t.Errorf("%d gaps of the new tempo", slow)
	}
	if got := page.Text(t, "[data-facts]"); got != "At 120 BPM a turn takes 2 s." {
		t.Errorf("the page says %q", got)
	}

	// Typed wrong it goes on as it was, and says so.
	page.Click(t, "[data-crank]")
	page.WaitFor(t, hearingHere+`.turning.turns`)
	page.Type(t, "form.tempo #tempo", "fast")
	page.WaitFor(t, `document.querySelector(".hear [data-problem]").textContent.endsWith("The wheel goes on at 120 BPM.")`)
	if !browsertest.Eval[bool](t, page, hearingHere+`.turning.turns`) {
		t.Error("the wheel stopped over a tempo that is none")
	}
	setTempo(t, page, "60")
	page.WaitFor(t, hearingHere+`.answer.tempo_bpm === 60 && document.querySelector(".hear [data-problem]").hidden`)
	browsertest.Eval[bool](t, page, `new Promise((done) => setTimeout(() => done(true), 200))`)
	page.Troubles(t) // the browser's own notes of the refusals
}

func TestHearAsThisMachinePlaysItMissedDropsAreCountedAndMarked(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"140"}})
	page := browsertest.Start(t).Open(t, a.URL+path, browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	missed := map[string][]int{}
	all := a.Strikes(t, path+"/strikes?as=played")
	n := 0
	for _, s := range all.Strikes {
		if s.Missed {
			id := all.Channels[s.Channel].ID
			missed[id] = append(missed[id], s.Step)
			n++
		}
	}
	page.Click(t, "[data-crank]")
	page.WaitFor(t, hearingHere+`.turning.turns`)
	if got := page.Text(t, ".hear"); strings.Contains(got, "missed each turn") {
		t.Errorf("as written the page says %q", got)
	}
	const where = `((now) => [` + hearingHere + `.turning.placeAt(now), now])(` + hearingHere + `.now)`
	before := browsertest.Eval[[]float64](t, page, where)
	page.Click(t, ".hear input[value=played]")
	page.WaitFor(t, `document.querySelector("[data-missed]").textContent !== ""`)
	want := fmt.Sprintf("%d of %d drops are missed each turn: %d unready.", n, len(all.Strikes), n)
	if n == 1 {
		want = strings.Replace(want, "are", "is", 1)
	}
	if got := page.Text(t, "[data-missed]"); got != want {
		t.Errorf("the page says %q, want %q", got, want)
	}
	// 64 beats to the turn, at 140 a minute 27.43 s (worked by hand).
	now := browsertest.Eval[[]float64](t, page, where)
	if off := now[0] - before[0] - (now[1]-before[1])/(64*60./140); math.Abs(off-math.Round(off)) > 1e-3 {
		t.Errorf("in %v s the wheel went from %v to %v of a turn", now[1]-before[1], before[0], now[0])
	}
	for id, steps := range missed {
		for _, step := range steps {
			kinds := browsertest.Eval[string](t, page, fmt.Sprintf(`(() => {
				const { face } = document.querySelector("[data-face]");
				return face.marksAt.get(face.turn.channels.findIndex((c) => c.id === "%s"))?.get(%d) ?? "";
			})()`, id, step))
			if !strings.Contains(kinds, "missed") {
				t.Errorf("the face marks %s at step %d with %q", id, step, kinds)
			}
		}
	}
	page.Axe(t)
	page.Screenshot(t, "hear-played")
	page.Click(t, ".hear input[value=written]")
	page.WaitFor(t, `document.querySelector("[data-missed]").textContent === "" && document.querySelector("[data-face]").face.marks.size === 1`)
}

func TestHearTheFaceTurnsWithTheWheelUntilSomeoneLooksElsewhere(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	page := browsertest.Start(t).Open(t, a.URL+a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"150"}}), browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	recordPlaces(t, page)
	// From the page's head to the wheel by keys: Space on the face turns it.
	browsertest.Eval[bool](t, page, `(document.querySelector(".face-scroll").focus(), true)`)
	page.Press(t, "Space")
	const face = `document.querySelector("[data-face]").face`
	page.WaitFor(t, face+`.rolls && `+face+`.at > 4`)
	line := `(` + face + `.middleOf({ across: 0, down: ` + face + `.at }).y)`
	first := browsertest.Eval[float64](t, page, line)
	page.WaitFor(t, face+`.at > 12`)
	if then := browsertest.Eval[float64](t, page, line); math.Abs(then-first) > 1 {
		t.Errorf("the line moved from %v to %v px", first, then)
	}
	page.Screenshot(t, "hear-rolling")
	page.WaitFor(t, `places.includes("bar 2 beat 1")`)
	if got := browsertest.Eval[string](t, page, `document.querySelector("[data-rim]").getAttribute("transform")`); !strings.HasPrefix(got, "rotate(-") {
		t.Errorf("the wheel seen from its end stands at %q", got)
	}
	browsertest.Eval[bool](t, page, `(document.querySelector(".face-scroll").scrollTop = 1800, true)`)
	page.WaitFor(t, `!document.querySelector("[data-follow]").checked && !`+face+`.rolls`)
	if top := browsertest.Eval[float64](t, page, `new Promise((done) => setTimeout(() => done(document.querySelector(".face-scroll").scrollTop), 200))`); top != 1800 {
		t.Errorf("the face was taken back to %v px", top)
	}
	page.Click(t, "[data-follow]")
	page.WaitFor(t, face+`.rolls`)
	browsertest.Eval[bool](t, page, `(document.querySelector(".face-scroll").focus(), true)`)
	page.Press(t, "Space")
	page.WaitFor(t, `!document.querySelector("[data-turning]")`)
	stood := browsertest.Eval[float64](t, page, `(() => {
		const face = `+face+`, { draw } = face;
		window.drawn = []; // where the wheel stood, and in how many parts it was drawn
		face.draw = function () {
			drawn.push([this.at, this.rolls ? this.views.length : 0]);
			draw.call(this);
		};
		return face.at;
	})()`)
	page.Click(t, "[data-crank]")
	page.WaitFor(t, fmt.Sprintf(`drawn.some(([at]) => at > %v)`, stood))
	if at := browsertest.Eval[float64](t, page, fmt.Sprintf(`drawn.find(([at]) => at !== %v)[0]`, stood)); at < stood || at > stood+16 {
		t.Errorf("it stood at step %v and goes on from %v", stood, at)
	}
	page.Click(t, "[data-seam]")
	page.WaitFor(t, `drawn.some(([at]) => at < 2)`)
	if parts := browsertest.Eval[float64](t, page, `drawn.find(([at]) => at < 2)[1]`); parts != 2 {
		t.Errorf("at the seam the face is drawn in %v parts; the end of the turn is to be in view before its beginning", parts)
	}
	page.Screenshot(t, "hear-at-the-seam")
	page.Press(t, "Shift+Tab", "Space") // from "Back to the seam" to "Stop the wheel"
	page.WaitFor(t, `!document.querySelector("[data-turning]")`)
}

func TestHearWithReducedMotionOnlyWordsMove(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	page := browsertest.Start(t).Open(t, a.URL+a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"180"}}), browsertest.Phone.HeldStill())
	page.Show(t, browsertest.Phone.HeldStill())
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	before := browsertest.Eval[float64](t, page, `document.querySelector(".face-scroll").scrollTop`)
	recordPlaces(t, page)
	page.Click(t, "[data-crank]")
	page.WaitFor(t, `places.includes("bar 1 beat 3")`)
	if browsertest.Eval[bool](t, page, `document.querySelector("[data-face]").face.at !== null || document.querySelector("[data-rim]").hasAttribute("transform")`) {
		t.Error("the wheel moves")
	}
	if now := browsertest.Eval[float64](t, page, `document.querySelector(".face-scroll").scrollTop`); now != before {
		t.Errorf("the face scrolled from %v to %v", before, now)
	}
	if live := browsertest.Eval[bool](t, page, `document.querySelector("[data-place]").closest("[aria-live], [role=status], [role=alert]") !== null`); live {
		t.Error("every beat would be read out")
	}
	page.Click(t, "[data-crank]")
	page.WaitFor(t, `!document.querySelector("[data-turning]")`)
}

func TestHearAProgramThatIsGoneStopsTheWheelWithWords(t *testing.T) {
	a := webtest.Start(t, web.New)
	page := browsertest.Start(t).Open(t, a.URL+smallWheel(t, a), browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	page.Click(t, "[data-crank]")
	page.WaitFor(t, hearingHere+`.turning.turns`)
	a.CloseClientConnections()
	a.Listener.Close()
	page.Click(t, ".hear input[value=played]")
	page.WaitFor(t, `document.querySelector(".hear [data-problem]").textContent.startsWith("The program does not answer.") && !document.querySelector("[data-turning]")`)
	if got := page.Text(t, "[data-crank]"); got != "Turn the wheel" {
		t.Errorf("the button says %q", got)
	}
	browsertest.Eval[bool](t, page, `new Promise((done) => setTimeout(() => done(true), 300))`) // for the browser's own log
	page.Troubles(t)
}

func TestHearIsGoodForEveryone(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	page := browsertest.Start(t).Open(t, a.URL+a.SetSong(t, "Mill Race", url.Values{"tempo": {"150"}}), browsertest.Laptop)
	for _, v := range []struct {
		name string
		view browsertest.View
	}{
		{"laptop-light", browsertest.Laptop}, {"laptop-dark", browsertest.Laptop.InDark()},
		{"phone-light", browsertest.Phone}, {"phone-dark", browsertest.Phone.InDark()},
	} {
		if !testing.Verbose() && v.name != "laptop-light" && v.name != "phone-dark" {
			continue
		}
		page.Show(t, v.view)
		page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
		page.Click(t, ".hear input[value=played]")
		page.Click(t, "[data-crank]")
		page.WaitFor(t, hearingHere+`.turning.turns && document.querySelector("[data-face]").face.at > 1`)
		page.NoSideScroll(t)
		page.Axe(t)
		page.Screenshot(t, "hear-"+v.name)
		page.Click(t, "[data-crank]")
		page.WaitFor(t, `!document.querySelector("[data-turning]")`)
	}
	small := browsertest.Eval[[]string](t, page, `[...document.querySelectorAll(".hear button, .hear input")]
		.filter((e) => e.checkVisibility())
		.map((e) => [e, e.getBoundingClientRect()])
		.filter(([e, box]) => box.width < 24 || box.height < 24)
		.map(([e, box]) => e.outerHTML.slice(0, 60) + " " + box.width + " by " + box.height)`)
	for _, s := range small {
		t.Error(s)
	}
}
