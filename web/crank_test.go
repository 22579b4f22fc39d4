package web

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// shortPinning has three pins, on the steps 0, last/2 and last of one channel.
func shortPinning(m *wheel.Machine, title string, last int) *wheel.Pinning {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: title, TempoBPM: 60}
	for _, step := range []int{0, last / 2, last} {
		p.Pins = append(p.Pins, wheel.Pin{Channel: m.Channels[0].ID, Step: step})
	}
	return p
}

// tell sends what a sensor would.
func (a *app) tell(t *testing.T, body string) (int, string) {
	t.Helper()
	return a.send(t, httptest.NewRequest("POST", a.URL+"/crank", strings.NewReader(body)))
}

func (a *app) crankSays(t *testing.T, path string) crankSays {
	t.Helper()
	status, body := a.get(t, path)
	var says crankSays
	if err := json.Unmarshal([]byte(body), &says); err != nil || status != http.StatusOK {
		t.Fatalf("%s: %d %s (%v)", path, status, body, err)
	}
	return says
}

// Hailstone's crank turns 8 times for 64 beats: a turn in 6 s is 80 BPM (worked
// by hand).
func TestCrankIsMeasuredBySensorAndByTaps(t *testing.T) {
	a := newDemo(t)
	a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	if says := a.crankSays(t, "/crank/now"); says.State != "none" || says.BPM != nil {
		t.Errorf("before anything was sent: %+v", says)
	}
	times := []string{}
	for i := range 20 {
		if status, body := a.tell(t, fmt.Sprintf(`{"turn": %d, "at_s": %g}`, i, 100+6*float64(i))); status != http.StatusNoContent {
			t.Fatalf("turn %d: %d %s", i, status, body)
		}
		times = append(times, fmt.Sprint(100+6*i))
	}
	for _, path := range []string{"/crank/now?pinning=1", "/crank/tapped?pinning=1&per=turn&at=" + strings.Join(times, ",")} {
		says := a.crankSays(t, path)
		if says.BPM == nil || math.Abs(*says.BPM-80) > 1e-6 || math.Abs(*says.LastBPM-80) > 1e-6 || says.CrankRPM == nil || math.Abs(*says.CrankRPM-10) > 1e-6 ||
			says.Wander == nil || *says.Wander > 1e-9 || says.Slower || says.Spans != 19 {
			t.Errorf("%s: %+v", path, says)
		}
		if !strings.HasPrefix(says.Judged, "Inside the window") {
			t.Errorf("%s: it is judged %q", path, says.Judged)
		}
	}
	// A turn in 2 s is 240 BPM, above everything that is safe.
	fast := a.crankSays(t, "/crank/tapped?pinning=1&per=turn&at=0,2,4")
	if !fast.Slower || !strings.HasPrefix(fast.Judged, "Slower: the red line is at ") {
		t.Errorf("at 240 BPM: %+v", fast)
	}
	// Of the sensor, the first such turn may be a contact that bounced; the second is
	// believed.
	if status, body := a.tell(t, `{"turn": 20, "at_s": 216}`); status != http.StatusUnprocessableEntity || !strings.Contains(body, "240 beats a minute where it was 80 before") {
		t.Fatal(status, body)
	}
	if says := a.crankSays(t, "/crank/now?pinning=1"); says.Slower || *says.LastBPM != 80 {
		t.Errorf("after one turn at 240 BPM by the sensor: %+v", says)
	}
	if status, body := a.tell(t, `{"turn": 21, "at_s": 218}`); status != http.StatusNoContent {
		t.Fatal(status, body)
	}
	if says := a.crankSays(t, "/crank/now?pinning=1"); !says.Slower || says.Problem != "" {
		t.Errorf("after two turns at 240 BPM by the sensor: %+v", says)
	}
}

