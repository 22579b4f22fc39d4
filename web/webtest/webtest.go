// Package webtest starts the whole app for the tests of an area of pages, and
// talks to it as a browser would. It does not know package web, whose tests use
// it too: they hand it the function that makes the app.
//
// The tests of an area stand in an external package, such as machines_test, so
// that they may import web, which imports the area.
package webtest

import (
	"bytes"
	"context"
	"encoding/binary"
	"html"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/file"
)

// App is the whole app on an address of its own.
type App struct {
	*httptest.Server
	Store *store.Store
	Log   *bytes.Buffer
	jar   http.CookieJar
}

// OtherBrowser is the same app as another browser sees it, with no cookies of
// this one.
func (a *App) OtherBrowser() *App {
	other := *a
	other.jar = newJar()
	return &other
}

func newJar() http.CookieJar {
	jar, _ := cookiejar.New(nil) // it never fails
	return jar
}

// Now is the time in an app under test.
func Now() time.Time { return time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC) }

// Start starts the app that build makes, with nothing in it.
func Start(t testing.TB, build func(page.Options) http.Handler) *App {
	t.Helper()
	st, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "kept.db"), Now)
	if err != nil {
		t.Fatal(err)
	}
	a := &App{Store: st, Log: &bytes.Buffer{}, jar: newJar()}
	a.Server = httptest.NewServer(build(page.Options{Store: st, Version: "test", Now: Now, Log: slog.New(slog.NewTextHandler(a.Log, nil))}))
	t.Cleanup(func() {
		a.Close()
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	return a
}

// StartDemo starts the app that build makes with the demo machine and songs in
// it, and no pinnings.
func StartDemo(t testing.TB, build func(page.Options) http.Handler) *App {
	t.Helper()
	a := Start(t, build)
	ctx := context.Background()
	id, err := a.Store.AddMachine(ctx, demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	if err := a.Store.SetCurrentMachine(ctx, id); err != nil {
		t.Fatal(err)
	}
	for _, s := range demo.Songs() {
		if _, err := a.Store.AddSongs(ctx, s.FileName, s.Bytes); err != nil {
			t.Fatal(err)
		}
	}
	return a
}

// SongID is the id of a song by its title.
func (a *App) SongID(t testing.TB, title string) int64 {
	t.Helper()
	songs, err := a.Store.Songs(context.Background())
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

// SetSong sets a song by its title, with what change says other than the page
// offers, and returns the address of the pinning.
func (a *App) SetSong(t testing.TB, title string, change url.Values) string {
	t.Helper()
	form := url.Values{"from_bar": {"1"}, "transpose": {"auto"}, "advance": {"on"}}
	for k, v := range change {
		form[k] = v
	}
	status, to := a.Post(t, "/songs/"+strconv.FormatInt(a.SongID(t, title), 10)+"/pinnings", form)
	if status != http.StatusSeeOther {
		t.Fatalf("%s: %d: %s", title, status, to)
	}
	return to
}

// Kept is how much is kept: machines, songs, pinnings of all machines.
func (a *App) Kept(t testing.TB) (n [3]int) {
	t.Helper()
	ctx := context.Background()
	machines, err := a.Store.Machines(ctx)
	if err != nil {
		t.Fatal(err)
	}
	songs, err := a.Store.Songs(ctx)
	if err != nil {
		t.Fatal(err)
	}
	n = [3]int{len(machines), len(songs), 0}
	for _, m := range machines {
		n[2] += m.Pinnings
	}
	return n
}

// Get reads a page as a browser would.
func (a *App) Get(t testing.TB, path string) (int, string) {
	t.Helper()
	return a.Send(t, httptest.NewRequest("GET", a.URL+path, nil))
}

// Part asks for the part of a page that a page which is open puts in place.
func (a *App) Part(t testing.TB, path string) (int, string) {
	t.Helper()
	r := httptest.NewRequest("GET", a.URL+path, nil)
	r.Header.Set("HX-Request", "true")
	return a.Send(t, r)
}

// Post sends a form from a page of the app.
func (a *App) Post(t testing.TB, path string, form url.Values) (int, string) {
	t.Helper()
	r := httptest.NewRequest("POST", a.URL+path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", a.URL)
	return a.Send(t, r)
}

// Bring sends a file from a page of the app.
func (a *App) Bring(t testing.TB, path, name string, data []byte) (int, string) {
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
	return a.Send(t, r)
}

// Send follows no redirect: the address it leads to stands for the page.
func (a *App) Send(t testing.TB, r *http.Request) (int, string) {
	t.Helper()
	r.RequestURI = ""
	client := &http.Client{Jar: a.jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
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

var aTag = regexp.MustCompile(`<[^>]*>`)

// Said is the text of a page in its main part, on one line.
func Said(page string) string {
	if _, main, ok := strings.Cut(page, "<main"); ok {
		page, _, _ = strings.Cut("<main"+main, "</main>")
	}
	return strings.Join(strings.Fields(html.UnescapeString(aTag.ReplaceAllString(page, " "))), " ")
}

// Expect holds an answer against a status and what it has to say.
func Expect(t testing.TB, status int, page string, want int, words ...string) {
	t.Helper()
	text := Said(page)
	if status != want {
		t.Errorf("status %d, want %d: %.300s", status, want, text)
	}
	for _, w := range words {
		if !strings.Contains(text, w) {
			t.Errorf("it does not say %q: %.500s", w, text)
		}
	}
	if strings.Contains(text, "inside the program") {
		t.Errorf("it blames itself: %.300s", text)
	}
}

// MachineFile is the demo machine's file, after change where there is one.
func MachineFile(t testing.TB, change func(*wheel.Machine)) []byte {
	t.Helper()
	m := demo.Machine()
	if change != nil {
		change(m)
	}
	var b bytes.Buffer
	if _, err := file.Machine(m).WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// PinningFile is a pinning's file.
func PinningFile(t testing.TB, p *wheel.Pinning) []byte {
	t.Helper()
	p.Format = wheel.PinningFormat
	var b bytes.Buffer
	if _, err := file.Pinning(p).WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// MIDIFile is a Standard MIDI File of one track a song: chunks as in the SMF 1.0
// specification, a title, one note of a quarter, the end of the track.
func MIDIFile(format uint16, titles ...string) []byte {
	b := []byte("MThd\x00\x00\x00\x06")
	b = binary.BigEndian.AppendUint16(b, format)
	b = binary.BigEndian.AppendUint16(b, uint16(len(titles)))
	b = binary.BigEndian.AppendUint16(b, 96)
	for i, title := range titles {
		track := append([]byte{0, 0xff, 0x03, byte(0x80 | len(title)>>7), byte(len(title) & 0x7f)}, title...)
		key := byte(72 + i)
		track = append(track, 0, 0x90, key, 64, 96, 0x80, key, 64, 0, 0xff, 0x2f, 0)
		b = append(b, "MTrk"...)
		b = binary.BigEndian.AppendUint32(b, uint32(len(track)))
		b = append(b, track...)
	}
	return b
}

// SaveFile writes a file for a browser to take, and returns its path.
func SaveFile(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
