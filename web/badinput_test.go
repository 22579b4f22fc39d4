package web

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"mime"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"unicode/utf8"

	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/file"
)

func TestARequestWithoutAFileIsAskedForOne(t *testing.T) {
	a := webtest.StartDemo(t, New)
	before := a.Kept(t)
	for _, path := range []string{"/songs", "/pinnings", "/machines"} {
		status, page := a.Post(t, path, nil)
		webtest.Expect(t, status, page, 400, "A file was expected here; choose one and send it again.")
		status, page = a.BringAll(t, path)
		webtest.Expect(t, status, page, 400, "No file was chosen; choose one and send it again.")
		status, page = a.Bring(t, path, "", []byte("x"))
		webtest.Expect(t, status, page, 400, "No file was chosen")
		r := httptest.NewRequest("POST", a.URL+path, strings.NewReader("--cut\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a.mid\"\r\n\r\nMThd"))
		r.Header.Set("Content-Type", "multipart/form-data; boundary=cut")
		status, page = a.Send(t, r)
		webtest.Expect(t, status, page, 400, "did not arrive whole; send it again.")
	}
	if got := a.Kept(t); got != before {
		t.Errorf("kept %v, was %v", got, before)
	}
}

func TestWhatIsNotThereIsNotFound(t *testing.T) {
	a := webtest.StartDemo(t, New)
	wheelPage := a.SetSong(t, "Nine Knocks", nil)
	before := a.Kept(t)
	for _, id := range []string{"0", "-1", "77", "9223372036854775807", "9223372036854775808", "abc", "1.0", "%3Cscript%3E", "%00", "0x1", "+1"} {
		for _, path := range []string{"/songs/%s", "/songs/%s/file", "/songs/%s/strikes", "/pinnings/%s", "/pinnings/%s/verdict", "/pinnings/%s/wheel.json", "/pinnings/%s/file", "/machines/%s", "/machines/%s/file"} {
			status, page := a.Get(t, fmt.Sprintf(path, id))
			webtest.Expect(t, status, page, 404)
		}
		for _, path := range []string{"/songs/%s/pinnings", "/songs/%s/remove", "/pinnings/%s/remove", "/machines/%s/choose", "/machines/%s/remove"} {
			status, page := a.Post(t, fmt.Sprintf(path, id), nil)
			webtest.Expect(t, status, page, 404)
		}
	}
	for _, path := range []string{"/nowhere", "/songs/", "/songs/1/", "//songs", "/songs/1/nowhere", "/%2e%2e/etc", "/static/", "/static/nowhere.css"} {
		if status, page := a.Get(t, path); status != 404 {
			t.Errorf("%s: %d %.100s", path, status, page)
		}
	}
	if got := a.Kept(t); got != before {
		t.Errorf("kept %v, was %v", got, before)
	}
	status, page := a.Get(t, "/songs/77")
	webtest.Expect(t, status, page, 404, "song", "Back to Songs")
	if status, _ := a.Get(t, wheelPage); status != 200 {
		t.Errorf("what is there: %d", status)
	}
}

// RFC 9110: 9.3.2, HEAD answers as GET without the content; 15.5.6, a 405
// names what is allowed.
func TestMethodsThatAnAddressDoesNotTakeAreNamed(t *testing.T) {
	a := webtest.StartDemo(t, New)
	for _, c := range []struct {
		method, path string
		want         int
		allow        string
	}{
		{"HEAD", "/", 200, ""}, {"HEAD", "/songs/1", 200, ""}, {"HEAD", "/songs/1/file", 200, ""}, {"HEAD", "/songs/99", 404, ""},
		{"POST", "/", 405, "GET, HEAD"}, {"PUT", "/songs", 405, "GET, HEAD, POST"}, {"DELETE", "/songs/1", 405, "GET, HEAD"},
		{"GET", "/songs/1/remove", 405, "POST"}, {"HEAD", "/songs/1/remove", 405, "POST"}, {"PATCH", "/machines/1/choose", 405, "POST"},
	} {
		r := httptest.NewRequest(c.method, a.URL+c.path, nil)
		r.RequestURI = ""
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		body, _ := io.ReadAll(answer.Body)
		answer.Body.Close()
		if answer.StatusCode != c.want || answer.Header.Get("Allow") != c.allow {
			t.Errorf("%s %s: %d, Allow %q; want %d, %q", c.method, c.path, answer.StatusCode, answer.Header.Get("Allow"), c.want, c.allow)
		}
		if c.want == 405 && c.method != "HEAD" && !strings.Contains(webtest.Said(string(body)), "does not take a "+c.method+" request; it takes "+c.allow) {
			t.Errorf("%s %s says %.200s", c.method, c.path, webtest.Said(string(body)))
		}
	}
}

