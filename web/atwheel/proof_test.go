package atwheel_test

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
)

func TestProofreadingIsNamedForWhatIsRead(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	proofread := func(want string) {
		t.Helper()
		_, job := a.Post(t, "/machines/1/proof", url.Values{"start": {"0"}})
		status, page := a.Get(t, job)
		webtest.Expect(t, status, page, 200, want)
		a.Post(t, job+"/stop", nil)
	}
	a.SayOnWheel(t, 0)
	proofread("Proofread a bare wheel")
	a.SayOnWheel(t, a.Old)
	proofread("Proofread Old Round")
	_, job := a.Post(t, "/machines/1/proof", url.Values{"start": {"0"}})
	sendTap(t, a, job, map[string]any{"id": "f1", "do": "found", "step": 8, "channel": "bar-d5", "there": false})
	a.Post(t, job+"/stop", nil)
	status, page := a.Get(t, job)
	webtest.Expect(t, status, page, 200, "Proofread Old Round", "On 1 of 256 steps, 1 of 2 pins were right the first time, 50 %.")
	proofread("Proofread what is on the wheel of Hailstone, Old Round except for 1 pin")
}

// Worked by hand: of the 4 pins of Old, 1 is missing, so 3 are right; 1 is
// extra, so 5 should be or were there: 3/5 = 60 %.
func TestProofreadingEndsWithAListAndAShare(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	status, page := a.Post(t, "/machines/1/proof", url.Values{"start": {"256"}})
	webtest.Expect(t, status, page, 422, "the start is step 256; the wheel of Hailstone has steps 0 to 255")
	status, page = a.Post(t, "/machines/1/proof", url.Values{"start": {"x"}})
	webtest.Expect(t, status, page, 422, `The start is step "x"`)
	_, job := a.Post(t, "/machines/1/proof", url.Values{"start": {"0"}})
	type m = map[string]any
	for step := range 10 {
		sendTap(t, a, job, m{"id": fmt.Sprint("r", step), "do": "read", "step": step})
	}
	sendTap(t, a, job, m{"id": "f1", "do": "found", "step": 8, "channel": "bar-d5", "there": false})
	_, state, _ := sendTap(t, a, job, m{"id": "f2", "do": "found", "step": 4, "channel": "bar-e5", "there": true})
	if len(state.Found) != 2 || len(state.Read) != 10 {
		t.Errorf("%+v", state)
	}
	a.Post(t, job+"/stop", nil)
	status, page = a.Get(t, job)
	webtest.Expect(t, status, page, 200, "On 10 of 256 steps, 3 of 5 pins were right the first time, 60 %.", "10 of 256 steps were read: 1 missing, 1 extra.",
		"Extra: step 4, bar 1 beat 2, row 9, Bar E5", "Missing: step 8, bar 1 beat 3, row 7, Bar D5", "Correct these pins now")
	status, right := a.Post(t, job+"/right", nil)
	if status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, webtest.Said(right))
	}
	_, state, _ = sendTap(t, a, right, m{"id": "p1", "do": "done", "step": 4, "channels": []string{"bar-e5"}})
	if state.Left != 1 {
		t.Errorf("%+v", state)
	}
	_, state, _ = sendTap(t, a, right, m{"id": "p2", "do": "done", "step": 8, "channels": []string{"bar-d5"}})
	if state.Ended != "finished" {
		t.Errorf("%+v", state)
	}
	status, page = a.Get(t, "/machines/1/wheel")
	webtest.Expect(t, status, page, 200, "Old Round 4 pins are on the wheel. Unchanged since")
	status, page = a.Get(t, job) // the result stays
	webtest.Expect(t, status, page, 200, "3 of 5 pins were right the first time, 60 %.")
}