func TestCrankSensorThatSendsNonsenseChangesNothing(t *testing.T) {
	a := newDemo(t)
	for i := range 12 {
		a.tell(t, fmt.Sprintf(`{"turn": %d, "at_s": %d}`, i, 6*i))
	}
	before := a.crankSays(t, "/crank/now")
	for _, body := range []string{
		"", "null", "{}", "[]", "true", `"12"`, "12 13", `{"turn": 12, "at_s": 83.4} x`, `{"turn": "12"}`, `{"turns": 12}`, `{"turn": null}`,
		`{"turn": -1, "at_s": 80}`, `{"turn": 1e300, "at_s": 80}`, `{"turn": 500, "at_s": 67}`, `{"turn": 12, "at_s": 1e300}`,
		strings.Repeat("9", 5000), "\x00\xff", "<html>",
	} {
		status, says := a.tell(t, body)
		var told struct{ Problem string }
		if err := json.Unmarshal([]byte(says), &told); err != nil || status != http.StatusUnprocessableEntity || told.Problem == "" || len(told.Problem) > 300 {
			t.Errorf("%.40q: %d %s (%v)", body, status, says, err)
		}
		now := a.crankSays(t, "/crank/now")
		if now.BPM == nil || *now.BPM != *before.BPM || now.Spans != before.Spans {
			t.Errorf("%.40q changed what was measured: %+v", body, now)
		}
		if now.Problem == "" {
			t.Errorf("%.40q: the page does not hear of it", body)
		}
	}
	if status, _ := a.tell(t, `{"turn": 12, "at_s": 72}`); status != http.StatusNoContent {
		t.Errorf("after nonsense sense is refused: %d", status)
	}
	if now := a.crankSays(t, "/crank/now"); now.Problem != "" || now.Spans != 12 {
		t.Errorf("after nonsense: %+v", now)
	}
	r := httptest.NewRequest("POST", a.URL+"/crank", strings.NewReader("12"))
	r.Header.Set("Origin", "http://elsewhere.example")
	if status, _ := a.send(t, r); status != http.StatusForbidden {
		t.Errorf("a page of another site: %d", status)
	}
}

func TestCrankTapsThatMakeNoSenseAreSaid(t *testing.T) {
	a := newDemo(t)
	for query, want := range map[string]string{
		"at=0,x":                                "they should be up to 512 numbers",
		"at=NaN,1":                              "they should be up to 512 numbers",
		"at=":                                   "they should be up to 512 numbers",
		"at=" + strings.Repeat("1,", 600):       "they should be up to 512 numbers",
		"at=0,1&per=" + strings.Repeat("x", 99): "“turn” or “beat”",
		"at=0,1&pinning=9":                      "there is no pinning 9",
		"at=0,1&pinning=x":                      "should be the number of one",
	} {
		status, body := a.get(t, "/crank/tapped?"+query)
		if status < 400 || status >= 500 || !strings.Contains(body, want) {
			t.Errorf("%.40s: %d %s, want %q", query, status, body, want)
		}
	}
	for _, query := range []string{"at=5", "at=5,5", "at=5,4"} {
		if says := a.crankSays(t, "/crank/tapped?"+query); says.BPM != nil || says.Says == "" {
			t.Errorf("%s: %+v", query, says)
		}
	}
	empty := newApp(t)
	for _, path := range []string{"/crank/now", "/crank/tapped?at=0,1"} {
		if status, _ := empty.get(t, path); status != http.StatusConflict {
			t.Errorf("without a machine %s: %d", path, status)
		}
	}
	if status, body := empty.get(t, "/crank"); status != http.StatusOK || !strings.Contains(body, "no machine yet") {
		t.Errorf("%d", status)
	}
}