func TestWhatIsGoneCannotBeRemovedAgain(t *testing.T) {
	a := webtest.StartDemo(t, New)
	pinning := a.SetSong(t, "Nine Knocks", nil)
	song := fmt.Sprintf("/songs/%d", a.SongID(t, "Nine Knocks"))

	status, page := a.Post(t, "/machines/1/remove", nil)
	webtest.Expect(t, status, page, 409, "Hailstone", "pinning")
	if got := a.Kept(t); got != [3]int{1, 3, 1} {
		t.Fatalf("kept %v", got)
	}
	if status, page := a.Post(t, song+"/remove", nil); status != 303 {
		t.Fatalf("%d: %s", status, page)
	}
	status, page = a.Post(t, song+"/remove", nil)
	webtest.Expect(t, status, page, 404, "song")
	status, page = a.Get(t, pinning)
	webtest.Expect(t, status, page, 200, "Nine Knocks", "26 pins")
	if strings.Contains(page, "set from") {
		t.Error("the pinning's page leads to a song that is gone")
	}
	for _, want := range []int{303, 404} {
		if status, _ := a.Post(t, pinning+"/remove", nil); status != want {
			t.Errorf("removing the pinning: %d, want %d", status, want)
		}
	}
	for _, want := range []int{303, 404} {
		if status, _ := a.Post(t, "/machines/1/remove", nil); status != want {
			t.Errorf("removing the machine: %d, want %d", status, want)
		}
	}
	for _, path := range []string{"/", "/songs", "/pinnings", "/machines", fmt.Sprintf("/songs/%d", a.SongID(t, "Mill Race"))} {
		status, page := a.Get(t, path)
		webtest.Expect(t, status, page, 200)
	}
	status, page = a.Post(t, fmt.Sprintf("/songs/%d/pinnings", a.SongID(t, "Mill Race")), nil)
	webtest.Expect(t, status, page, 409, "bring a machine file first")
	status, page = a.Bring(t, "/pinnings", "trial.json", webtest.PinningFile(t, &wheel.Pinning{Title: "Trial"}))
	webtest.Expect(t, status, page, 409, "bring its machine file first")
}

// A name to save under is one part of a path, of ordinary length, whatever
// the title; RFC 6266 says how it travels.
func TestFilesTakenAwayAreWhatIsKept(t *testing.T) {
	for _, c := range []struct{ title, want string }{
		{"Mill Race", "Mill-Race"},
		{`"quoted" 'name'`, "quoted-name"},
		{"../../etc/passwd", "etc-passwd"},
		{`a\b:c*d?e|f`, "a-b-c-d-e-f"},
		{"Frère Jacques 🎶", "Frère-Jacques"},
		{"🎶🎶", "pinwright"},
		{"<script>alert(1)</script>", "script-alert-1-script"},
		{"שיר גשם", "שיר-גשם"},
		{strings.Repeat("ö", 200), strings.Repeat("ö", 50)},
	} {
		t.Run(c.title[:min(8, len(c.title))], func(t *testing.T) {
			a := webtest.Start(t, New)
			m := demo.Machine()
			m.Name = c.title
			var b bytes.Buffer
			_, _ = file.Machine(m).WriteTo(&b)
			if status, page := a.Bring(t, "/machines", "m.json", b.Bytes()); status != 303 {
				t.Fatalf("machine: %d %s", status, webtest.Said(page))
			}
			pinning := webtest.PinningFile(t, &wheel.Pinning{Title: c.title, Machine: c.title, TempoBPM: 80, Pins: []wheel.Pin{{Channel: "bar-c5", Step: 3}}})
			if status, page := a.Bring(t, "/pinnings", "p.json", pinning); status != 303 {
				t.Fatalf("pinning: %d %s", status, webtest.Said(page))
			}
			midi := webtest.MIDIFile(0, c.title)
			if status, page := a.Bring(t, "/songs", "song.MIDI", midi); status != 303 {
				t.Fatalf("song: %d %s", status, webtest.Said(page))
			}
			for path, f := range map[string]struct {
				mediaType, name string
				data            []byte
			}{
				"/machines/1/file": {"application/json", c.want + ".machine.json", b.Bytes()},
				"/pinnings/1/file": {"application/json", c.want + ".pinning.json", pinning},
				"/songs/1/file":    {"audio/midi", "song.mid", midi},
			} {
				answer, err := http.Get(a.URL + path)
				if err != nil {
					t.Fatal(err)
				}
				data, _ := io.ReadAll(answer.Body)
				answer.Body.Close()
				if !bytes.Equal(data, f.data) {
					t.Errorf("%s: %d bytes, brought %d", path, len(data), len(f.data))
				}
				if got := answer.Header.Get("Content-Type"); got != f.mediaType {
					t.Errorf("%s: %s", path, got)
				}
				kind, with, err := mime.ParseMediaType(answer.Header.Get("Content-Disposition"))
				if err != nil || kind != "attachment" || with["filename"] != f.name || !utf8.ValidString(with["filename"]) {
					t.Errorf("%s: %s %q (%v), want %q", path, kind, with["filename"], err, f.name)
				}
			}
			for _, path := range []string{"/", "/songs", "/songs/1", "/pinnings", "/pinnings/1", "/machines", "/machines/1"} {
				_, page := a.Get(t, path)
				if strings.Contains(page, "<script>") || !strings.Contains(page, html.EscapeString(c.title)) {
					t.Errorf("%s: the title does not stand as text", path)
				}
			}
		})
	}
}

// A figure that is none is the sender's mistake, not the program's: an address
// that takes the path of one says so.
func TestAFigureThatIsNoneIsRefusedInASentence(t *testing.T) {
	a := webtest.StartDemo(t, New)
	pinning := a.SetSong(t, "Nine Knocks", nil)
	for path, says := range map[string]string{
		"foo":                   "foo is no figure of the machine",
		"channels.bar-c5.gate":  "is no figure of the machine",
		"lanes.nowhere.keep":    "it has no lane nowhere",
		"wheel.steps_per_beats": "did you mean wheel.steps_per_beat?",
	} {
		form := url.Values{"path": {path}, "value": {"1"}, "revision": {"1"}, "reason": {"x"}}
		status, page := a.Post(t, pinning+"/timing/keep", form)
		webtest.Expect(t, status, page, http.StatusUnprocessableEntity, says)
	}
}
