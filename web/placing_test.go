package web

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"html"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/file"
	"pinwright/wheel/history"
)

// wheelBench is an app with the demo machine, a pinning Old on its wheel and a
// pinning New to come.
//
// Old has bar-c5 at steps 0, 4 and 8 and bar-d5 at 8; New has bar-c5 at 0 and
// bar-e5 at 4, 8 and 12. So 3 pulls (c5 at 4 and 8, d5 at 8) and 3 drives are to
// be done, on steps 4, 8 and 12, and 1 pin stays.
type wheelBench struct {
	*app
	old, new int64
}

func newWheelBench(t *testing.T) wheelBench {
	t.Helper()
	b := wheelBench{app: newDemo(t)}
	pin := func(channel string, step int) wheel.Pin { return wheel.Pin{Channel: channel, Step: step} }
	b.old = b.pinning(t, "Old Round", 60, pin("bar-c5", 0), pin("bar-c5", 4), pin("bar-c5", 8), pin("bar-d5", 8))
	b.new = b.pinning(t, "New Round", 60, pin("bar-c5", 0), pin("bar-e5", 4), pin("bar-e5", 8), pin("bar-e5", 12))
	return b
}

// pinning adds one and returns its id.
func (b wheelBench) pinning(t *testing.T, title string, tempoBPM float64, pins ...wheel.Pin) int64 {
	t.Helper()
	id, err := b.store.AddPinning(context.Background(), 1, 0, &wheel.Pinning{Format: wheel.PinningFormat, Title: title, TempoBPM: tempoBPM, Pins: pins})
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func (b wheelBench) say(t *testing.T, pinning int64) {
	t.Helper()
	said := "nothing"
	if pinning != 0 {
		said = fmt.Sprint(pinning)
	}
	if status, to := b.post(t, "/machines/1/wheel", url.Values{"pinning": {said}}); status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
}

// begin begins the changeover to New and returns its address.
func (b wheelBench) begin(t *testing.T) string {
	t.Helper()
	on, err := b.store.OnWheel(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	status, to := b.post(t, "/machines/1/changeover", url.Values{"to": {fmt.Sprint(b.new)}, "revision": {"1"}, "seq": {fmt.Sprint(on.Seq)}, "edits": {"0"}})
	if status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, said(to))
	}
	return to
}

// tapAt sends a tap as the page does and returns the answer.
func (b wheelBench) tapAt(t *testing.T, job string, tap any) (int, jobState, string) {
	t.Helper()
	text, err := json.Marshal(tap)
	if err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest("POST", b.URL+job+"/taps", bytes.NewReader(text))
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Origin", b.URL)
	status, body := b.send(t, r)
	var answer struct {
		jobState
		Says string `json:"problem"`
	}
	if err := json.Unmarshal([]byte(body), &answer); err != nil {
		t.Fatalf("%d: %s: %v", status, body, err)
	}
	return status, answer.jobState, answer.Says
}

func TestWheelThatIsNotKnownAsksWhatIsOnIt(t *testing.T) {
	b := newWheelBench(t)
	status, page := b.get(t, "/machines/1/wheel")
	expect(t, status, page, 200, "Not known. Say what is on it", "no pins at all", "Old Round (4 pins)")
	status, page = b.get(t, fmt.Sprintf("/machines/1/changeover?to=%d", b.new))
	expect(t, status, page, 200, "What is on the wheel of Hailstone now? Nobody has said yet, and the pulls and drives to New Round follow from it.", "no pins at all", "Old Round (4 pins)")
	status, page = b.get(t, fmt.Sprintf("/machines/1/changeover.pdf?to=%d", b.new))
	expect(t, status, page, 409, "Nobody has said yet what is on the wheel of Hailstone; say that first.")
	b.say(t, b.old)
	status, page = b.get(t, "/machines/1/wheel?tempo=60")
	expect(t, status, page, 200, "It carries Old Round 4 pins are on the wheel.", "safe at 60 BPM", "Proofread it", "Said to be on it: Old Round")
	status, page = b.get(t, "/machines/1/wheel?tempo=fast")
	expect(t, status, page, 200, `The tempo is "fast"; it should be a number`)
	status, page = b.post(t, "/machines/1/wheel", url.Values{"pinning": {"a dozen"}})
	expect(t, status, page, 422, "Say what is on the wheel")
	status, page = b.post(t, "/machines/1/wheel", url.Values{"pinning": {"99"}})
	expect(t, status, page, 404, "there is no pinning 99")
}

