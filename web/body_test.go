package web

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/go-chi/chi/v5"

	"pinwright/web/desk"
	"pinwright/web/page"
	"pinwright/wheel"
)

// brokenOff is a body whose sender went away.
func brokenOff(text string) io.Reader {
	return io.MultiReader(strings.NewReader(text), errReader{})
}

type errReader struct{}

func (errReader) Read([]byte) (int, error) { return 0, io.ErrUnexpectedEOF }

func TestABrokenBodyIsRefusedAtEveryAddress(t *testing.T) {
	b := newWheelBench(t)
	b.say(t, b.old)
	job := b.begin(t)
	pages := newServer(Options{Store: b.store, Now: time.Now}).pages()
	bodies := []struct {
		name, kind string
		body       func() io.Reader
	}{
		{"a form with an escape that is none", "application/x-www-form-urlencoded", func() io.Reader { return strings.NewReader("title=%zz&pinning=1") }},
		{"a form that breaks off", "application/x-www-form-urlencoded", func() io.Reader { return brokenOff("title=a") }},
		{"parts that break off", "multipart/form-data; boundary=x", func() io.Reader {
			return brokenOff("--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a.json\"\r\n\r\n{")
		}},
		{"parts without an end", "multipart/form-data; boundary=x", func() io.Reader {
			return strings.NewReader("--x\r\nContent-Disposition: form-data; name=\"title\"\r\n\r\na")
		}},
	}
	seen := 0
	err := chi.Walk(pages, func(method, route string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if method != http.MethodPost || route == "/static/*" { // files, which are read only
			return nil
		}
		seen++
		path := strings.NewReplacer("/machines/{id}/jobs/{job}", job, "{id}", "1", "{machine}", "1", "{trouble}", "1").Replace(route)
		if path == "/machines/1/file" {
			path += "?revision=1"
		}
		for _, c := range bodies {
			want := http.StatusBadRequest
			if path == "/crank" && strings.Contains(c.name, "that is none") || path == "/crank" && strings.Contains(c.name, "without an end") {
				// It came whole, and a sensor may send any text.
				want = http.StatusUnprocessableEntity
			}
			r := httptest.NewRequest(method, "http://localhost"+path, c.body())
			r.Header.Set("Content-Type", c.kind)
			w := httptest.NewRecorder()
			pages.ServeHTTP(w, r)
			if w.Code != want {
				t.Errorf("%s, %s: %d, want %d: %.200s", path, c.name, w.Code, want, said(w.Body.String()))
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen < 30 {
		t.Errorf("only %d addresses take a POST", seen)
	}
}

// ofGo is what only a Go programmer would say.
var ofGo = regexp.MustCompile(`(?i)\bGo (value|struct)|\bstruct\b|json:|unmarshal|\bu?int(8|16|32|64)?\b|float64|map\[|\[\]|Request|tapSent|PinChange|crankTold`)

// wrongTyped is an object of each of a struct's fields with a value of a kind
// that it does not take.
func wrongTyped(t *testing.T, of any) map[string]string {
	t.Helper()
	messages := map[string]string{"": "[1]"}
	for _, f := range reflect.VisibleFields(reflect.TypeOf(of)) {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		value := `{"x": [1]}`
		if f.Type.Kind() == reflect.Map || f.Type.Kind() == reflect.Struct {
			value = `"x"`
		}
		messages[name] = `{"` + name + `": ` + value + `}`
	}
	if len(messages) < 3 {
		t.Fatal("no fields")
	}
	return messages
}

func TestAMessageOfTheWrongKindIsRefusedInPlainWords(t *testing.T) {
	b := newWheelBench(t)
	b.say(t, b.old)
	job := b.begin(t)
	plain := func(name, says string) {
		t.Helper()
		if says == "" || ofGo.MatchString(says) {
			t.Errorf("%s: it says %q", name, says)
		}
	}
	post := func(path, message string) (int, string) {
		r := httptest.NewRequest("POST", b.URL+path, strings.NewReader(message))
		r.Header.Set("Content-Type", "application/json")
		return b.send(t, r)
	}
	for name, message := range wrongTyped(t, tapSent{}) {
		status, says := post(job+"/taps", message)
		if plain("taps, "+name, says); status != http.StatusBadRequest || !strings.Contains(says, name) {
			t.Errorf("taps, %s: %d %s", name, status, says)
		}
	}
	for name, message := range wrongTyped(t, crankTold{}) {
		status, says := post("/crank", message)
		if plain("crank, "+name, says); status != http.StatusUnprocessableEntity {
			t.Errorf("crank, %s: %d %s", name, status, says)
		}
	}
	page := b.talk(t, b.old)
	for name, message := range wrongTyped(t, desk.Request{}) {
		page.say("%s", message)
		says := page.refusal()
		if plain("live, "+name, says); !strings.Contains(says, name) {
			t.Errorf("live, %s: %s", name, says)
		}
	}
	// A pin of an edit, deep inside the message.
	page.say(`{"do": "edit", "id": "e", "changes": [{"channel": 7}]}`)
	plain("live, a channel", page.refusal())
	page.say(`{"do": "edit", "id": "e", "changes": [{"channel": "bar-c5", "step": 1, "now": {"pin": "yes"}}]}`)
	plain("live, a hole", page.refusal())
}

// refusal is what the program says of the message that it has just refused.
func (k *talk) refusal() string {
	k.t.Helper()
	_, text, err := k.conn.Read(k.t.Context())
	if err != nil {
		k.t.Fatal(err)
	}
	var h heard
	if err := json.Unmarshal(text, &h); err != nil || h.Is != "refused" {
		k.t.Fatalf("%s (%v)", text, err)
	}
	return h.Why
}

func TestWhatIsTooLargeIsNotCalledBroken(t *testing.T) {
	if err := page.Broken(&http.MaxBytesError{Limit: 1}); errors.Is(err, wheel.ErrMalformed) {
		t.Error(err)
	}
}