func TestCrankWanderIsKeptAsTheMachinesOwn(t *testing.T) {
	ctx := context.Background()
	a := newDemo(t)
	keep := func(wander, revision, reason string) (int, string) {
		return a.post(t, "/crank/keep", url.Values{"machine": {"1"}, "wander": {wander}, "revision": {revision}, "reason": {reason}})
	}
	if status, to := keep("3,25", "1", "measured by Ada, 40 turns"); status != http.StatusSeeOther || to != "/crank" {
		t.Fatalf("%d %s", status, to)
	}
	m, err := a.store.Machine(ctx, 1)
	if err != nil || m.File.Limits.Wander != 0.0325 {
		t.Errorf("the wander is %g, %v", m.File.Limits.Wander, err)
	}
	changes, err := a.store.MachineChanges(ctx, 1)
	if err != nil || len(changes) != 1 || changes[0].Reason != "measured by Ada, 40 turns" || changes[0].Figures[0].Path != "limits.wander" {
		t.Errorf("%+v, %v", changes, err)
	}
	for _, c := range [][4]string{
		{"much", "2", "x", "a number of per cent"}, {"-1", "2", "x", "“-1”"}, {"NaN", "2", "x", "0 to 50"}, {"1000", "2", "x", "“1000”; it should be a number of per cent, 0 to 50"},
		{"50.01", "2", "x", "0 to 50"}, {"4", "1", "x", "changed"}, {"4", "", "x", "open it again"}, {"4", "2", " ", "reason"},
	} {
		status, body := keep(c[0], c[1], c[2])
		if c[3] = strings.NewReplacer("“", "&#34;", "”", "&#34;").Replace(c[3]); status < 400 || status >= 500 || !strings.Contains(body, c[3]) {
			t.Errorf("%q: %d %.200s", c, status, body)
		}
	}
	// The most that the form takes is the most that a machine's file may have.
	if status, body := keep("50", "2", "a very uneven hand"); status != http.StatusSeeOther {
		t.Errorf("50 %%: %d %.300s", status, body)
	}
	if m.File.Limits.Wander = 0.5 + 1e-9; m.File.Check() == nil {
		t.Error("a machine's file may have more than 50 %")
	}
}

// chooseSecond adds a machine like the demo's, turned to the same revision, and
// chooses it.
func (a *app) chooseSecond(t *testing.T) int64 {
	t.Helper()
	ctx := context.Background()
	second := demo.Machine()
	second.Name = "Second"
	id, err := a.store.AddMachine(ctx, second)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.store.SetCurrentMachine(ctx, id); err != nil {
		t.Fatal(err)
	}
	return id
}

func TestCrankWanderIsKeptForNoOtherMachineThanWasMeasured(t *testing.T) {
	ctx := context.Background()
	a := newDemo(t)
	_, page := a.get(t, "/crank")
	form := url.Values{"wander": {"9"}, "reason": {"measured"}}
	for _, name := range []string{"machine", "revision"} {
		found := regexp.MustCompile(`name="` + name + `" value="(\d+)"`).FindStringSubmatch(page)
		if found == nil {
			t.Fatalf("the form has no %s", name)
		}
		form.Set(name, found[1])
	}
	second := a.chooseSecond(t)
	if status, body := a.post(t, "/crank/keep", form); status != http.StatusConflict || !strings.Contains(body, "opened for Hailstone, and Second has been chosen since") {
		t.Errorf("%d %.300s", status, body)
	}
	for _, id := range []int64{1, second} {
		if m, err := a.store.Machine(ctx, id); err != nil || m.File.Limits.Wander != demo.Machine().Limits.Wander || m.Revision != 1 {
			t.Errorf("machine %d: wander %g at revision %d, %v", id, m.File.Limits.Wander, m.Revision, err)
		}
	}
	for machine, want := range map[string]string{"": "which machine", "x": "which machine", "99": "opened for a machine that has been removed"} {
		form.Set("machine", machine)
		if status, body := a.post(t, "/crank/keep", form); status < 400 || status >= 500 || !strings.Contains(body, want) {
			t.Errorf("machine %q: %d %.300s", machine, status, body)
		}
	}
}