// Whoever is asked on the way what is on the wheel goes on to the changeover as
// it was asked for.
func TestFirstChangeoverGoesOnOnceItIsSaidWhatIsOnTheWheel(t *testing.T) {
	b := newWheelBench(t)
	asked := fmt.Sprintf("rotate=on&start=8&to=%d", b.new)
	_, page := b.get(t, "/machines/1/changeover?"+asked)
	field := regexp.MustCompile(`name="changeover" value="([^"]*)"`).FindStringSubmatch(page)
	if field == nil {
		t.Fatal("the question does not know of the changeover")
	}
	status, to := b.post(t, "/machines/1/wheel", url.Values{"pinning": {"nothing"}, "changeover": {html.UnescapeString(field[1])}})
	if want := "/machines/1/changeover?" + asked; status != http.StatusSeeOther || to != want {
		t.Fatalf("%d: %s, want %s", status, said(to), want)
	}
	status, page = b.get(t, to)
	expect(t, status, page, 200, "From what is on the wheel, 0 pins", "Pulls 0 Drives 4")
	for _, bad := range []string{"//elsewhere.example/", "to=%zz", ";"} {
		_, to := b.post(t, "/machines/1/wheel", url.Values{"pinning": {"nothing"}, "changeover": {bad}})
		if strings.Contains(to, "elsewhere.example") && !strings.HasPrefix(to, "/machines/1/changeover?") {
			t.Errorf("%q leads to %s", bad, to)
		}
	}
}

// A changeover that was stopped, and then a proofreading: it cannot be gone on
// with, but a new one leads to the same pinning.
func TestStoppedChangeoverLeadsToANewOneOnceOtherWorkWasDone(t *testing.T) {
	b := newWheelBench(t)
	b.say(t, b.old)
	job := b.begin(t)
	b.tapAt(t, job, map[string]any{"id": "t1", "do": "done", "step": 4, "channels": []string{"bar-c5", "bar-e5"}})
	b.post(t, job+"/stop", nil)
	_, proof := b.post(t, "/machines/1/proof", url.Values{"start": {"0"}})
	proof = strings.TrimSuffix(proof, "#result")
	status, page := b.get(t, proof)
	expect(t, status, page, 200, "Proofread what is on the wheel of Hailstone, between Old Round and New Round")
	status, page = b.get(t, "/machines/1/wheel")
	expect(t, status, page, 200, "Proofreading of what is on the wheel of Hailstone, between Old Round and New Round: under way")
	b.post(t, proof+"/stop", nil)
	again := fmt.Sprintf(`href="/machines/1/changeover?start=0&amp;to=%d"`, b.new)
	for _, path := range []string{job, "/machines/1/wheel"} {
		status, page = b.get(t, path)
		expect(t, status, page, 200, "A new changeover to New Round")
		if !strings.Contains(page, again) {
			t.Errorf("%s does not lead to the new changeover", path)
		}
	}
	// 4 pulls and drives of 6 are left; worked by hand above.
	status, page = b.get(t, fmt.Sprintf("/machines/1/changeover?start=0&to=%d", b.new))
	expect(t, status, page, 200, "Pulls 2 Drives 2")
	if status, _ := b.post(t, job+"/resume", nil); status != http.StatusConflict {
		t.Errorf("the stopped one was gone on with: %d", status)
	}
	b.begin(t)
	status, page = b.get(t, proof)
	expect(t, status, page, 200, "Other work was done on the wheel since.", "To what is on the wheel")
}

func TestProofreadingIsNamedForWhatIsRead(t *testing.T) {
	b := newWheelBench(t)
	proofread := func(want string) {
		t.Helper()
		_, job := b.post(t, "/machines/1/proof", url.Values{"start": {"0"}})
		status, page := b.get(t, job)
		expect(t, status, page, 200, want)
		b.post(t, job+"/stop", nil)
	}
	b.say(t, 0)
	proofread("Proofread a bare wheel")
	b.say(t, b.old)
	proofread("Proofread Old Round")
	_, job := b.post(t, "/machines/1/proof", url.Values{"start": {"0"}})
	b.tapAt(t, job, map[string]any{"id": "f1", "do": "found", "step": 8, "channel": "bar-d5", "there": false})
	b.post(t, job+"/stop", nil)
	status, page := b.get(t, job)
	expect(t, status, page, 200, "Proofread Old Round", "On 1 of 256 steps, 1 of 2 pins were right the first time, 50 %.")
	proofread("Proofread what is on the wheel of Hailstone, Old Round but for 1 pin")
}

