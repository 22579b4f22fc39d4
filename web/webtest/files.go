package webtest

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"testing"

	"pinwright/web/page"
	"pinwright/wheel/song"
)

// File is a file for a form to bring.
func File(name string, data []byte) page.Upload { return page.Upload{Name: name, Data: data} }

// BringAll sends several files in one form from a page of the app.
func (a *App) BringAll(t testing.TB, path string, files ...page.Upload) (int, string) {
	t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for _, f := range files {
		part, err := form.CreateFormFile("file", f.Name)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = part.Write(f.Data)
	}
	_ = form.Close()
	r := httptest.NewRequest("POST", a.URL+path, &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	r.Header.Set("Origin", a.URL)
	return a.Send(t, r)
}

// RefusesFile holds in a subtest that a file, brought as the-file, is refused
// with a status and in words, and that no more is kept than before.
func (a *App) RefusesFile(t *testing.T, name, path string, data []byte, want int, words ...string) {
	t.Helper()
	before := a.Kept(t)
	t.Run(name, func(t *testing.T) {
		t.Helper()
		status, page := a.Bring(t, path, "the-file", data)
		Expect(t, status, page, want, words...)
		if after := a.Kept(t); after != before {
			t.Errorf("kept %v, was %v", after, before)
		}
	})
}

// Note is a note of half a quarter on a MIDI channel, so many quarters after
// the start, in the ticks of AddSong.
func Note(channel uint8, quarter int64, key uint8) song.Note {
	return song.Note{Tick: 96 * quarter, Ticks: 48, Key: key, Velocity: 80, Channel: channel}
}

// AddSong brings a song of those notes, 96 ticks to the quarter, and returns the
// path of its page.
func (a *App) AddSong(t testing.TB, title string, endTick int64, notes ...song.Note) string {
	t.Helper()
	tracks := 1
	for _, n := range notes {
		tracks = max(tracks, n.Track+1)
	}
	s := &song.Song{TicksPerQuarter: 96, EndTick: endTick, Notes: notes, Tracks: make([]song.Track, tracks)}
	s.Tracks[0].Name = title
	var b bytes.Buffer
	if err := song.Write(&b, s); err != nil {
		t.Fatal(err)
	}
	status, to := a.Bring(t, "/songs", title+".mid", b.Bytes())
	if status != http.StatusSeeOther {
		t.Fatalf("%d: %.300s", status, Said(to))
	}
	return to
}
