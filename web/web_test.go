package web

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pinwright/store"
	"pinwright/web/browsertest"
	"pinwright/wheel/demo"
	"pinwright/wheel/file"
)

func TestMain(m *testing.M) { os.Exit(browsertest.Main(m)) }

// app is the whole app on an address of its own, with nothing in it.
type app struct {
	*httptest.Server
	store *store.Store
	log   *bytes.Buffer
}

func newApp(t *testing.T) *app {
	t.Helper()
	now := func() time.Time { return time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC) }
	st, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "kept.db"), now)
	if err != nil {
		t.Fatal(err)
	}
	a := &app{store: st, log: &bytes.Buffer{}}
	a.Server = httptest.NewServer(New(Options{Store: st, Version: "test", Now: now, Log: slog.New(slog.NewTextHandler(a.log, nil))}))
	t.Cleanup(func() {
		a.Close()
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	return a
}

// newDemo is an app with the demo machine and songs in it, and no pinnings.
func newDemo(t *testing.T) *app {
	t.Helper()
	a := newApp(t)
	ctx := context.Background()
	id, err := a.store.AddMachine(ctx, demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	if err := a.store.SetCurrentMachine(ctx, id); err != nil {
		t.Fatal(err)
	}
	for _, s := range demo.Songs() {
		if _, err := a.store.AddSongs(ctx, s.FileName, s.Bytes); err != nil {
			t.Fatal(err)
		}
	}
	return a
}

// songID is the id of a song by its title.
func (a *app) songID(t *testing.T, title string) int64 {
	t.Helper()
	songs, err := a.store.Songs(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range songs {
		if s.Title == title {
			return s.ID
		}
	}
	t.Fatalf("no song %q", title)
	return 0
}

// get reads a page as a browser would.
func (a *app) get(t *testing.T, path string) (int, string) {
	t.Helper()
	return a.send(t, httptest.NewRequest("GET", a.URL+path, nil))
}

// post sends a form from a page of the app.
func (a *app) post(t *testing.T, path string, form url.Values) (int, string) {
	t.Helper()
	r := httptest.NewRequest("POST", a.URL+path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", a.URL)
	return a.send(t, r)
}

// bring sends a file from a page of the app.
func (a *app) bring(t *testing.T, path, name string, data []byte) (int, string) {
	t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("file", name)
	if err != nil {
		t.Fatal(err)
	}
	_, _ = part.Write(data)
	_ = form.Close()
	r := httptest.NewRequest("POST", a.URL+path, &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	r.Header.Set("Origin", a.URL)
	return a.send(t, r)
}

// send follows no redirect: the address it leads to stands for the page.
func (a *app) send(t *testing.T, r *http.Request) (int, string) {
	t.Helper()
	r.RequestURI = ""
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	if to := answer.Header.Get("Location"); to != "" {
		return answer.StatusCode, to
	}
	return answer.StatusCode, string(body)
}

// saved writes a file for a browser to take.
func saved(t *testing.T, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func machineFile(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	if _, err := file.Machine(demo.Machine()).WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