// at serves what a app serves by a clock that the test sets.
func (a *app) at(t *testing.T, now *time.Time) *app {
	t.Helper()
	server := httptest.NewServer(New(Options{Store: a.store, Version: "test", Now: func() time.Time { return *now }}))
	t.Cleanup(server.Close)
	return appOf(&webtest.App{Server: server, Store: a.store})
}

// Nine turns in 4 s each are 120 BPM (8 beats in 4 s), above the red line of Nine
// Knocks at 107.14 BPM (README.md). Then the crank stands still and the sensor says
// the same count, or sends what makes no sense, or nothing.
func TestCrankThatStandsStillIsNotToldSlower(t *testing.T) {
	for _, c := range []struct {
		name, sends, state, says, problem string
	}{
		{"the same count", "8", "still", "The crank has not turned for 14 s; what was told last stands.", ""},
		{"nonsense", "garbage", "silent", "Nothing that the sensor has sent for 14 s makes sense; what it told last stands.", "garbage"},
		{"a count of nonsense", "-3", "silent", "Nothing that the sensor has sent for 14 s makes sense; what it told last stands.", "Turn is −3"},
		{"nothing", "", "silent", "The sensor has been silent for 14 s; what it told last stands.", ""},
	} {
		a := newDemo(t)
		a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"80"}})
		now := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
		b := a.at(t, &now)
		for i := range 9 {
			now = now.Add(4 * time.Second)
			b.tell(t, fmt.Sprint(i))
			if says := b.crankSays(t, "/crank/now?pinning=1"); i > 0 && (says.State != "turning" || !says.Slower || !strings.HasPrefix(says.Judged, "Slower")) {
				t.Fatalf("%s: while it turns: %+v", c.name, says)
			}
		}
		for second := 1; second <= 14; second++ {
			now = now.Add(time.Second)
			if c.sends != "" {
				b.tell(t, c.sends)
			}
			// A turn at 1.75 times less than 120 BPM would take 7 s.
			if says := b.crankSays(t, "/crank/now?pinning=1"); says.Slower != (second <= 7) || (says.State == "turning") != (second <= 7) || *says.LastBPM != 120 {
				t.Errorf("%s, %d s after the last turn: %+v", c.name, second, says)
			}
		}
		says := b.crankSays(t, "/crank/now?pinning=1")
		if says.State != c.state || says.Says != c.says || !strings.Contains(says.Problem, c.problem) || (c.problem == "") != (says.Problem == "") ||
			says.Judged != "It was above the red line at 107.1 BPM." {
			t.Errorf("%s: %+v", c.name, says)
		}
		b.tell(t, "9")
		if says := b.crankSays(t, "/crank/now?pinning=1"); says.State != "turning" || says.Slower {
			t.Errorf("%s, then a turn after the rest: %+v", c.name, says)
		}
	}
}

// At 30 BPM, Hailstone's slowest, a turn of the crank takes 16 s: that is no rest.
func TestCrankThatTurnsSlowlyDoesNotStandStill(t *testing.T) {
	a := newDemo(t)
	now := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	b := a.at(t, &now)
	if b.tell(t, "rubbish"); b.crankSays(t, "/crank/now").State != "none" {
		t.Error("nonsense alone is taken for a crank")
	}
	b.tell(t, "0")
	if says := b.crankSays(t, "/crank/now"); says.State != "still" || says.Says != "The sensor is heard; the crank has not been turned yet." {
		t.Errorf("after one count: %+v", says)
	}
	for i := range 3 {
		now = now.Add(16 * time.Second)
		b.tell(t, fmt.Sprint(i+1))
	}
	now = now.Add(15 * time.Second)
	if says := b.crankSays(t, "/crank/now"); says.State != "turning" || *says.LastBPM != 30 {
		t.Errorf("%+v", says)
	}
}

