package webtest

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"testing"

	"pinwright/web/page"
	"pinwright/wheel"
)

// Wheel is the demo with two pinnings, for work at the wheel: Old, to be on it,
// and New, to change it to.
//
// Old has bar-c5 at steps 0, 4 and 8 and bar-d5 at 8; New has bar-c5 at 0 and
// bar-e5 at 4, 8 and 12. So 3 pulls (c5 at 4 and 8, d5 at 8) and 3 drives are to
// be done, on steps 4, 8 and 12, and 1 pin stays.
type Wheel struct {
	*App
	Old, New int64
}

// StartWheel starts the app that build makes with a [Wheel] in it. Nobody has
// said yet what is on the wheel.
func StartWheel(t testing.TB, build func(page.Options) http.Handler) *Wheel {
	t.Helper()
	w := &Wheel{App: StartDemo(t, build)}
	pin := func(channel string, step int) wheel.Pin { return wheel.Pin{Channel: channel, Step: step} }
	w.Old = w.AddPinning(t, "Old Round", 60, pin("bar-c5", 0), pin("bar-c5", 4), pin("bar-c5", 8), pin("bar-d5", 8))
	w.New = w.AddPinning(t, "New Round", 60, pin("bar-c5", 0), pin("bar-e5", 4), pin("bar-e5", 8), pin("bar-e5", 12))
	return w
}

// AddPinning adds a pinning to the first machine and returns its id.
func (a *App) AddPinning(t testing.TB, title string, tempoBPM float64, pins ...wheel.Pin) int64 {
	t.Helper()
	id, err := a.Store.AddPinning(context.Background(), 1, 0, &wheel.Pinning{Format: wheel.PinningFormat, Title: title, TempoBPM: tempoBPM, Pins: pins})
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// SayOnWheel says which pinning is on the wheel; 0: no pins at all.
func (w *Wheel) SayOnWheel(t testing.TB, pinning int64) {
	t.Helper()
	on := "nothing"
	if pinning != 0 {
		on = fmt.Sprint(pinning)
	}
	if status, to := w.Post(t, "/machines/1/wheel", url.Values{"pinning": {on}}); status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
}

// BeginChangeover begins the changeover to New and returns the address of its
// page.
func (w *Wheel) BeginChangeover(t testing.TB) string {
	t.Helper()
	on, err := w.Store.OnWheel(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	status, to := w.Post(t, "/machines/1/changeover", url.Values{"to": {fmt.Sprint(w.New)}, "revision": {"1"}, "seq": {fmt.Sprint(on.Seq)}, "edits": {"0"}})
	if status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, Said(to))
	}
	return to
}

// SendTap sends a tap, as JSON, as the page of a job does.
func (w *Wheel) SendTap(t testing.TB, job string, tap any) (status int, answer string) {
	t.Helper()
	text, err := json.Marshal(tap)
	if err != nil {
		t.Fatal(err)
	}
	return w.SendJSON(t, job+"/taps", string(text))
}

// SendJSON sends a JSON text from a page of the app.
func (a *App) SendJSON(t testing.TB, path, text string) (int, string) {
	t.Helper()
	r := httptest.NewRequest("POST", a.URL+path, bytes.NewBufferString(text))
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Origin", a.URL)
	return a.Send(t, r)
}

// JobShown is the JavaScript condition that the page of a job shows what the app
// has, and that all its taps have arrived.
const JobShown = `document.querySelector("[data-ready]") && document.querySelector("[data-waiting]").dataset.waiting === "0"`

// StepShown is the JavaScript condition that the page of a job is at a step, and
// that the button of that step takes a touch.
func StepShown(step int) string {
	return fmt.Sprintf(`document.querySelector("[data-step]").textContent.endsWith("step %d") && document.querySelector("[data-armed]").dataset.armed === "yes"`, step)
}
