package machines_test

import (
	"net/http"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
)

func TestMachinePageShowsTheDrawingOfTheMachineOrOfAChannel(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	status, whole := a.Get(t, "/machines/1")
	webtest.Expect(t, status, whole, 200, "28 channels, drawn in 10 groups", "are to scale")
	wantIn(t, whole, `aria-label="Hailstone, drawn from the side.`, `href="/machines/1?channel=tube-c3"`)
	if at := strings.Index(whole, "machine-drawing"); at < 0 || at > strings.Index(whole, "Steps round the wheel") {
		t.Error("the drawing is not the first thing of the page")
	}
	status, one := a.Get(t, "/machines/1?channel=tube-c3")
	webtest.Expect(t, status, one, 200, "Marked: Tube C3.", "Show the whole machine")
	wantIn(t, one, `aria-label="Tube C3 of Hailstone, drawn from the side.`)
	if status, body := a.Get(t, "/machines/1?channel=%3Cscript%3E"); status != http.StatusNotFound || strings.Contains(body, "<script>") {
		t.Errorf("a channel that is not there: %d %s", status, body)
	}
	// The content security policy forbids styles inside a page.
	if strings.Contains(whole, " style=") || strings.Contains(whole, "<style") {
		t.Error("there is an inline style")
	}
}

func wantIn(t *testing.T, page string, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(page, w) {
			t.Errorf("%s is not in the page", w)
		}
	}
}
