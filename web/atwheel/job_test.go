package atwheel_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/atwheel"
	"pinwright/web/webtest"
	"pinwright/wheel/demo"
)

func TestWorkAtTheWheelFollowsItsTaps(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	job := a.BeginChangeover(t)
	status, text := a.Get(t, job+"/state?after=-1")
	var state atwheel.JobState
	if err := json.Unmarshal([]byte(text), &state); err != nil || status != 200 || state.Left != 6 || len(state.Stops) != 3 || state.Total != 6 {
		t.Fatalf("%d: %s", status, text)
	}
	if s := state.Stops[1]; s.Step != 8 || s.Place != "bar 1 beat 3" || len(s.Moves) != 3 || len(s.Stay) != 0 {
		t.Errorf("the second step is %+v", s)
	}
	if status, text := a.Get(t, fmt.Sprintf("%s/state?after=%d", job, state.Seq)); status != 204 || text != "" {
		t.Errorf("nothing new is answered %d %q", status, text)
	}
	type m = map[string]any
	status, state, _ = sendTap(t, a, job, m{"id": "t1", "do": "done", "step": 4, "channels": []string{"bar-c5", "bar-e5"}, "ago_ms": 1500})
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
		{m{"id": "x", "do": "jump"}, 422, "which cannot be said at the wheel"},
		{m{"id": "t1", "do": "done", "step": 8, "channels": []string{"bar-c5"}}, 409, "another tap with the id t1 is kept already"},
		{m{"id": "x", "do": "found", "step": 4, "channel": "bar-c5"}, 422, "does not belong to this work"},
	} {
		status, _, says := sendTap(t, a, job, c.tap)
		if status != c.want || !strings.Contains(says, c.says) {
			t.Errorf("%v: %d %q, want %d and %q", c.tap, status, says, c.want, c.says)
		}
	}
	_, state, _ = sendTap(t, a, job, m{"id": "t2", "do": "done", "step": 8, "channels": []string{"bar-c5", "bar-d5", "bar-e5"}})
	status, page := a.Post(t, "/machines/1/wheel", url.Values{"pinning": {"nothing"}})
	webtest.Expect(t, status, page, 409, "work on the wheel of Hailstone is under way; finish it, or stop it, first")
	status, page = a.Get(t, "/machines/1/wheel")
	webtest.Expect(t, status, page, 200, "Between Old Round and New Round", "3 pins are on the wheel. 3 pins have been removed and 2 added since", "Changeover to New Round, 6 pulls and drives: under way", "Continue at the wheel")
	if state.Left != 1 {
		t.Errorf("%d left, want 1", state.Left)
	}
	a.Post(t, job+"/stop", nil)
	status, page = a.Get(t, job)
	webtest.Expect(t, status, page, 200, "Stopped", "3 pins are on the wheel, and every hole is known. 1 of 6 pulls and drives left.", "Resume the changeover")
	status, page = a.Get(t, "/machines/1/wheel")
	webtest.Expect(t, status, page, 200, "The changeover to New Round was stopped. 1 pull or drive is left. Resume the changeover")
	a.Post(t, job+"/resume", nil)
	_, state, _ = sendTap(t, a, job, m{"id": "t3", "do": "done", "step": 12, "channels": []string{"bar-e5"}})
	if state.Ended != "finished" {
		t.Errorf("at the end: %+v", state)
	}
	status, page = a.Get(t, job)
	webtest.Expect(t, status, page, 200, "New Round is on the wheel.", "Proofread the wheel before you let marbles in.")
	status, page = a.Get(t, "/machines/1/wheel")
	webtest.Expect(t, status, page, 200, "New Round 4 pins are on the wheel. Unchanged since", "Next Proofread the wheel")
}

// The changes that a page receives, put into what it knew, make the same state
// that a page receives which knows nothing.
func TestChangesAtTheWheelAddUpToAllThatIsLeft(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	job := a.BeginChangeover(t)
	whole := func() (state atwheel.JobState) {
		status, text := a.Get(t, job+"/state?after=-1")
		if err := json.Unmarshal([]byte(text), &state); err != nil || status != 200 || state.Touched != nil {
			t.Fatalf("%d: %s", status, text)
		}
		return state
	}
	known := whole()
	follow := func(now atwheel.JobState) {
		t.Helper()
		if now.Touched == nil {
			t.Fatalf("after one tap the whole state is sent: %+v", now)
		}
		stops := slices.DeleteFunc(slices.Clone(known.Stops), func(s atwheel.StopState) bool { return slices.Contains(now.Touched, s.Step) })
		known = now
		known.Stops = append(stops, now.Stops...)
		slices.SortFunc(known.Stops, func(x, y atwheel.StopState) int { return x.Step - y.Step })
		if want := whole(); !reflect.DeepEqual(known.Stops, want.Stops) || known.Left != want.Left {
			t.Fatalf("it adds up to %+v, want %+v", known, want)
		}
	}
	type m = map[string]any
	tap := func(tap m) {
		t.Helper()
		tap["after"] = known.Seq
		status, now, says := sendTap(t, a, job, tap)
		if status != 200 {
			t.Fatalf("%v: %d %s", tap, status, says)
		}
		follow(now)
	}
	tap(m{"id": "1", "do": "done", "step": 8, "channels": []string{"bar-d5"}})
	tap(m{"id": "2", "do": "done", "step": 4, "channels": []string{"bar-c5", "bar-e5"}})
	tap(m{"id": "3", "do": "back", "step": 8, "of": "1"})
	tap(m{"id": "4", "do": "trouble", "step": 12, "trouble": "bent pin"})
	// The taps of another page arrive as well.
	for _, other := range []m{{"id": "5", "do": "back", "step": 4, "of": "2"}, {"id": "6", "do": "done", "step": 8, "channels": []string{"bar-c5", "bar-d5"}}} {
		other["after"] = known.Seq
		if status, _, says := sendTap(t, a, job, other); status != 200 {
			t.Fatal(status, says)
		}
	}
	_, text := a.Get(t, fmt.Sprintf("%s/state?after=%d", job, known.Seq))
	var now atwheel.JobState
	if err := json.Unmarshal([]byte(text), &now); err != nil {
		t.Fatal(text)
	}
	follow(now)
	// Everything is sent where the work was stopped in between, and where the page
	// names a tap that does not exist.
	a.Post(t, job+"/stop", nil)
	a.Post(t, job+"/resume", nil)
	for _, after := range []int64{known.Seq, 99999, -7} {
		if _, text := a.Get(t, fmt.Sprintf("%s/state?after=%d", job, after)); !strings.Contains(text, `"touched":null`) || !strings.Contains(text, `"stops":[{`) {
			t.Errorf("after %d: %s", after, text)
		}
	}
}

