package visitors_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"pinwright/wheel"
	"regexp"
	"strings"
	"testing"
	"time"

	"pinwright/web"
	"pinwright/web/page"
	"pinwright/web/visitors"
	"pinwright/web/webtest"
	"pinwright/wheel/demo"
	"pinwright/wheel/say"
)

// sendTurn sends what a sensor would.
func sendTurn(t *testing.T, a *webtest.App, body string) (int, string) {
	t.Helper()
	return a.Send(t, httptest.NewRequest("POST", a.URL+"/crank", strings.NewReader(body)))
}

// crankAnswer is what a page is sent of the crank.
func crankAnswer(t *testing.T, a *webtest.App, path string) visitors.CrankAnswer {
	t.Helper()
	status, body := a.Get(t, path)
	var answer visitors.CrankAnswer
	if err := json.Unmarshal([]byte(body), &answer); err != nil || status != http.StatusOK {
		t.Fatalf("%s: %d %s (%v)", path, status, body, err)
	}
	return answer
}

// Hailstone's crank turns 8 times for 64 beats: a turn in 6 s is 80 BPM (worked
// by hand).
func TestCrankIsMeasuredBySensorAndByTaps(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	if err := a.Store.SetMargin(t.Context(), 0.05); err != nil { // so that 80 BPM are for visitors
		t.Fatal(err)
	}
	if says := crankAnswer(t, a, "/crank/now"); says.State != "none" || says.BPM != nil {
		t.Errorf("before anything was sent: %+v", says)
	}
	times := []string{}
	for i := range 20 {
		if status, body := sendTurn(t, a, fmt.Sprintf(`{"turn": %d, "at_s": %g}`, i, 100+6*float64(i))); status != http.StatusNoContent {
			t.Fatalf("turn %d: %d %s", i, status, body)
		}
		times = append(times, fmt.Sprint(100+6*i))
	}
	for _, path := range []string{"/crank/now?pinning=1", "/crank/tapped?pinning=1&per=turn&at=" + strings.Join(times, ",")} {
		says := crankAnswer(t, a, path)
		if says.BPM == nil || math.Abs(*says.BPM-80) > 1e-6 || math.Abs(*says.LastBPM-80) > 1e-6 || says.CrankRPM == nil || math.Abs(*says.CrankRPM-10) > 1e-6 ||
			says.Wander == nil || *says.Wander > 1e-9 || says.Slower || says.Spans != 19 {
			t.Errorf("%s: %+v", path, says)
		}
		if !strings.HasPrefix(says.Judged, "Inside the window") {
			t.Errorf("%s: it is judged %q", path, says.Judged)
		}
	}
	// A turn in 2 s is 240 BPM, above everything that is safe.
	fast := crankAnswer(t, a, "/crank/tapped?pinning=1&per=turn&at=0,2,4")
	if !fast.Slower || !strings.HasPrefix(fast.Judged, "Slower: the red line is at ") {
		t.Errorf("at 240 BPM: %+v", fast)
	}
	// Of the sensor, the first such turn may be a contact that bounced; the second is
	// believed.
	if status, body := sendTurn(t, a, `{"turn": 20, "at_s": 216}`); status != http.StatusUnprocessableEntity || !strings.Contains(body, "240 beats a minute where it was 80 before") {
		t.Fatal(status, body)
	}
	if says := crankAnswer(t, a, "/crank/now?pinning=1"); says.Slower || *says.LastBPM != 80 {
		t.Errorf("after one turn at 240 BPM by the sensor: %+v", says)
	}
	if status, body := sendTurn(t, a, `{"turn": 21, "at_s": 218}`); status != http.StatusNoContent {
		t.Fatal(status, body)
	}
	if says := crankAnswer(t, a, "/crank/now?pinning=1"); !says.Slower || says.Problem != "" {
		t.Errorf("after two turns at 240 BPM by the sensor: %+v", says)
	}
}

