package web

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pinwright/store"
	"pinwright/wheel"
	"pinwright/wheel/demo"
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
	add := func(title string, pins ...wheel.Pin) int64 {
		id, err := b.store.AddPinning(context.Background(), 1, 0, &wheel.Pinning{Format: wheel.PinningFormat, Title: title, TempoBPM: 60, Pins: pins})
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	pin := func(channel string, step int) wheel.Pin { return wheel.Pin{Channel: channel, Step: step} }
	b.old = add("Old Round", pin("bar-c5", 0), pin("bar-c5", 4), pin("bar-c5", 8), pin("bar-d5", 8))
	b.new = add("New Round", pin("bar-c5", 0), pin("bar-e5", 4), pin("bar-e5", 8), pin("bar-e5", 12))
	return b
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
	var file bytes.Buffer
	if _, err := m.WriteTo(&file); err != nil {
		t.Fatal(err)
	}
	status, page := b.bring(t, "/machines/1/file?revision=1", "m.json", file.Bytes())
	expect(t, status, page, 409, "work on the wheel of Hailstone is under way")
	if status, to := b.post(t, job+"/stop", nil); status != http.StatusSeeOther {
		t.Errorf("stop: %d %s", status, to)
	}
	status, page = b.bring(t, "/machines/1/file?revision=1", "m.json", file.Bytes())
	expect(t, status, page, 409, "Bar D5 has pins on the wheel of Hailstone (1)")
	if on, err := b.store.OnWheel(ctx, 1); err != nil || len(on.File.Pins) != 4 {
		t.Errorf("on the wheel: %+v, %v", on, err)
	}
	b.say(t, 0)
	if status, to := b.bring(t, "/machines/1/file?revision=1", "m.json", file.Bytes()); status != http.StatusSeeOther {
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
	if _, err := b.store.Edit(context.Background(), b.new, store.NewEdit{ID: "e", Kind: "drive", Words: "drive a pin", Changes: []wheel.PinChange{wheel.Drive(wheel.Pin{Channel: "bar-c5", Step: 99})}}); err != nil {
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
	expect(t, status, page, 200, "3 of 5 pins were right the first time, 60 %.", "10 of 256 steps were read: 1 missing, 1 extra.",
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
