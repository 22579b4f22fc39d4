package atwheel_test

import (
	"context"
	"fmt"
	"net/http"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

// What is tapped while the program is away is kept by the phone, even over a
// page that is closed, and sent once it is back.
func TestTapsOutliveAProgramThatIsAway(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	at := a.BeginChangeover(t)
	door := webtest.OpenDoor(t, a.App)
	job := door.URL(at)
	page := browser.Open(t, job, browsertest.Phone)
	page.WaitFor(t, webtest.JobShown)
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, webtest.StepShown(4))
	door.Shut()
	page.Click(t, "[data-done]")
	page.WaitFor(t, webtest.StepShown(8))
	page.Click(t, "[data-done]")
	page.WaitFor(t, webtest.StepShown(12))
	page.Click(t, "[data-back]")
	page.WaitFor(t, webtest.StepShown(8))
	page.WaitFor(t, `document.querySelector("[data-network]").textContent === "The program does not answer. 3 taps are kept on this phone and will be sent when it is back."`)
	page.Axe(t)
	page.Screenshot(t, "atwheel-away-phone")
	page.Troubles(t) // requests that found nobody
	on, err := a.Store.OnWheel(context.Background(), 1)
	if err != nil || len(on.File.Pins) != 4 {
		t.Fatalf("%+v, %v", on, err)
	}
	door.Open(t)
	page.Go(t, job)
	page.WaitFor(t, `document.querySelector("[data-network]").textContent === "Everything is kept."`)
	page.WaitFor(t, webtest.StepShown(8))
	page.Troubles(t)
	// Step 4 is done: a pull and a drive. Step 8 was taken back: nothing.
	w, err := a.Store.Work(context.Background(), on.UnderWay.ID)
	if err != nil || w.LastStep != 4 || len(w.On) != 4 {
		t.Errorf("%+v, %v", w, err)
	}
	status, _, _ := sendTap(t, a, at, map[string]any{"id": "late", "do": "done", "step": 8, "channels": []string{"bar-c5", "bar-d5", "bar-e5"}})
	if status != http.StatusOK {
		t.Errorf("%d", status)
	}
	page.WaitFor(t, webtest.StepShown(12)) // it follows the other
}

// What the browser would not keep is still there when another page of the phone
// taps, and is sent when the program is back.
func TestTapThatTheBrowserWouldNotKeepIsNotLost(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	a.SayOnWheel(t, a.Old)
	at := a.BeginChangeover(t)
	door := webtest.OpenDoor(t, a.App)
	page := browser.Open(t, door.URL(at), browsertest.Phone)
	page.WaitFor(t, webtest.JobShown)
	page.Click(t, `[data-way="forward"]`)
	page.WaitFor(t, webtest.StepShown(4))
	door.Shut()
	browsertest.Eval[bool](t, page, `(Storage.prototype.setItem = () => { throw new DOMException("full", "QuotaExceededError") }, true)`)
	page.Click(t, "[data-done]")
	page.WaitFor(t, webtest.StepShown(8))
	page.WaitFor(t, `document.querySelector("[data-network]").textContent === "The program does not answer. 1 tap waits here: leave this page open."`)
	browsertest.Eval[bool](t, page, fmt.Sprintf(`dispatchEvent(new StorageEvent("storage", { key: "pinwright tap %s other" }))`, at))
	if waiting := browsertest.Eval[string](t, page, `document.querySelector("[data-waiting]").dataset.waiting`); waiting != "1" {
		t.Errorf("%s taps wait, want 1", waiting)
	}
	page.WaitFor(t, webtest.StepShown(8))
	door.Open(t)
	page.WaitFor(t, `document.querySelector("[data-network]").textContent === "Everything is kept."`)
	page.Troubles(t) // requests that found nobody
	on, err := a.Store.OnWheel(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	if w, err := a.Store.Work(context.Background(), on.UnderWay.ID); err != nil || w.LastStep != 4 {
		t.Errorf("%+v, %v", w, err)
	}
}