// The wheel is changed to something else than it carries.
func TestChangeoverIsOfferedToAnotherPinning(t *testing.T) {
	b := newWheelBench(t)
	third := b.pinning(t, "Another", 60, wheel.Pin{Channel: "bar-c5", Step: 0})
	chosen := func(path string, want int64) {
		t.Helper()
		_, page := b.get(t, path)
		field := regexp.MustCompile(`(?s)<select id="field-to".*?</select>`).FindString(page)
		if got := regexp.MustCompile(`value="(\d+)" selected`).FindStringSubmatch(field); got == nil || got[1] != fmt.Sprint(want) {
			t.Errorf("%s offers %v, want %d", path, got, want)
		}
	}
	b.say(t, b.old)
	chosen("/machines/1/wheel", third) // the first by title
	b.say(t, third)
	chosen("/machines/1/wheel", b.new)
	b.say(t, 0)
	chosen("/machines/1/wheel", third)
	b.say(t, b.new)
	status, job := b.post(t, "/machines/1/changeover", url.Values{"to": {fmt.Sprint(b.old)}, "revision": {"1"}, "seq": {"4"}, "edits": {"0"}})
	if status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, said(job))
	}
	b.post(t, job+"/stop", nil)
	chosen("/machines/1/wheel", b.old) // it was being changed to that
	chosen("/machines/1/changeover", b.old)
	chosen(fmt.Sprintf("/machines/1/changeover?to=%d", third), third)
}

func TestPinningsOfOneNameAreToldApart(t *testing.T) {
	b := newWheelBench(t)
	faster := b.pinning(t, "Old Round", 90, wheel.Pin{Channel: "bar-c5", Step: 0})
	when := page.Moment(time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC))
	status, page := b.get(t, "/machines/1/wheel")
	expect(t, status, page, 200, "New Round (4 pins)",
		fmt.Sprintf("Old Round (60 BPM, 4 pins, changed %s, number %d)", when, b.old),
		fmt.Sprintf("Old Round (90 BPM, 1 pin, changed %s, number %d)", when, faster))
	for _, path := range []string{"/", "/pinnings"} {
		status, page = b.get(t, path)
		expect(t, status, page, 200, fmt.Sprintf("Old Round changed %s, number %d 90", when, faster), "New Round 60")
	}
}