func TestCrankSensorThatSendsNonsenseChangesNothing(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	for i := range 12 {
		sendTurn(t, a, fmt.Sprintf(`{"turn": %d, "at_s": %d}`, i, 6*i))
	}
	before := crankAnswer(t, a, "/crank/now")
	for _, body := range []string{
		"", "null", "{}", "[]", "true", `"12"`, "12 13", `{"turn": 12, "at_s": 83.4} x`, `{"turn": "12"}`, `{"turns": 12}`, `{"turn": null}`,
		`{"turn": -1, "at_s": 80}`, `{"turn": 1e300, "at_s": 80}`, `{"turn": 500, "at_s": 67}`, `{"turn": 12, "at_s": 1e300}`,
		strings.Repeat("9", 5000), "\x00\xff", "<html>",
	} {
		status, says := sendTurn(t, a, body)
		var told struct{ Problem string }
		if err := json.Unmarshal([]byte(says), &told); err != nil || status != http.StatusUnprocessableEntity || told.Problem == "" || len(told.Problem) > 300 {
			t.Errorf("%.40q: %d %s (%v)", body, status, says, err)
		}
		now := crankAnswer(t, a, "/crank/now")
		if now.BPM == nil || *now.BPM != *before.BPM || now.Spans != before.Spans {
			t.Errorf("%.40q changed what was measured: %+v", body, now)
		}
		if now.Problem == "" {
			t.Errorf("%.40q: the page does not hear of it", body)
		}
	}
	if status, _ := sendTurn(t, a, `{"turn": 12, "at_s": 72}`); status != http.StatusNoContent {
		t.Errorf("after nonsense sense is refused: %d", status)
	}
	if now := crankAnswer(t, a, "/crank/now"); now.Problem != "" || now.Spans != 12 {
		t.Errorf("after nonsense: %+v", now)
	}
	r := httptest.NewRequest("POST", a.URL+"/crank", strings.NewReader("12"))
	r.Header.Set("Origin", "http://elsewhere.example")
	if status, _ := a.Send(t, r); status != http.StatusForbidden {
		t.Errorf("a page of another site: %d", status)
	}
}

func TestCrankTapsThatMakeNoSenseAreSaid(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	for query, want := range map[string]string{
		"at=0,x":                                "they should be up to 512 numbers",
		"at=NaN,1":                              "they should be up to 512 numbers",
		"at=":                                   "they should be up to 512 numbers",
		"at=" + strings.Repeat("1,", 600):       "they should be up to 512 numbers",
		"at=0,1&per=" + strings.Repeat("x", 99): "“turn” or “beat”",
		"at=0,1&pinning=9":                      "there is no pinning 9",
		"at=0,1&pinning=x":                      "should be the number of a pinning",
	} {
		status, body := a.Get(t, "/crank/tapped?"+query)
		if status < 400 || status >= 500 || !strings.Contains(body, want) {
			t.Errorf("%.40s: %d %s, want %q", query, status, body, want)
		}
	}
	for _, query := range []string{"at=5", "at=5,5", "at=5,4"} {
		if says := crankAnswer(t, a, "/crank/tapped?"+query); says.BPM != nil || says.Says == "" {
			t.Errorf("%s: %+v", query, says)
		}
	}
	empty := webtest.Start(t, web.New)
	for _, path := range []string{"/crank/now", "/crank/tapped?at=0,1"} {
		if status, _ := empty.Get(t, path); status != http.StatusConflict {
			t.Errorf("without a machine %s: %d", path, status)
		}
	}
	if status, body := empty.Get(t, "/crank"); status != http.StatusOK || !strings.Contains(body, "no machine yet") {
		t.Errorf("%d", status)
	}
}

func TestCrankWanderIsKeptAsTheMachinesOwn(t *testing.T) {
	ctx := context.Background()
	a := webtest.StartDemo(t, web.New)
	keep := func(wander, revision, reason string) (int, string) {
		return a.Post(t, "/crank/keep", url.Values{"machine": {"1"}, "wander": {wander}, "revision": {revision}, "reason": {reason}})
	}
	if status, to := keep("3,25", "1", "measured by Ada, 40 turns"); status != http.StatusSeeOther || to != "/crank" {
		t.Fatalf("%d %s", status, to)
	}
	m, err := a.Store.Machine(ctx, 1)
	if err != nil || m.File.Limits.Wander != wheel.Known(0.0325) {
		t.Errorf("the wander is %v, %v", m.File.Limits.Wander, err)
	}
	changes, err := a.Store.MachineChanges(ctx, 1)
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
	if _, body := keep("much", "", " "); !strings.Contains(body, "The wander is ") || !strings.Contains(body, "open it again") || !strings.Contains(body, "The change has no reason") {
		t.Error("not every wrong field is named")
	}
	// The most that the form takes is the most that a machine's file may have.
	if status, body := keep("50", "2", "a very uneven hand"); status != http.StatusSeeOther {
		t.Errorf("50 %%: %d %.300s", status, body)
	}
	if m.File.Limits.Wander = wheel.Known(0.5 + 1e-9); m.File.Check() == nil {
		t.Error("a machine's file may have more than 50 %")
	}
}

