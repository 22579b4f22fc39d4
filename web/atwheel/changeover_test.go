package atwheel_test

import (
	"context"
	"encoding/csv"
	"fmt"
	"net/url"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/history"
)

// The counts are worked by hand above.
func TestChangeoverSaysWhatItComesTo(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	status, page := a.Get(t, fmt.Sprintf("/machines/1/changeover?to=%d&start=5", a.New))
	webtest.Expect(t, status, page, 200, "Pulls 3 Drives 3 Pins that stay 1", "4 needed of 1500: 1496 left over", "Time not known", "trusted at 60 BPM", "Lock the wheel",
		"bar 1 beat 3 8 5, 7 9 bar 1 beat 4 12 9 bar 1 beat 2 4 5 9")
	status, page = a.Get(t, fmt.Sprintf("/machines/1/changeover?to=%d&rotate=on&exchange=on", a.New))
	webtest.Expect(t, status, page, 200, "Saved by the options")
	status, file := a.Get(t, fmt.Sprintf("/machines/1/changeover.csv?to=%d", a.New))
	rows, err := csv.NewReader(strings.NewReader(file)).ReadAll()
	if err != nil || status != 200 || len(rows) != 7 {
		t.Errorf("%d: %d rows, %v; want 6 and their heads", status, len(rows), err)
	}
	status, file = a.Get(t, fmt.Sprintf("/machines/1/changeover.pdf?to=%d", a.New))
	if status != 200 || !strings.HasPrefix(file, "%PDF-") {
		t.Errorf("%d: %.40q", status, file)
	}
	for query, says := range map[string]string{
		"to=":                                 "Choose the pinning",
		"to=9999":                             "there is no pinning 9999",
		fmt.Sprintf("to=%d&start=x", a.New):   `The start is step "x"`,
		fmt.Sprintf("to=%d&start=-1", a.New):  "The start is step −1; the wheel of Hailstone has steps 0 to 255.",
		fmt.Sprintf("to=%d&start=256", a.New): "The start is step 256; the wheel of Hailstone has steps 0 to 255.",
	} {
		status, page := a.Get(t, "/machines/1/changeover?"+query)
		if status < 400 || !strings.Contains(webtest.Said(page), says) {
			t.Errorf("%s: %d: %.300s", query, status, webtest.Said(page))
		}
	}
}

func TestChangeoverOfAMachineWithoutStockSaysSo(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	m := demo.Machine()
	m.Wheel.PinStock = 0
	if err := a.Store.ReplaceMachine(context.Background(), 1, 1, m); err != nil {
		t.Fatal(err)
	}
	a.SayOnWheel(t, 0)
	status, page := a.Get(t, fmt.Sprintf("/machines/1/changeover?to=%d", a.New))
	webtest.Expect(t, status, page, 200, "Pulls 0 Drives 4", "4 needed the machine's file does not say how many there are")
}

func TestPinningOfAnotherMachineIsNoChangeover(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	other := demo.Machine()
	other.Name = "Graupel"
	if _, err := a.Store.AddMachine(context.Background(), other); err != nil {
		t.Fatal(err)
	}
	if err := a.Store.SayOnWheel(context.Background(), 2, 0); err != nil {
		t.Fatal(err)
	}
	status, page := a.Get(t, fmt.Sprintf("/machines/2/changeover?to=%d", a.New))
	webtest.Expect(t, status, page, 409, "The pinning New Round is of another machine; a changeover stays on one wheel.")
	job := a.BeginChangeover(t)
	if status, _ := a.Get(t, strings.Replace(job, "/machines/1/", "/machines/2/", 1)); status != 404 {
		t.Errorf("the work of one machine under another's address: %d", status)
	}
}

func TestChangeoverBegunFromAnOldPageIsRefused(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	form := url.Values{"to": {fmt.Sprint(a.New)}, "revision": {"1"}, "seq": {"1"}, "edits": {"0"}}
	if _, err := a.Store.Edit(context.Background(), a.New, history.NewEdit{ID: "e", Kind: "drive", Words: "drive a pin", Changes: []wheel.PinChange{wheel.Drive(wheel.Pin{Channel: "bar-c5", Step: 99})}}); err != nil {
		t.Fatal(err)
	}
	status, page := a.Post(t, "/machines/1/changeover", form)
	webtest.Expect(t, status, page, 409, "New Round was edited meanwhile")
	form.Set("edits", "1")
	form.Set("revision", "7")
	status, page = a.Post(t, "/machines/1/changeover", form)
	webtest.Expect(t, status, page, 409, "Hailstone was changed by someone else meanwhile")
	form.Del("seq")
	status, page = a.Post(t, "/machines/1/changeover", form)
	webtest.Expect(t, status, page, 422, "does not say what it was worked out from")
}