// One pinning that a fault of the disk has struck is told by its name with what
// is wrong; the others stand as ever.
func TestDamagedPinningTakesNoListDown(t *testing.T) {
	ctx, path := context.Background(), filepath.Join(t.TempDir(), "kept.db")
	st, err := store.Open(ctx, path, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	b := wheelBench{app: appOf(&webtest.App{Store: st, Server: httptest.NewServer(New(Options{Store: st, Now: time.Now, Log: slog.New(slog.DiscardHandler)}))})}
	defer b.Close()
	if _, err := st.AddMachine(ctx, demo.Machine()); err != nil {
		t.Fatal(err)
	}
	if err := st.SetCurrentMachine(ctx, 1); err != nil {
		t.Fatal(err)
	}
	whole := b.pinning(t, "Whole", 60, wheel.Pin{Channel: "bar-c5", Step: 0})
	for _, harm := range []struct{ title, query, says string }{
		{"Headless", `UPDATE pinnings SET head = json_set(head, '$.format', 'none') WHERE id = ?`, "What is kept of pinning Headless cannot be read by this version of the program: "},
		{"Astray", `UPDATE holes SET channel = 'organ' WHERE pinning_id = ?`, `"organ"`},
	} {
		id := b.pinning(t, harm.title, 60, wheel.Pin{Channel: "bar-d5", Step: 4})
		db, err := sql.Open("sqlite", path)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec(harm.query, id); err != nil {
			t.Fatal(err)
		}
		db.Close()
		for _, path := range []string{"/", "/pinnings"} {
			status, page := b.get(t, path)
			expect(t, status, page, 200, harm.title, harm.says, "Whole 60 180 safe 1 Sheets")
			if strings.Contains(page, fmt.Sprintf("/pinnings/%d/sheets", id)) || !strings.Contains(page, fmt.Sprintf("/pinnings/%d/sheets", whole)) {
				t.Errorf("%s: sheets are offered of what cannot be read, or not of what can", path)
			}
		}
	}
}

// The counts are worked by hand above.
func TestChangeoverSaysWhatItComesTo(t *testing.T) {
	b := newWheelBench(t)
	b.say(t, b.old)
	status, page := b.get(t, fmt.Sprintf("/machines/1/changeover?to=%d&start=5", b.new))
	expect(t, status, page, 200, "Pulls 3 Drives 3 Stay in place 1", "4 needed of 1500: 1496 left over", "not known yet", "safe at 60 BPM", "Lock the wheel",
		"bar 1 beat 3 8 5, 7 9 bar 1 beat 4 12 9 bar 1 beat 2 4 5 9")
	status, page = b.get(t, fmt.Sprintf("/machines/1/changeover?to=%d&rotate=on&exchange=on", b.new))
	expect(t, status, page, 200, "Saved by that freedom")
	status, file := b.get(t, fmt.Sprintf("/machines/1/changeover.csv?to=%d", b.new))
	rows, err := csv.NewReader(strings.NewReader(file)).ReadAll()
	if err != nil || status != 200 || len(rows) != 7 {
		t.Errorf("%d: %d rows, %v; want 6 and their heads", status, len(rows), err)
	}
	status, file = b.get(t, fmt.Sprintf("/machines/1/changeover.pdf?to=%d", b.new))
	if status != 200 || !strings.HasPrefix(file, "%PDF-") {
		t.Errorf("%d: %.40q", status, file)
	}
	for query, says := range map[string]string{
		"to=":                                 "Choose the pinning",
		"to=9999":                             "there is no pinning 9999",
		fmt.Sprintf("to=%d&start=x", b.new):   `The start is step "x"`,
		fmt.Sprintf("to=%d&start=-1", b.new):  "The start is step −1; the wheel of Hailstone has steps 0 to 255.",
		fmt.Sprintf("to=%d&start=256", b.new): "The start is step 256; the wheel of Hailstone has steps 0 to 255.",
	} {
		status, page := b.get(t, "/machines/1/changeover?"+query)
		if status < 400 || !strings.Contains(said(page), says) {
			t.Errorf("%s: %d: %.300s", query, status, said(page))
		}
	}
}

func TestChangeoverOfAMachineWithoutStockSaysSo(t *testing.T) {
	b := newWheelBench(t)
	m := demo.Machine()
	m.Wheel.PinStock = 0
	if err := b.store.ReplaceMachine(context.Background(), 1, 1, m); err != nil {
		t.Fatal(err)
	}
	b.say(t, 0)
	status, page := b.get(t, fmt.Sprintf("/machines/1/changeover?to=%d", b.new))
	expect(t, status, page, 200, "Pulls 0 Drives 4", "4 needed; how many there are is not said")
}

func TestPinningOfAnotherMachineIsNoChangeover(t *testing.T) {
	b := newWheelBench(t)
	b.say(t, b.old)
	other := demo.Machine()
	other.Name = "Graupel"
	if _, err := b.store.AddMachine(context.Background(), other); err != nil {
		t.Fatal(err)
	}
	if err := b.store.SayOnWheel(context.Background(), 2, 0); err != nil {
		t.Fatal(err)
	}
	status, page := b.get(t, fmt.Sprintf("/machines/2/changeover?to=%d", b.new))
	expect(t, status, page, 409, "The pinning New Round is of another machine; a changeover stays on one wheel.")
	job := b.begin(t)
	if status, _ := b.get(t, strings.Replace(job, "/machines/1/", "/machines/2/", 1)); status != 404 {
		t.Errorf("the work of one machine under another's address: %d", status)
	}
}

// A machine file that would take rows or steps away from under the pins on the
// wheel is refused, and no pin is forgotten.
func TestMachineIsNotReplacedFromUnderItsWheel(t *testing.T) {
	b := newWheelBench(t)
	ctx := context.Background()
	b.say(t, b.old)
	job := b.begin(t)
	for _, id := range []int64{b.old, b.new} {
		if err := b.store.RemovePinning(ctx, id); err != nil {
			t.Fatal(err)
		}
	}
	m := demo.Machine()
	m.Channels[m.Channel("bar-d5")].ID = "bar-d5-new"
	var text bytes.Buffer
	if _, err := file.Machine(m).WriteTo(&text); err != nil {
		t.Fatal(err)
	}
	status, page := b.bring(t, "/machines/1/file?revision=1", "m.json", text.Bytes())
	expect(t, status, page, 409, "work on the wheel of Hailstone is under way")
	if status, to := b.post(t, job+"/stop", nil); status != http.StatusSeeOther {
		t.Errorf("stop: %d %s", status, to)
	}
	status, page = b.bring(t, "/machines/1/file?revision=1", "m.json", text.Bytes())
	expect(t, status, page, 409, "Bar D5 has pins on the wheel of Hailstone (1)")
	if on, err := b.store.OnWheel(ctx, 1); err != nil || len(on.File.Pins) != 4 {
		t.Errorf("on the wheel: %+v, %v", on, err)
	}
	b.say(t, 0)
	if status, to := b.bring(t, "/machines/1/file?revision=1", "m.json", text.Bytes()); status != http.StatusSeeOther {
		t.Errorf("a bare wheel takes any machine: %d %s", status, to)
	}
	status, page = b.get(t, "/machines/1/wheel")
	expect(t, status, page, 200, "It carries No pins 0 pins are on the wheel.")
}

// What a page is told of the steps that have changed, laid over what it knew,
// is what a page that knows nothing is told.
func TestChangesAtTheWheelAddUpToAllThatIsLeft(t *testing.T) {
	b := newWheelBench(t)
	b.say(t, b.old)
	job := b.begin(t)
	whole := func() (state jobState) {
		status, text := b.get(t, job+"/state?after=-1")
		if err := json.Unmarshal([]byte(text), &state); err != nil || status != 200 || state.Touched != nil {
			t.Fatalf("%d: %s", status, text)
		}
		return state
	}
	known := whole()
	follow := func(now jobState) {
		t.Helper()
		if now.Touched == nil {
			t.Fatalf("after one tap the whole is told: %+v", now)
		}
		stops := slices.DeleteFunc(slices.Clone(known.Stops), func(s stopState) bool { return slices.Contains(now.Touched, s.Step) })
		known = now
		known.Stops = append(stops, now.Stops...)
		slices.SortFunc(known.Stops, func(a, b stopState) int { return a.Step - b.Step })
		if want := whole(); !reflect.DeepEqual(known.Stops, want.Stops) || known.Left != want.Left {
			t.Fatalf("it adds up to %+v, want %+v", known, want)
		}
	}
	type m = map[string]any
	tap := func(tap m) {
		t.Helper()
		tap["after"] = known.Seq
		status, now, says := b.tapAt(t, job, tap)
		if status != 200 {
			t.Fatalf("%v: %d %s", tap, status, says)
		}
		follow(now)
	}
	tap(m{"id": "1", "do": "done", "step": 8, "channels": []string{"bar-d5"}})
	tap(m{"id": "2", "do": "done", "step": 4, "channels": []string{"bar-c5", "bar-e5"}})
	tap(m{"id": "3", "do": "back", "step": 8, "of": "1"})
	tap(m{"id": "4", "do": "trouble", "step": 12, "trouble": "bent pin"})
	// Another page's taps are told as well.
	for _, other := range []m{{"id": "5", "do": "back", "step": 4, "of": "2"}, {"id": "6", "do": "done", "step": 8, "channels": []string{"bar-c5", "bar-d5"}}} {
		other["after"] = known.Seq
		if status, _, says := b.tapAt(t, job, other); status != 200 {
			t.Fatal(status, says)
		}
	}
	_, text := b.get(t, fmt.Sprintf("%s/state?after=%d", job, known.Seq))
	var now jobState
	if err := json.Unmarshal([]byte(text), &now); err != nil {
		t.Fatal(text)
	}
	follow(now)
	// Where work was stopped between, all is told; so it is where the page
	// knows of taps that there are not.
	b.post(t, job+"/stop", nil)
	b.post(t, job+"/resume", nil)
	for _, after := range []int64{known.Seq, 99999, -7} {
		if _, text := b.get(t, fmt.Sprintf("%s/state?after=%d", job, after)); !strings.Contains(text, `"touched":null`) || !strings.Contains(text, `"stops":[{`) {
			t.Errorf("after %d: %s", after, text)
		}
	}
}

// Work that was stopped may be gone on with on a machine that has lost a channel
// it was to have driven; what no longer fits is named.
func TestWorkGoneOnWithOnAChangedMachineIsToldInWords(t *testing.T) {
	b := newWheelBench(t)
	ctx := context.Background()
	b.say(t, b.old)
	job := b.begin(t)
	if status, to := b.post(t, job+"/stop", nil); status != http.StatusSeeOther {
		t.Fatalf("stop: %d %s", status, to)
	}
	for _, id := range []int64{b.old, b.new} {
		if err := b.store.RemovePinning(ctx, id); err != nil {
			t.Fatal(err)
		}
	}
	m := demo.Machine()
	m.Channels[m.Channel("bar-e5")].ID = "bar-e5-new" // which has no pin on the wheel yet
	if err := b.store.ReplaceMachine(ctx, 1, 1, m); err != nil {
		t.Fatal(err)
	}
	if status, to := b.post(t, job+"/resume", nil); status != http.StatusSeeOther {
		t.Fatalf("resume: %d %s", status, to)
	}
	status, page := b.get(t, job)
	expect(t, status, page, 200, "it no longer fits", `"bar-e5"`)
	status, text := b.get(t, job+"/state?after=-1")
	if status != 200 || !strings.Contains(text, "The machine was changed since this was begun.") {
		t.Errorf("%d: %s", status, text)
	}
	if on, err := b.store.OnWheel(ctx, 1); err != nil || len(on.File.Pins) != 4 {
		t.Errorf("on the wheel: %+v, %v", on, err)
	}
}

func TestWorkAtTheWheelFollowsItsTaps(t *testing.T) {
	b := newWheelBench(t)
	b.say(t, b.old)
	job := b.begin(t)
	status, text := b.get(t, job+"/state?after=-1")
	var state jobState
	if err := json.Unmarshal([]byte(text), &state); err != nil || status != 200 || state.Left != 6 || len(state.Stops) != 3 || state.Total != 6 {
		t.Fatalf("%d: %s", status, text)
	}
	if s := state.Stops[1]; s.Step != 8 || s.Place != "bar 1 beat 3" || len(s.Moves) != 3 || len(s.Stay) != 0 {
		t.Errorf("the second step is %+v", s)
	}
	if status, text := b.get(t, fmt.Sprintf("%s/state?after=%d", job, state.Seq)); status != 204 || text != "" {
		t.Errorf("nothing new is answered %d %q", status, text)
	}
	type m = map[string]any
	status, state, _ = b.tapAt(t, job, m{"id": "t1", "do": "done", "step": 4, "channels": []string{"bar-c5", "bar-e5"}, "ago_ms": 1500})
	if status != 200 || state.Left != 4 || state.Last == nil || state.Last.Tap != "t1" || state.Last.Place != "bar 1 beat 2" {
		t.Errorf("%d: %+v", status, state)
	}
	for _, c := range []struct {
		tap  any
		want int
		says string
	}{
		{m{"id": "x", "do": "done", "step": 4.5}, 400, "cannot read"},
		{m{"id": "x", "do": "done", "step": 4, "by_force": true}, 400, "cannot read"},
		{[]int{1}, 400, "cannot read"},
		{m{"id": "x", "do": "done", "step": -4, "channels": []string{"bar-c5"}}, 422, "the tap is for step -4; the wheel has steps 0 to 255"},
		{m{"id": "x", "do": "jump"}, 422, "nothing that can be said"},
		{m{"id": "t1", "do": "done", "step": 8, "channels": []string{"bar-c5"}}, 409, "another tap with the id t1 is kept already"},
		{m{"id": "x", "do": "found", "step": 4, "channel": "bar-c5"}, 422, "does not belong to this work"},
	} {
		status, _, says := b.tapAt(t, job, c.tap)
		if status != c.want || !strings.Contains(says, c.says) {
			t.Errorf("%v: %d %q, want %d and %q", c.tap, status, says, c.want, c.says)
		}
	}
	_, state, _ = b.tapAt(t, job, m{"id": "t2", "do": "done", "step": 8, "channels": []string{"bar-c5", "bar-d5", "bar-e5"}})
	status, page := b.post(t, "/machines/1/wheel", url.Values{"pinning": {"nothing"}})
	expect(t, status, page, 409, "work on the wheel of Hailstone is under way; finish it, or stop it, first")
	status, page = b.get(t, "/machines/1/wheel")
	expect(t, status, page, 200, "Between two states; the last that it carried whole Old Round", "It differs: 3 pins are pulled and 2 driven since.", "It was being changed to New Round : 1 pull or drive is left to that.", "To the work at the wheel")
	if state.Left != 1 {
		t.Errorf("%d left, want 1", state.Left)
	}
	b.post(t, job+"/stop", nil)
	status, page = b.get(t, job)
	expect(t, status, page, 200, "Stopped", "3 pins are on the wheel, each hole known; 1 of 6 pulls and drives left.", "Go on with it")
	status, page = b.get(t, "/machines/1/wheel")
	expect(t, status, page, 200, "1 pull or drive is left to that. Go on with it")
	b.post(t, job+"/resume", nil)
	_, state, _ = b.tapAt(t, job, m{"id": "t3", "do": "done", "step": 12, "channels": []string{"bar-e5"}})
	if state.Ended != "finished" {
		t.Errorf("at the end: %+v", state)
	}
	status, page = b.get(t, job)
	expect(t, status, page, 200, "New Round is on the wheel.", "Proofread it before marbles are let in.")
	status, page = b.get(t, "/machines/1/wheel")
	expect(t, status, page, 200, "It carries New Round 4 pins are on the wheel.")
}

func TestChangeoverBegunFromAnOldPageIsRefused(t *testing.T) {
	b := newWheelBench(t)
	b.say(t, b.old)
	form := url.Values{"to": {fmt.Sprint(b.new)}, "revision": {"1"}, "seq": {"1"}, "edits": {"0"}}
	if _, err := b.store.Edit(context.Background(), b.new, history.NewEdit{ID: "e", Kind: "drive", Words: "drive a pin", Changes: []wheel.PinChange{wheel.Drive(wheel.Pin{Channel: "bar-c5", Step: 99})}}); err != nil {
		t.Fatal(err)
	}
	status, page := b.post(t, "/machines/1/changeover", form)
	expect(t, status, page, 409, "New Round was edited meanwhile")
	form.Set("edits", "1")
	form.Set("revision", "7")
	status, page = b.post(t, "/machines/1/changeover", form)
	expect(t, status, page, 409, "Hailstone was changed by someone else meanwhile")
	form.Del("seq")
	status, page = b.post(t, "/machines/1/changeover", form)
	expect(t, status, page, 422, "does not say what it was worked out from")
}

// Worked by hand: of the 4 pins of Old, 1 is missing, so 3 are right; 1 is
// extra, so 5 should be or were there: 3/5 = 60 %.
func TestProofreadingEndsWithAListAndAShare(t *testing.T) {
	b := newWheelBench(t)
	b.say(t, b.old)
	status, page := b.post(t, "/machines/1/proof", url.Values{"start": {"256"}})
	expect(t, status, page, 422, "the start is step 256; the wheel of Hailstone has steps 0 to 255")
	status, page = b.post(t, "/machines/1/proof", url.Values{"start": {"x"}})
	expect(t, status, page, 422, `The start is step "x"`)
	_, job := b.post(t, "/machines/1/proof", url.Values{"start": {"0"}})
	type m = map[string]any
	for step := range 10 {
		b.tapAt(t, job, m{"id": fmt.Sprint("r", step), "do": "read", "step": step})
	}
	b.tapAt(t, job, m{"id": "f1", "do": "found", "step": 8, "channel": "bar-d5", "there": false})
	_, state, _ := b.tapAt(t, job, m{"id": "f2", "do": "found", "step": 4, "channel": "bar-e5", "there": true})
	if len(state.Found) != 2 || len(state.Read) != 10 {
		t.Errorf("%+v", state)
	}
	b.post(t, job+"/stop", nil)
	status, page = b.get(t, job)
	expect(t, status, page, 200, "On 10 of 256 steps, 3 of 5 pins were right the first time, 60 %.", "10 of 256 steps were read: 1 missing, 1 extra.",
		"Extra: step 4, bar 1 beat 2, row 9, Bar E5", "Missing: step 8, bar 1 beat 3, row 7, Bar D5", "Put right now")
	status, right := b.post(t, job+"/right", nil)
	if status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, said(right))
	}
	_, state, _ = b.tapAt(t, right, m{"id": "p1", "do": "done", "step": 4, "channels": []string{"bar-e5"}})
	if state.Left != 1 {
		t.Errorf("%+v", state)
	}
	_, state, _ = b.tapAt(t, right, m{"id": "p2", "do": "done", "step": 8, "channels": []string{"bar-d5"}})
	if state.Ended != "finished" {
		t.Errorf("%+v", state)
	}
	status, page = b.get(t, "/machines/1/wheel")
	expect(t, status, page, 200, "It carries Old Round 4 pins are on the wheel.")
	status, page = b.get(t, job) // the result stays
	expect(t, status, page, 200, "3 of 5 pins were right the first time, 60 %.")
}