// After a changeover that was stopped and then a proofreading, the changeover
// cannot be resumed, but a new one leads to the same pinning.
func TestStoppedChangeoverLeadsToANewOneOnceOtherWorkWasDone(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	job := a.BeginChangeover(t)
	sendTap(t, a, job, map[string]any{"id": "t1", "do": "done", "step": 4, "channels": []string{"bar-c5", "bar-e5"}})
	a.Post(t, job+"/stop", nil)
	_, proof := a.Post(t, "/machines/1/proof", url.Values{"start": {"0"}})
	proof = strings.TrimSuffix(proof, "#result")
	status, page := a.Get(t, proof)
	webtest.Expect(t, status, page, 200, "Proofread what is on the wheel of Hailstone, between Old Round and New Round")
	status, page = a.Get(t, "/machines/1/wheel")
	webtest.Expect(t, status, page, 200, "Proofreading of what is on the wheel of Hailstone, between Old Round and New Round: under way")
	a.Post(t, proof+"/stop", nil)
	again := fmt.Sprintf(`href="/machines/1/changeover?start=0&amp;to=%d"`, a.New)
	for _, path := range []string{job, "/machines/1/wheel"} {
		status, page = a.Get(t, path)
		webtest.Expect(t, status, page, 200, "Plan a new changeover to New Round")
		if !strings.Contains(page, again) {
			t.Errorf("%s does not lead to the new changeover", path)
		}
	}
	// 4 pulls and drives of 6 are left; worked by hand above.
	status, page = a.Get(t, fmt.Sprintf("/machines/1/changeover?start=0&to=%d", a.New))
	webtest.Expect(t, status, page, 200, "Pulls 2 Drives 2")
	if status, _ := a.Post(t, job+"/resume", nil); status != http.StatusConflict {
		t.Errorf("the stopped one was resumed: %d", status)
	}
	a.BeginChangeover(t)
	status, page = a.Get(t, proof)
	webtest.Expect(t, status, page, 200, "Other work was done on the wheel since.")
}

// Stopped work can be resumed on a machine that has lost a channel of pins to be
// driven; the page names what no longer fits.
func TestWorkResumedOnAChangedMachineSaysWhatNoLongerFits(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	ctx := context.Background()
	a.SayOnWheel(t, a.Old)
	job := a.BeginChangeover(t)
	if status, to := a.Post(t, job+"/stop", nil); status != http.StatusSeeOther {
		t.Fatalf("stop: %d %s", status, to)
	}
	for _, id := range []int64{a.Old, a.New} {
		if err := a.Store.RemovePinning(ctx, id); err != nil {
			t.Fatal(err)
		}
	}
	m := demo.Machine()
	m.Channels[m.Channel("bar-e5")].ID = "bar-e5-new" // which has no pin on the wheel yet
	if err := a.Store.ReplaceMachine(ctx, 1, 1, m); err != nil {
		t.Fatal(err)
	}
	if status, to := a.Post(t, job+"/resume", nil); status != http.StatusSeeOther {
		t.Fatalf("resume: %d %s", status, to)
	}
	status, page := a.Get(t, job)
	webtest.Expect(t, status, page, 200, "the pins no longer fit it", `"bar-e5"`)
	status, text := a.Get(t, job+"/state?after=-1")
	if status != 200 || !strings.Contains(text, "The machine was changed since this was begun.") {
		t.Errorf("%d: %s", status, text)
	}
	if on, err := a.Store.OnWheel(ctx, 1); err != nil || len(on.File.Pins) != 4 {
		t.Errorf("on the wheel: %+v, %v", on, err)
	}
}

func TestATapOfTheWrongKindIsRefusedInPlainWords(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	job := a.BeginChangeover(t)
	for name, message := range webtest.WrongKinds(t, atwheel.TapRequest{}) {
		status, says := a.SendJSON(t, job+"/taps", message)
		if webtest.PlainWords(t, name, says, atwheel.TapRequest{}); status != http.StatusBadRequest || !strings.Contains(says, name) {
			t.Errorf("%s: %d %s", name, status, says)
		}
	}
}