// Bare counts are dated as they arrive: one in 6 s is a turn in 6 s, 80 BPM. A
// sensor that goes silent is said to be, and what it told last stands.
func TestCrankSensorThatGoesSilentIsSaid(t *testing.T) {
	a := newDemo(t)
	now := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	b := a.at(t, &now)
	for i := range 10 {
		if status, body := b.tell(t, fmt.Sprint(i)); status != http.StatusNoContent {
			t.Fatal(status, body)
		}
		now = now.Add(6 * time.Second)
	}
	if says := b.crankSays(t, "/crank/now"); says.State != "turning" || says.BPM == nil || math.Abs(*says.BPM-80) > 1e-6 {
		t.Errorf("turning: %+v", says)
	}
	now = now.Add(84 * time.Second)
	says := b.crankSays(t, "/crank/now")
	if says.State != "silent" || says.Says != "The sensor has been silent for 1 min 30 s; what it told last stands." || says.BPM == nil || math.Abs(*says.BPM-80) > 1e-6 || says.Slower {
		t.Errorf("silent: %+v", says)
	}
	// Another machine's crank is another crank.
	a.chooseSecond(t)
	if says := b.crankSays(t, "/crank/now"); says.State != "none" || says.BPM != nil {
		t.Errorf("for another machine: %+v", says)
	}
}

// What was tapped is gone with “Begin anew”, from sight and from the button that
// takes the wander; so is what the program answers late.
func TestCrankTapsBegunAnewLeaveNothingBehind(t *testing.T) {
	a := newDemo(t)
	a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	page := browsertest.Start(t).Open(t, a.URL+"/crank?pinning=1", browsertest.Laptop)
	taps := func(n int) {
		page.Do(t, "tap", chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`(() => {
			document.querySelector("input[value=beat]").click();
			for (let i = 0; i < %d; i++) {
				const tap = new PointerEvent("pointerdown");
				Object.defineProperty(tap, "timeStamp", { value: 1000 + 480 * i + 5 * (i %% 3) });
				document.querySelector("[data-tap]").dispatchEvent(tap);
			}
		})()`, n)))
	}
	const cleared = `["bpm", "rpm", "mean", "wander"].every((name) => document.querySelector("[data-taps] [data-" + name + "]").textContent === "–") &&
		["sure", "judged", "state"].every((name) => document.querySelector("[data-taps] [data-" + name + "]").textContent === "") &&
		document.querySelector("[data-taps] [data-beats]").textContent === "0" && document.querySelector("[data-take=taps]").disabled`
	page.WaitFor(t, cleared)
	taps(120)
	page.WaitFor(t, `document.querySelector("[data-taps] [data-beats]").textContent === "119" && /^ ± 0\.\d+$/.test(document.querySelector("[data-taps] [data-sure]").textContent) &&
		document.querySelector("[data-taps] [data-judged]").textContent.startsWith("Slower") && !document.querySelector("[data-take=taps]").disabled`)
	page.Axe(t)
	was := browsertest.Eval[string](t, page, `document.getElementById("wander").value`)
	page.Click(t, "[data-anew]")
	page.WaitFor(t, cleared)
	page.Do(t, "take", chromedp.Evaluate[chromedp.Void](`document.querySelector("[data-take=taps]").click()`))
	if now := browsertest.Eval[string](t, page, `document.getElementById("wander").value`); now != was {
		t.Errorf("the wander of the old taps is taken: %q was %q", now, was)
	}
	// An answer that comes after “Begin anew” is of taps that are gone.
	page.Do(t, "late", chromedp.Evaluate[chromedp.Void](`(() => {
		const asks = window.fetch;
		window.late = 0;
		window.fetch = async (...args) => {
			const answer = await asks(...args);
			if (!String(args[0]).startsWith("/crank/tapped")) return answer;
			await new Promise((r) => setTimeout(r, 300));
			setTimeout(() => window.late++, 50);
			return answer;
		};
	})()`))
	taps(120)
	page.Click(t, "[data-anew]")
	page.WaitFor(t, `window.late > 0`)
	if !browsertest.Eval[bool](t, page, cleared) {
		t.Error("what was tapped before comes back late")
	}
}
