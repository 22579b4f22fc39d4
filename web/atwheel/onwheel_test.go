package atwheel_test

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"pinwright/web"
	"pinwright/web/page"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/file"
)

func TestWheelThatIsNotKnownAsksWhatIsOnIt(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	status, page := a.Get(t, "/machines/1/wheel")
	webtest.Expect(t, status, page, 200, "Nobody has said yet what is on the wheel", "no pins at all", "Old Round (4 pins)")
	status, page = a.Get(t, fmt.Sprintf("/machines/1/changeover?to=%d", a.New))
	webtest.Expect(t, status, page, 200, "What is on the wheel now? Nobody has said yet what is on the wheel of Hailstone. The pulls and drives to New Round depend on it.", "no pins at all", "Old Round (4 pins)")
	status, page = a.Get(t, fmt.Sprintf("/machines/1/changeover.pdf?to=%d", a.New))
	webtest.Expect(t, status, page, 409, "Nobody has said yet what is on the wheel of Hailstone; say that first.")
	a.SayOnWheel(t, a.Old)
	status, page = a.Get(t, "/machines/1/wheel?tempo=60")
	webtest.Expect(t, status, page, 200, "Old Round 4 pins are on the wheel. Unchanged since", "trusted at 60 BPM", "Start proofreading", "Said to be on the wheel: Old Round")
	status, page = a.Get(t, "/machines/1/wheel?tempo=fast")
	webtest.Expect(t, status, page, 200, `The tempo is "fast"; it should be a number`)
	status, page = a.Post(t, "/machines/1/wheel", url.Values{"pinning": {"a dozen"}})
	webtest.Expect(t, status, page, 422, "Say what is on the wheel")
	status, page = a.Post(t, "/machines/1/wheel", url.Values{"pinning": {"99"}})
	webtest.Expect(t, status, page, 404, "there is no pinning 99")
}

// Whoever is asked on the way what is on the wheel goes on to the changeover as
// it was asked for.
func TestFirstChangeoverGoesOnOnceItIsSaidWhatIsOnTheWheel(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	asked := fmt.Sprintf("rotate=on&start=8&to=%d", a.New)
	_, page := a.Get(t, "/machines/1/changeover?"+asked)
	field := regexp.MustCompile(`name="changeover" value="([^"]*)"`).FindStringSubmatch(page)
	if field == nil {
		t.Fatal("the question does not know of the changeover")
	}
	status, to := a.Post(t, "/machines/1/wheel", url.Values{"pinning": {"nothing"}, "changeover": {html.UnescapeString(field[1])}})
	if want := "/machines/1/changeover?" + asked; status != http.StatusSeeOther || to != want {
		t.Fatalf("%d: %s, want %s", status, webtest.Said(to), want)
	}
	status, page = a.Get(t, to)
	webtest.Expect(t, status, page, 200, "Pulls 0 Drives 4 Pins that stay 0")
	for _, bad := range []string{"//elsewhere.example/", "to=%zz", ";"} {
		_, to := a.Post(t, "/machines/1/wheel", url.Values{"pinning": {"nothing"}, "changeover": {bad}})
		if strings.Contains(to, "elsewhere.example") && !strings.HasPrefix(to, "/machines/1/changeover?") {
			t.Errorf("%q leads to %s", bad, to)
		}
	}
}

// The wheel is changed to something else than it carries.
func TestChangeoverIsOfferedToAnotherPinning(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	third := a.AddPinning(t, "Another", 60, wheel.Pin{Channel: "bar-c5", Step: 0})
	chosen := func(path string, want int64) {
		t.Helper()
		_, page := a.Get(t, path)
		field := regexp.MustCompile(`(?s)<select id="field-to".*?</select>`).FindString(page)
		if got := regexp.MustCompile(`value="(\d+)" selected`).FindStringSubmatch(field); got == nil || got[1] != fmt.Sprint(want) {
			t.Errorf("%s offers %v, want %d", path, got, want)
		}
	}
	a.SayOnWheel(t, a.Old)
	chosen("/machines/1/wheel", third) // the first by title
	a.SayOnWheel(t, third)
	chosen("/machines/1/wheel", a.New)
	a.SayOnWheel(t, 0)
	chosen("/machines/1/wheel", third)
	a.SayOnWheel(t, a.New)
	status, job := a.Post(t, "/machines/1/changeover", url.Values{"to": {fmt.Sprint(a.Old)}, "revision": {"1"}, "seq": {"4"}, "edits": {"0"}})
	if status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, webtest.Said(job))
	}
	a.Post(t, job+"/stop", nil)
	chosen("/machines/1/wheel", a.Old) // it was being changed to that
	chosen("/machines/1/changeover", a.Old)
	chosen(fmt.Sprintf("/machines/1/changeover?to=%d", third), third)
}