// chooseSecond adds a machine like the demo's, turned to the same revision, and
// chooses it.
func chooseSecond(t *testing.T, a *webtest.App) int64 {
	t.Helper()
	ctx := context.Background()
	second := demo.Machine()
	second.Name = "Second"
	id, err := a.Store.AddMachine(ctx, second)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.Store.SetCurrentMachine(ctx, id); err != nil {
		t.Fatal(err)
	}
	return id
}

func TestCrankWanderIsKeptForNoOtherMachineThanWasMeasured(t *testing.T) {
	ctx := context.Background()
	a := webtest.StartDemo(t, web.New)
	_, page := a.Get(t, "/crank")
	form := url.Values{"wander": {"9"}, "reason": {"measured"}}
	for _, name := range []string{"machine", "revision"} {
		found := regexp.MustCompile(`name="` + name + `" value="(\d+)"`).FindStringSubmatch(page)
		if found == nil {
			t.Fatalf("the form has no %s", name)
		}
		form.Set(name, found[1])
	}
	second := chooseSecond(t, a)
	if status, body := a.Post(t, "/crank/keep", form); status != http.StatusConflict || !strings.Contains(body, "opened for Hailstone, and Second has been chosen since") {
		t.Errorf("%d %.300s", status, body)
	}
	for _, id := range []int64{1, second} {
		if m, err := a.Store.Machine(ctx, id); err != nil || m.File.Limits.Wander != demo.Machine().Limits.Wander || m.Revision != 1 {
			t.Errorf("machine %d: wander %v at revision %d, %v", id, m.File.Limits.Wander, m.Revision, err)
		}
	}
	for machine, want := range map[string]string{"": "the machine whose figures it changes", "x": "the machine whose figures it changes", "99": "opened for a machine that has been removed"} {
		form.Set("machine", machine)
		if status, body := a.Post(t, "/crank/keep", form); status < 400 || status >= 500 || !strings.Contains(body, want) {
			t.Errorf("machine %q: %d %.300s", machine, status, body)
		}
	}
}

// withClock serves what an app serves, by a clock that the test sets.
func withClock(t *testing.T, a *webtest.App, now *time.Time) *webtest.App {
	t.Helper()
	server := httptest.NewServer(web.New(page.Options{Store: a.Store, Version: "test", Now: func() time.Time { return *now }}))
	t.Cleanup(server.Close)
	return &webtest.App{Server: server, Store: a.Store}
}

// Nine turns in 4 s each are 120 BPM (8 beats in 4 s), above the red line of Nine
// Knocks, which mechanics is asked for. Then the crank stands still and the sensor says
// the same count, or sends what makes no sense, or nothing.
func TestCrankThatStandsStillIsNotToldSlower(t *testing.T) {
	for _, c := range []struct {
		name, sends, state, says, problem string
	}{
		{"the same count", "8", "still", "The crank has not turned for 14 s. The last measurement is still shown.", ""},
		{"nonsense", "garbage", "silent", "Nothing that the sensor has sent for 14 s makes sense. The last measurement is still shown.", "garbage"},
		{"a count of nonsense", "-3", "silent", "Nothing that the sensor has sent for 14 s makes sense. The last measurement is still shown.", "Turn is −3"},
		{"nothing", "", "silent", "The sensor has been silent for 14 s. The last measurement is still shown.", ""},
	} {
		a := webtest.StartDemo(t, web.New)
		a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
		red := windowOf(t, a, 1).RedLineBPM
		now := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
		b := withClock(t, a, &now)
		for i := range 9 {
			now = now.Add(4 * time.Second)
			sendTurn(t, b, fmt.Sprint(i))
			if says := crankAnswer(t, b, "/crank/now?pinning=1"); i > 0 && (says.State != "turning" || !says.Slower || !strings.HasPrefix(says.Judged, "Slower")) {
				t.Fatalf("%s: while it turns: %+v", c.name, says)
			}
		}
		for second := 1; second <= 14; second++ {
			now = now.Add(time.Second)
			if c.sends != "" {
				sendTurn(t, b, c.sends)
			}
			// A turn at 1.75 times less than 120 BPM would take 7 s.
			if says := crankAnswer(t, b, "/crank/now?pinning=1"); says.Slower != (second <= 7) || (says.State == "turning") != (second <= 7) || *says.LastBPM != 120 {
				t.Errorf("%s, %d s after the last turn: %+v", c.name, second, says)
			}
		}
		says := crankAnswer(t, b, "/crank/now?pinning=1")
		if says.State != c.state || says.Says != c.says || !strings.Contains(says.Problem, c.problem) || (c.problem == "") != (says.Problem == "") ||
			red == 0 || says.Judged != "It was above the red line at "+say.TempoDown(red)+" BPM." {
			t.Errorf("%s: %+v", c.name, says)
		}
		sendTurn(t, b, "9")
		if says := crankAnswer(t, b, "/crank/now?pinning=1"); says.State != "turning" || says.Slower {
			t.Errorf("%s, then a turn after the rest: %+v", c.name, says)
		}
	}
}