func TestTroubleStandsOnTheMachinesPageUntilItIsMended(t *testing.T) {
	b := newWheelBench(t)
	b.say(t, b.old)
	job := b.begin(t)
	type m = map[string]any
	b.tapAt(t, job, m{"id": "x1", "do": "trouble", "step": 8, "channel": "bar-d5", "trouble": "split hole", "note": "<b>glue</b> it"})
	status, page := b.get(t, "/machines/1")
	expect(t, status, page, 200, "Split hole : Row 7, Bar D5, step 8, bar 1 beat 3 . <b>glue</b> it", "It is put right", "On the wheel")
	if status, to := b.post(t, "/machines/1/troubles/1/mended", nil); status != http.StatusSeeOther {
		t.Errorf("%d: %s", status, to)
	}
	_, page = b.get(t, "/machines/1")
	if strings.Contains(page, "/mended") {
		t.Error("it is still to be mended")
	}
	status, page = b.post(t, "/machines/1/troubles/7/mended", nil)
	expect(t, status, page, 404, "there is no such trouble")
}

// The demo machine has pin tips at 600 mm, once round 2π × 600 = 3769.9 mm, and
// no radius of the surface; at 590 mm it would be 3707.1 mm.
func TestSheetsSayOnWhichRadiusTheyAreMade(t *testing.T) {
	b := newWheelBench(t)
	at := fmt.Sprintf("/pinnings/%d/sheets", b.old)
	const surface = `name="radius" value="surface"`
	for _, query := range []string{"", "?radius=surface", "?radius=tips"} {
		status, page := b.get(t, at+query)
		expect(t, status, page, 200, "made for the pin tips, radius 600 mm", "Once round is 3769.9 mm.", "The machine's file has no radius of the surface.")
		if strings.Contains(page, surface) || !strings.Contains(page, `name="radius" value="tips" checked`) {
			t.Errorf("%q: the pin tips are not what is chosen", query)
		}
	}
	m := demo.Machine()
	m.Wheel.SurfaceRadiusMM = 590
	if err := b.store.ReplaceMachine(context.Background(), 1, 1, m); err != nil {
		t.Fatal(err)
	}
	status, page := b.get(t, at)
	expect(t, status, page, 200, "made for the wheel's surface, radius 590 mm", "Once round is 3707.1 mm.")
	if !strings.Contains(page, surface+" checked") {
		t.Error("the surface is not what is chosen")
	}
	status, page = b.get(t, at+"?radius=tips")
	expect(t, status, page, 200, "made for the pin tips, radius 600 mm. Once")
}

