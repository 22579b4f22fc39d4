package webtest

import (
	"bytes"
	"context"
	"encoding/binary"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
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

// Kept is how much the app keeps: machines, songs, pinnings of all machines.
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

// SaveFile writes a file for a browser to upload, and returns its path.
func SaveFile(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// SMF is a Standard MIDI File of one track a song: chunks as in the SMF 1.0
// specification, a title, one note of a quarter, the end of the track.
func SMF(format uint16, titles ...string) []byte {
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
