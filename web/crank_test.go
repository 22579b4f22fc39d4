package web

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

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
	if status, body := a.tell(t, `{"turn": 20, "at_s": 216}`); status != http.StatusNoContent {
		t.Fatal(status, body)
	}
	if says := a.crankSays(t, "/crank/now?pinning=1"); !says.Slower {
		t.Errorf("at 240 BPM by the sensor: %+v", says)
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
		return a.post(t, "/crank/keep", url.Values{"wander": {wander}, "revision": {revision}, "reason": {reason}})
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
	for _, c := range [][3]string{{"much", "2", "x"}, {"-1", "2", "x"}, {"NaN", "2", "x"}, {"4", "1", "x"}, {"4", "", "x"}, {"4", "2", " "}} {
		if status, body := keep(c[0], c[1], c[2]); status < 400 || status >= 500 {
			t.Errorf("%q: %d %.200s", c, status, body)
		}
	}
}

// Bare counts are dated as they arrive: one in 6 s is a turn in 6 s, 80 BPM. A
// sensor that goes silent is said to be, and what it told last stands.
func TestCrankSensorThatGoesSilentIsSaid(t *testing.T) {
	a := newDemo(t)
	now := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	server := httptest.NewServer(New(Options{Store: a.store, Version: "test", Now: func() time.Time { return now }}))
	defer server.Close()
	b := &app{Server: server, store: a.store}
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
	other := demo.Machine()
	other.Name = "Another"
	id, err := a.store.AddMachine(context.Background(), other)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.store.SetCurrentMachine(context.Background(), id); err != nil {
		t.Fatal(err)
	}
	if says := b.crankSays(t, "/crank/now"); says.State != "none" || says.BPM != nil {
		t.Errorf("for another machine: %+v", says)
	}
}