func TestPinningsOfOneNameAreToldApart(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	faster := a.AddPinning(t, "Old Round", 90, wheel.Pin{Channel: "bar-c5", Step: 0})
	when := page.Moment(time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC))
	status, page := a.Get(t, "/machines/1/wheel")
	webtest.Expect(t, status, page, 200, "New Round (4 pins)",
		fmt.Sprintf("Old Round (60 BPM, 4 pins, changed %s, number %d)", when, a.Old),
		fmt.Sprintf("Old Round (90 BPM, 1 pin, changed %s, number %d)", when, faster))
	status, page = a.Get(t, "/pinnings")
	webtest.Expect(t, status, page, 200, fmt.Sprintf("Old Round changed %s, number %d 90", when, faster), "New Round 60")
	status, page = a.Get(t, "/")
	webtest.Expect(t, status, page, 200, fmt.Sprintf("at 60 BPM changed %s, number %d", when, a.Old), fmt.Sprintf("at 90 BPM changed %s, number %d", when, faster))
}

// A machine file that would take rows or steps away from under the pins on the
// wheel is refused, and no pin is forgotten.
func TestMachineIsNotReplacedFromUnderItsWheel(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	ctx := context.Background()
	a.SayOnWheel(t, a.Old)
	job := a.BeginChangeover(t)
	for _, id := range []int64{a.Old, a.New} {
		if err := a.Store.RemovePinning(ctx, id); err != nil {
			t.Fatal(err)
		}
	}
	m := demo.Machine()
	m.Channels[m.Channel("bar-d5")].ID = "bar-d5-new"
	var text bytes.Buffer
	if _, err := file.Machine(m).WriteTo(&text); err != nil {
		t.Fatal(err)
	}
	status, page := a.Bring(t, "/machines/1/file?revision=1", "m.json", text.Bytes())
	webtest.Expect(t, status, page, 409, "work on the wheel of Hailstone is under way")
	if status, to := a.Post(t, job+"/stop", nil); status != http.StatusSeeOther {
		t.Errorf("stop: %d %s", status, to)
	}
	status, page = a.Bring(t, "/machines/1/file?revision=1", "m.json", text.Bytes())
	webtest.Expect(t, status, page, 409, "Bar D5 has pins on the wheel of Hailstone (1)")
	if on, err := a.Store.OnWheel(ctx, 1); err != nil || len(on.File.Pins) != 4 {
		t.Errorf("on the wheel: %+v, %v", on, err)
	}
	a.SayOnWheel(t, 0)
	if status, to := a.Bring(t, "/machines/1/file?revision=1", "m.json", text.Bytes()); status != http.StatusSeeOther {
		t.Errorf("a bare wheel takes any machine: %d %s", status, to)
	}
	status, page = a.Get(t, "/machines/1/wheel")
	webtest.Expect(t, status, page, 200, "No pins 0 pins are on the wheel.")
}

func TestTroubleStandsOnTheMachinesPageUntilItIsMended(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	job := a.BeginChangeover(t)
	type m = map[string]any
	sendTap(t, a, job, m{"id": "x1", "do": "trouble", "step": 8, "channel": "bar-d5", "trouble": "split hole", "note": "<b>glue</b> it"})
	status, page := a.Get(t, "/machines/1")
	webtest.Expect(t, status, page, 200, "Split hole : Row 7, Bar D5, step 8, bar 1 beat 3 . <b>glue</b> it", "Mark as fixed", "On the wheel")
	if status, to := a.Post(t, "/machines/1/troubles/1/mended", nil); status != http.StatusSeeOther {
		t.Errorf("%d: %s", status, to)
	}
	_, page = a.Get(t, "/machines/1")
	if strings.Contains(page, "/mended") {
		t.Error("it is still to be mended")
	}
	status, page = a.Post(t, "/machines/1/troubles/7/mended", nil)
	webtest.Expect(t, status, page, 404, "there is no such trouble")
}