// At 30 BPM, Hailstone's slowest, a turn of the crank takes 16 s: that is no rest.
func TestCrankThatTurnsSlowlyDoesNotStandStill(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	now := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	b := withClock(t, a, &now)
	if sendTurn(t, b, "rubbish"); crankAnswer(t, b, "/crank/now").State != "none" {
		t.Error("nonsense alone is taken for a crank")
	}
	sendTurn(t, b, "0")
	if says := crankAnswer(t, b, "/crank/now"); says.State != "still" || says.Says != "The sensor is heard; the crank has not been turned yet." {
		t.Errorf("after one count: %+v", says)
	}
	for i := range 3 {
		now = now.Add(16 * time.Second)
		sendTurn(t, b, fmt.Sprint(i+1))
	}
	now = now.Add(15 * time.Second)
	if says := crankAnswer(t, b, "/crank/now"); says.State != "turning" || *says.LastBPM != 30 {
		t.Errorf("%+v", says)
	}
}

// Bare counts are dated as they arrive: one in 6 s is a turn in 6 s, 80 BPM. The
// page says that a sensor has gone silent, and keeps what it sent last.
func TestCrankSensorThatGoesSilentIsSaid(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	now := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	b := withClock(t, a, &now)
	for i := range 10 {
		if status, body := sendTurn(t, b, fmt.Sprint(i)); status != http.StatusNoContent {
			t.Fatal(status, body)
		}
		now = now.Add(6 * time.Second)
	}
	if says := crankAnswer(t, b, "/crank/now"); says.State != "turning" || says.BPM == nil || math.Abs(*says.BPM-80) > 1e-6 {
		t.Errorf("turning: %+v", says)
	}
	now = now.Add(84 * time.Second)
	says := crankAnswer(t, b, "/crank/now")
	if says.State != "silent" || says.Says != "The sensor has been silent for 1 min 30 s. The last measurement is still shown." || says.BPM == nil || math.Abs(*says.BPM-80) > 1e-6 || says.Slower {
		t.Errorf("silent: %+v", says)
	}
	// Another machine's crank is another crank.
	chooseSecond(t, a)
	if says := crankAnswer(t, b, "/crank/now"); says.State != "none" || says.BPM != nil {
		t.Errorf("for another machine: %+v", says)
	}
}

func TestATurnOfTheWrongKindIsRefusedInPlainWords(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	for name, message := range webtest.WrongKinds(t, visitors.TurnRequest{}) {
		status, says := a.SendJSON(t, "/crank", message)
		if webtest.PlainWords(t, name, says, visitors.TurnRequest{}); status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d %s", name, status, says)
		}
	}
}

// markedDemo is a demo whose machine's crank has a sensor of so many marks a turn.
func markedDemo(t *testing.T, marks int) *webtest.App {
	t.Helper()
	a := webtest.StartDemo(t, web.New)
	if err := a.Store.ChangeMachine(context.Background(), 1, 1, "a new disc", []wheel.Set{{Path: "wheel.crank_marks", Value: float64(marks)}}); err != nil {
		t.Fatal(err)
	}
	return a
}

