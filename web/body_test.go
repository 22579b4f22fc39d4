package web

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/go-chi/chi/v5"

	"pinwright/web/webtest"
)

// brokenOff is a body whose sender went away.
func brokenOff(text string) io.Reader {
	return io.MultiReader(strings.NewReader(text), errReader{})
}

type errReader struct{}

func (errReader) Read([]byte) (int, error) { return 0, io.ErrUnexpectedEOF }

func TestABrokenBodyIsRefusedAtEveryAddress(t *testing.T) {
	a := webtest.StartWheel(t, New)
	a.SayOnWheel(t, a.Old)
	job := a.BeginChangeover(t)
	pages := newServer(Options{Store: a.Store, Now: time.Now}).pages()
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
				t.Errorf("%s, %s: %d, want %d: %.200s", path, c.name, w.Code, want, webtest.Said(w.Body.String()))
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
