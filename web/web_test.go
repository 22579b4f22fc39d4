package web

import (
	"bytes"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"testing"

	"pinwright/store"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel"
)

func TestMain(m *testing.M) { os.Exit(browsertest.Main(m)) }

// app is [webtest.App] with the words that the tests of this package use.
type app struct {
	*webtest.App
	store *store.Store
	log   *bytes.Buffer
}

func newApp(t *testing.T) *app  { t.Helper(); return appOf(webtest.Start(t, New)) }
func newDemo(t *testing.T) *app { t.Helper(); return appOf(webtest.StartDemo(t, New)) }

func appOf(a *webtest.App) *app { return &app{a, a.Store, a.Log} }

func (a *app) songID(t *testing.T, title string) int64 { t.Helper(); return a.SongID(t, title) }

func (a *app) get(t *testing.T, path string) (int, string) { t.Helper(); return a.Get(t, path) }

func (a *app) post(t *testing.T, path string, form url.Values) (int, string) {
	t.Helper()
	return a.Post(t, path, form)
}

func (a *app) bring(t *testing.T, path, name string, data []byte) (int, string) {
	t.Helper()
	return a.Bring(t, path, name, data)
}

func (a *app) send(t *testing.T, r *http.Request) (int, string) { t.Helper(); return a.Send(t, r) }

// saved writes a file for a browser to take.
func saved(t *testing.T, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func machineFile(t *testing.T) []byte { t.Helper(); return webtest.MachineFile(t, nil) }

func (a *app) kept(t *testing.T) [3]int { t.Helper(); return a.Kept(t) }

func said(page string) string { return webtest.Said(page) }

func expect(t *testing.T, status int, page string, want int, words ...string) {
	t.Helper()
	webtest.Expect(t, status, page, want, words...)
}

func pinningFile(t *testing.T, p *wheel.Pinning) []byte { t.Helper(); return webtest.PinningFile(t, p) }

func smf(format uint16, titles ...string) []byte { return webtest.MIDIFile(format, titles...) }