// sendRipple sends 14 turns of 16 marks. A mark at the angle φ passes at
// 6 s (φ − 0.1 cos φ)/2π: the tempo is 80/(1 + 0.1 sin φ), half of whose peak-to-peak
// is 8.08 BPM, 10.1 % (worked by hand; its second harmonic is 0.5 %).
func sendRipple(t *testing.T, a *webtest.App, perTurn int) {
	t.Helper()
	for mark := range 14*perTurn + 1 {
		phi := 2 * math.Pi * float64(mark) / float64(perTurn)
		if status, body := sendTurn(t, a, fmt.Sprintf(`{"mark": %d, "at_s": %.6f}`, mark, 10+6*(phi-0.1*math.Cos(phi))/(2*math.Pi))); status != http.StatusNoContent {
			t.Fatal(mark, status, body)
		}
	}
}

func TestCrankShowsAndKeepsTheRippleOfASensorsMarks(t *testing.T) {
	ctx := context.Background()
	a := markedDemo(t, 16)
	sendRipple(t, a, 16)
	says := crankAnswer(t, a, "/crank/now")
	if says.Ripple == nil || math.Abs(*says.Ripple-0.1) > 0.002 || says.RippleU == nil || *says.RippleU > 0.001 || !strings.Contains(says.Ripples, "10 % once a turn") || len(says.Notes) > 0 {
		t.Errorf("%+v", says)
	}
	if says.Wander == nil || *says.Wander > 1e-5 || says.WanderU == nil {
		t.Errorf("ripple is taken for wander: %+v", says)
	}
	if tapped := crankAnswer(t, a, "/crank/tapped?at=0,6,12"); tapped.Ripple != nil || !strings.Contains(tapped.Ripples, "Taps do not show ripple") {
		t.Errorf("%+v", tapped)
	}
	keep := func(wander, ripple, revision string) (int, string) {
		return a.Post(t, "/crank/keep", url.Values{"machine": {"1"}, "wander": {wander}, "ripple": {ripple}, "revision": {revision}, "reason": {"measured by Ada"}})
	}
	if status, body := keep("1.5", "10.1", "2"); status != http.StatusSeeOther {
		t.Fatal(status, body)
	}
	is := func(wander, ripple float64) {
		t.Helper()
		if m, err := a.Store.Machine(ctx, 1); err != nil || m.File.Limits.Wander.Or(-1) != wander || m.File.Limits.Ripple.Or(-1) != ripple {
			t.Errorf("%+v, %v; want %g and %g", m.File.Limits, err, wander, ripple)
		}
	}
	is(0.015, 0.101)
	if changes, err := a.Store.MachineChanges(ctx, 1); err != nil || changes[0].Reason != "measured by Ada" || len(changes[0].Figures) != 2 {
		t.Errorf("%+v, %v", changes, err)
	}
	if _, page := a.Get(t, "/crank"); !strings.Contains(page, "a wander of 1.5 % and a ripple of 10.1 %") || strings.Contains(page, "Ripple is not seen") {
		t.Error("the page does not show the ripple that the file has")
	}
	// What is left empty stays.
	if status, _ := keep("", "5", "3"); status != http.StatusSeeOther {
		t.Error(status)
	}
	is(0.015, 0.05)
	for _, c := range [][4]string{
		{"", "100", "4", "99.99"}, {"1", "150", "4", "99.99"}, {"", "-1", "4", "99.99"}, {"", "NaN", "4", "99.99"}, {"", "much", "4", "The ripple is"},
		{"", "", "4", "Both fields are empty"}, {"", "6", "2", "changed"},
	} {
		if status, body := keep(c[0], c[1], c[2]); status < 400 || status >= 500 || !strings.Contains(body, c[3]) {
			t.Errorf("%q: %d %.300s", c, status, body)
		}
	}
	is(0.015, 0.05)
}

func TestCrankSaysThatOneMarkATurnShowsNoRipple(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	sendRipple(t, a, 1)
	if says := crankAnswer(t, a, "/crank/now"); says.Ripple != nil || says.Wander == nil || !strings.Contains(says.Ripples, "Ripple is not seen: it takes at least 8 marks") {
		t.Errorf("%+v", says)
	}
	if _, page := a.Get(t, "/crank"); !strings.Contains(page, "Ripple is not seen") {
		t.Error("the page does not say that ripple is not seen")
	}
	for body, want := range map[string]string{
		`{"mark": 3.5}`: "a whole number", `{"mark": 15, "turn": 15}`: "a turn and a mark", `{"mark": -2}`: "from 0 up", `{}`: "no turn and no mark",
	} {
		if status, says := sendTurn(t, a, body); status != http.StatusUnprocessableEntity || !strings.Contains(says, want) {
			t.Errorf("%s: %d %s", body, status, says)
		}
	}
}