func TestSheetsOfAPinningAreThere(t *testing.T) {
	b := newWheelBench(t)
	at := fmt.Sprintf("/pinnings/%d/sheets", b.old)
	status, page := b.get(t, at)
	expect(t, status, page, 200, "Lock the wheel and disconnect its drive.", "Wear eye protection", "marbles", "two people", "Local rules and the staff trained on this machine come first. Nothing here clears anyone for work.", "Template, PDF", "Print at 100 %")
	for file, begins := range map[string]string{
		"template.pdf": "%PDF-", "pins.pdf": "%PDF-", "pins.csv": "step,bar,beat,row", "template.svg?page=1": "<?xml", "template.pdf?paper=A3&radius=tips&edge=bottom": "%PDF-",
		"template.svg?page=1&paper=roll&roll=610": "<?xml",
	} {
		status, text := b.get(t, at+"/"+file)
		if status != 200 || !strings.HasPrefix(text, begins) {
			t.Errorf("%s: %d %.60q", file, status, text)
		}
	}
	for query, says := range map[string]string{
		"paper=A5": `The paper is "A5"; it should be A4, A3 or roll.`, "radius=axle": `The radius is "axle"`, "edge=left": `The wheel's edge lies at "left"`,
		"paper=roll&roll=NaN": `The roll's width is "NaN"`,
	} {
		status, page := b.get(t, at+"?"+query)
		expect(t, status, page, 422, says)
		if status, _ := b.get(t, at+"/template.pdf?"+query); status != 422 {
			t.Errorf("%s as a file: %d", query, status)
		}
	}
	status, page = b.get(t, at+"?paper=roll&roll=99")
	if status != 200 || !strings.Contains(page, `role="alert"`) {
		t.Errorf("a roll too narrow: %d %.400s", status, said(page))
	}
	for _, file := range []string{"template.svg?page=0", "template.svg?page=999", "template.svg", "secrets.txt"} {
		if status, _ := b.get(t, at+"/"+file); status != 404 {
			t.Errorf("%s: %d", file, status)
		}
	}
	if _, page := b.get(t, "/pinnings"); !strings.Contains(page, at) {
		t.Error("the list of pinnings does not lead there")
	}
}
