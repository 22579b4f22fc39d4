package pinnings_test

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// sendForm sends a multipart form of text fields from a page of the app.
func sendForm(t *testing.T, a *webtest.App, path string, fields map[string]string) (int, string) {
	t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for name, text := range fields {
		if err := form.WriteField(name, text); err != nil {
			t.Fatal(err)
		}
	}
	_ = form.Close()
	r := httptest.NewRequest("POST", a.URL+path, &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	r.Header.Set("Origin", a.URL)
	return a.Send(t, r)
}

func TestPinningOfAnotherMachineIsListedBeforeItIsKept(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	foreign := &wheel.Pinning{
		Title: "Trial <b>", Machine: "Graupel", TempoBPM: 90,
		Pins: []wheel.Pin{{Channel: "bar-c5", Step: 3}, {Channel: "bar-c5", Step: 300}, {Channel: "organ", Step: 4}},
	}
	status, page := a.Bring(t, "/pinnings", "trial.json", webtest.PinningFile(t, foreign))
	if status != http.StatusOK {
		t.Fatalf("%d: %s", status, page)
	}
	for _, want := range []string{"made for", "Graupel", "of 3 pins fit", "has no channel organ", "lies beyond step 255"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if rows, err := a.Store.Pinnings(context.Background(), 1); err != nil || len(rows) != 0 {
		t.Fatalf("kept before anyone agreed: %v, %v", rows, err)
	}
	// Kept as the page sends it.
	text := html.UnescapeString(regexp.MustCompile(`(?s)<textarea[^>]*>(.*)</textarea>`).FindStringSubmatch(page)[1])
	action := regexp.MustCompile(`action="(/machines/\d+/pinnings)"`).FindStringSubmatch(page)[1]
	status, to := sendForm(t, a, action, map[string]string{"pinning": text})
	if status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
	rows, err := a.Store.Pinnings(context.Background(), 1)
	if err != nil || len(rows) != 1 || rows[0].Pins != 1 || rows[0].Title != "Trial <b>" {
		t.Errorf("kept %+v, %v", rows, err)
	}
	for _, bad := range []map[string]string{{}, {"pinning": "no JSON"}, {"pinning": `{"format": "pinwright-pinning/1"}`}} {
		if status, page := sendForm(t, a, action, bad); status < 400 || status >= 500 {
			t.Errorf("%v: %d: %s", bad, status, page)
		}
	}
	if status, _ := sendForm(t, a, "/machines/99/pinnings", map[string]string{"pinning": text}); status != http.StatusNotFound {
		t.Errorf("a machine that is not there: %d", status)
	}
}

func TestPinningOfAnotherKeptMachineGoesByItsKeys(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	ctx := context.Background()
	other := demo.Machine()
	other.Name = "Graupel"
	for i := range other.Channels {
		other.Channels[i].ID = "g-" + other.Channels[i].ID
	}
	id, err := a.Store.AddMachine(ctx, other)
	if err != nil {
		t.Fatal(err)
	}
	kept := knocks(t, a)
	path := fmt.Sprintf("/pinnings/%d/onto/%d", kept, id)
	if status, page := a.Get(t, path); status != http.StatusOK || !strings.Contains(page, "by its key") || !strings.Contains(page, "26 pins fit") {
		t.Errorf("%d: %s", status, page)
	}
	status, to := sendForm(t, a, path, map[string]string{"ignored": ""})
	if status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
	rows, err := a.Store.Pinnings(ctx, id)
	if err != nil || len(rows) != 1 || rows[0].Pins != 26 {
		t.Errorf("kept %+v, %v", rows, err)
	}
	if _, page := a.Get(t, "/pinnings"); !strings.Contains(page, "Pinnings of other machines") {
		t.Error("the pinnings of other machines are not listed")
	}
}
