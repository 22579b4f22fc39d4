package web

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"html"
	"io"
	"mime"
	"mime/multipart"
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
	"pinwright/wheel/song"
)

// sentFile is one file that a form brings.
type sentFile struct {
	name string
	data []byte
}

// bringAll sends several files in one form.
func (a *app) bringAll(t *testing.T, path string, files ...sentFile) (int, string) {
	t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for _, f := range files {
		part, err := form.CreateFormFile("file", f.name)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = part.Write(f.data)
	}
	_ = form.Close()
	r := httptest.NewRequest("POST", a.URL+path, &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	return a.send(t, r)
}

// kept is how much is kept: machines, songs, pinnings of all machines.
func (a *app) kept(t *testing.T) (n [3]int) {
	t.Helper()
	ctx := context.Background()
	machines, err := a.store.Machines(ctx)
	if err != nil {
		t.Fatal(err)
	}
	songs, err := a.store.Songs(ctx)
	if err != nil {
		t.Fatal(err)
	}
	n = [3]int{len(machines), len(songs), 0}
	for _, m := range machines {
		n[2] += m.Pinnings
	}
	return n
}

func said(page string) string { return webtest.Said(page) }

func expect(t *testing.T, status int, page string, want int, words ...string) {
	t.Helper()
	webtest.Expect(t, status, page, want, words...)
}

func pinningFile(t *testing.T, p *wheel.Pinning) []byte { t.Helper(); return webtest.PinningFile(t, p) }

// smf is a Standard MIDI File of one track a song: chunks as in the SMF 1.0
// specification, a title, one note of a quarter, the end of the track.
func smf(format uint16, titles ...string) []byte {
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

func TestFilesThatCannotBeKeptAreRefusedInWords(t *testing.T) {
	a := newDemo(t)
	a.keepPinning(t, "Nine Knocks", nil)
	before := a.kept(t)
	knocks, machine := demo.Songs()[2].Bytes, machineFile(t)
	on := func(pins ...wheel.Pin) []byte {
		return pinningFile(t, &wheel.Pinning{Title: "Trial", Machine: "Hailstone", TempoBPM: 80, Pins: pins})
	}
	for _, c := range []struct {
		name, path string
		file       []byte
		want       int
		says       []string
	}{
		{"MIDI file as a machine", "/machines", knocks, 422, []string{"the-file is a MIDI file; a machine file is JSON."}},
		{"pinning as a machine", "/machines", on(), 422, []string{"the-file", "pinwright-machine/1"}},
		{"truncated machine", "/machines", machine[:len(machine)/2], 422, []string{"the-file"}},
		{"empty machine", "/machines", nil, 422, []string{"the-file"}},
		{"machine of the same name", "/machines", machine, 409, []string{"Hailstone", "name"}},
		{"machine too large", "/machines", make([]byte, file.MaxBytes+1), 413, []string{"the-file is larger than 8 MiB"}},
		{"JSON as a song", "/songs", machine, 422, []string{"the-file", "MIDI"}},
		{"truncated header of a song", "/songs", knocks[:9], 422, []string{"the-file"}},
		{"empty song", "/songs", nil, 422, []string{"the-file"}},
		{"song too large", "/songs", append(bytes.Clone(knocks), make([]byte, song.MaxBytes)...), 413, []string{"the-file is larger than 8 MiB"}},
		{"machine as a pinning", "/pinnings", machine, 422, []string{"the-file", "pinwright-pinning/1"}},
		{"MIDI file as a pinning", "/pinnings", knocks, 422, []string{"the-file is a MIDI file; a pinning file is JSON."}},
		{"empty pinning", "/pinnings", nil, 422, []string{"the-file"}},
		{"pin on a channel the machine lacks", "/pinnings", on(wheel.Pin{Channel: "bar-q9", Step: 3}), 422, []string{"the-file", "pins[0].channel", "bar-q9"}},
		{"step past the turn", "/pinnings", on(wheel.Pin{Channel: "bar-c5", Step: 256}), 422, []string{"the-file", "pins[0].step", "256", "255"}},
		{"pin twice", "/pinnings", on(wheel.Pin{Channel: "bar-c5", Step: 3}, wheel.Pin{Channel: "bar-c5", Step: 3}), 422, []string{"the-file", "pins[1]", "bar-c5"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			status, page := a.bring(t, c.path, "the-file", c.file)
			expect(t, status, page, c.want, c.says...)
			if got := a.kept(t); got != before {
				t.Errorf("kept %v, was %v", got, before)
			}
		})
	}
}

func TestARequestWithoutAFileIsAskedForOne(t *testing.T) {
	a := newDemo(t)
	before := a.kept(t)
	for _, path := range []string{"/songs", "/pinnings", "/machines"} {
		status, page := a.post(t, path, nil)
		expect(t, status, page, 400, "A file was expected here; choose one and send it again.")
		status, page = a.bringAll(t, path)
		expect(t, status, page, 400, "No file was chosen; choose one and send it again.")
		status, page = a.bring(t, path, "", []byte("x"))
		expect(t, status, page, 400, "No file was chosen")
		r := httptest.NewRequest("POST", a.URL+path, strings.NewReader("--cut\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a.mid\"\r\n\r\nMThd"))
		r.Header.Set("Content-Type", "multipart/form-data; boundary=cut")
		status, page = a.send(t, r)
		expect(t, status, page, 400, "did not arrive whole; send it again.")
	}
	if got := a.kept(t); got != before {
		t.Errorf("kept %v, was %v", got, before)
	}
}

func TestGoodSongsAreKeptBesideABadOne(t *testing.T) {
	a := newDemo(t)
	status, page := a.bringAll(t, "/songs",
		sentFile{"one.mid", smf(0, "First Light")}, sentFile{"broken.mid", []byte("MThd")}, sentFile{"two.mid", smf(0, "Second Sieve")})
	expect(t, status, page, 422, "First Light was added.", "Second Sieve was added.", "broken.mid")
	a.songID(t, "First Light")
	a.songID(t, "Second Sieve")
	if got := a.kept(t); got[1] != 5 {
		t.Errorf("%d songs, want the demo's 3 and 2", got[1])
	}
}

// In a file of format 2 every track is a song of its own (SMF 1.0).
func TestEverySongOfAFormat2FileIsKept(t *testing.T) {
	a := newDemo(t)
	file := smf(2, "Grist", "Chaff", "Bran")
	status, to := a.bring(t, "/songs", "sack.mid", file)
	if status != http.StatusSeeOther || !strings.HasPrefix(to, "/songs?added=") {
		t.Fatalf("%d: %.200s", status, to)
	}
	status, page := a.get(t, to)
	expect(t, status, page, 200, "Added: Bran, Chaff and Grist.")
	for i, title := range []string{"Grist", "Chaff", "Bran"} {
		path := fmt.Sprintf("/songs/%d", a.songID(t, title))
		status, page := a.get(t, path)
		// The track's one note: 72 is C5, and so on upwards.
		expect(t, status, page, 200, title, []string{"C5 to C5", "C♯5 to C♯5", "D5 to D5"}[i])
		if _, got := a.get(t, path+"/file"); got != string(file) {
			t.Errorf("%s: the file has changed", title)
		}
	}
	before := a.kept(t)
	if status, to := a.bring(t, "/songs", "again.mid", file); status != http.StatusSeeOther || a.kept(t) != before {
		t.Errorf("a second time: %d %s, kept %v", status, to, a.kept(t))
	}
	if status, page := a.get(t, "/songs?added=7,-1,abc,99999999999999999999,999"); status != 200 || strings.Contains(said(page), "Added:") {
		t.Errorf("songs that are not there: %d", status)
	}
}

func TestFormValuesThatCannotBeSetAreRefusedInWords(t *testing.T) {
	a := newDemo(t)
	path := fmt.Sprintf("/songs/%d", a.songID(t, "Nine Knocks"))
	before := a.kept(t)
	for _, c := range []struct{ field, value, says string }{
		{"from_bar", "0", `From bar is "0"; it should be a whole number from 1.`},
		{"from_bar", "-1", `From bar is "-1"; it should be a whole number from 1.`},
		{"from_bar", "abc", `From bar is "abc"; it should be a whole number from 1.`},
		{"from_bar", "1.5", `From bar is "1.5"; it should be a whole number from 1.`},
		{"from_bar", "99", "past the song's end; the last bar is"},
		{"from_bar", "99999999999999999999", "it should be a whole number from 1"},
		{"bars", "0", `Number of bars is "0"; it should be a whole number from 1.`},
		{"bars", "-3", "it should be a whole number from 1."},
		{"bars", "999", "999 bars"},
		{"bars", "1e3", `Number of bars is "1e3"`},
		{"transpose", "loud", "loud"},
		{"transpose", "999", "999"},
		{"transpose", "1.5", "1.5"},
		{"tempo", "0", `The tempo is "0"; it should be a number of beats per minute from 1 to 1000.`},
		{"tempo", "-84", `The tempo is "-84"`},
		{"tempo", "NaN", `The tempo is "NaN"`},
		{"tempo", "Inf", `The tempo is "Inf"`},
		{"tempo", "1e9", `The tempo is "1e9"`},
		{"tempo", ",", `The tempo is ","`},
		{"tempo", "<script>", `The tempo is "<script>"`},
		{"tempo", strings.Repeat("8", 5000), strings.Repeat("8", 40) + "…"},
	} {
		t.Run(c.field+"="+c.value[:min(9, len(c.value))], func(t *testing.T) {
			form := url.Values{"from_bar": {"1"}, "transpose": {"auto"}, "bars": {"2"}}
			form.Set(c.field, c.value)
			status, page := a.post(t, path+"/pinnings", form)
			expect(t, status, page, 422, c.says)
			if !strings.Contains(page, `value="`+html.EscapeString(c.value)) && c.value != "<script>" {
				t.Errorf("what was filled in is lost")
			}
			if strings.Contains(page, "<script>") {
				t.Errorf("text of a form stands unescaped")
			}
			status, page = a.get(t, path+"?"+form.Encode())
			expect(t, status, page, 200, c.says)
			if got := a.kept(t); got != before {
				t.Errorf("kept %v, was %v", got, before)
			}
		})
	}
	// A comma as decimal mark is what half of Europe types.
	if to := a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {" 84,5 "}}); to == "" {
		t.Error("84,5 is a tempo")
	}
	status, page := a.post(t, path+"/pinnings", url.Values{"x": {"%zz"}})
	if status != http.StatusSeeOther {
		t.Errorf("a form without its fields is set with the usual choices: %d %.100s", status, page)
	}
	r := httptest.NewRequest("POST", a.URL+path+"/pinnings", strings.NewReader("tempo=%zz"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if status, page := a.send(t, r); status != http.StatusBadRequest {
		t.Errorf("a damaged form: %d %.100s", status, page)
	}
}

func TestChoicesThatCannotBeAreRefusedInWords(t *testing.T) {
	a := newDemo(t)
	path := fmt.Sprintf("/songs/%d", a.songID(t, "Nine Knocks"))
	before := a.kept(t)
	many := strings.Repeat(`&refuse=["dropped","bar-c5",0,"bar-c5",0]`, 501)
	for _, c := range []struct{ query, says string }{
		{"group_9_1=bar", "The song has no part on MIDI channel 1 in track 9; it has 4 parts: track 2 channel 1"},
		{"play_2_16=on", "The song has no part on MIDI channel 16 in track 2"},
		{"octave_2_17=1", `The form has a field "octave_2_17"; a part is named by its track and its MIDI channel, as in octave_1_10.`},
		{"lack_=same", `The form has a field "lack_"`},
		{"group_99999999999999999999_1=bar", `The form has a field "group_99999999999999999999_1"`},
		{"group_02_1=bar", `The form has a field "group_02_1"`},
		{"group_2_1=gong", "gong"},
		{"group_2_1=bell", "Hailstone has bar"},
		{"octave_2_1=99", `The octave shift of Knocks is "99"; it should be a whole number from −10 to 10.`},
		{"octave_2_1=1.5", `The octave shift of Knocks is "1.5"`},
		{"octave_2_1=up", `The octave shift of Knocks is "up"`},
		{"lack_2_1=luck", `is "luck"; it should be nothing, same, octave or both.`},
		{"perc_300=36", `The percussion table has key "300"; MIDI has keys 0 to 127.`},
		{"perc_-1=36", `The percussion table has key "-1"`},
		{"perc_x=36", `The percussion table has key "x"`},
		{"perc_36=300", `The percussion table sends Bass Drum 1 (36) to "300"; it should be a key from 0 to 127, or "out" to leave it out.`},
		{"perc_36=loud", `to "loud"`},
		{"take=x", `A decision on a change is "x"; it should be as in ["shifted","bar-c5",14,"bar-c5",15].`},
		{`take=["shifted","bar-c5",14,"bar-c5"]`, "it should be as in"},
		{`take=["shifted","bar-c5",1e99,"bar-c5",15]`, "it should be as in"},
		{`take=["shifted","bar-c5",14,"bar-c5",15,{"a":[]}]`, "it should be as in"},
		{`take=["dropped","bar-c5",0,"bar-c5",0]&refuse=["dropped","bar-c5",0,"bar-c5",0]`, `The change of the note on "bar-c5", step 0, is both kept and refused; it can be one of them.`},
		{many[1:], "There are 501 decisions on changes; 500 are the most."},
	} {
		t.Run(c.query[:min(len(c.query), 40)], func(t *testing.T) {
			form, err := url.ParseQuery("from_bar=1&transpose=0&ease=on&tempo=150&" + c.query)
			if err != nil {
				t.Fatal(err)
			}
			status, page := a.get(t, path+"?"+form.Encode())
			expect(t, status, page, 200, c.says)
			status, page = a.post(t, path+"/pinnings", form)
			expect(t, status, page, 422, c.says)
			if status, body := a.get(t, path+"/strikes?"+form.Encode()); status != 422 {
				t.Errorf("its strikes: %d %.200s", status, body)
			}
			if got := a.kept(t); got != before {
				t.Errorf("kept %v, was %v", got, before)
			}
		})
	}
}

func TestWhatIsNotThereIsNotFound(t *testing.T) {
	a := newDemo(t)
	wheelPage := a.keepPinning(t, "Nine Knocks", nil)
	before := a.kept(t)
	for _, id := range []string{"0", "-1", "77", "9223372036854775807", "9223372036854775808", "abc", "1.0", "%3Cscript%3E", "%00", "0x1", "+1"} {
		for _, path := range []string{"/songs/%s", "/songs/%s/file", "/songs/%s/strikes", "/pinnings/%s", "/pinnings/%s/verdict", "/pinnings/%s/wheel.json", "/pinnings/%s/file", "/machines/%s", "/machines/%s/file"} {
			status, page := a.get(t, fmt.Sprintf(path, id))
			expect(t, status, page, 404)
		}
		for _, path := range []string{"/songs/%s/pinnings", "/songs/%s/remove", "/pinnings/%s/remove", "/machines/%s/choose", "/machines/%s/remove"} {
			status, page := a.post(t, fmt.Sprintf(path, id), nil)
			expect(t, status, page, 404)
		}
	}
	for _, path := range []string{"/nowhere", "/songs/", "/songs/1/", "//songs", "/songs/1/nowhere", "/%2e%2e/etc", "/static/", "/static/nowhere.css"} {
		if status, page := a.get(t, path); status != 404 {
			t.Errorf("%s: %d %.100s", path, status, page)
		}
	}
	if got := a.kept(t); got != before {
		t.Errorf("kept %v, was %v", got, before)
	}
	status, page := a.get(t, "/songs/77")
	expect(t, status, page, 404, "song", "Back to Songs")
	if status, _ := a.get(t, wheelPage); status != 200 {
		t.Errorf("what is there: %d", status)
	}
}

// RFC 9110: 9.3.2, HEAD answers as GET without the content; 15.5.6, a 405
// names what is allowed.
func TestMethodsThatAnAddressDoesNotTakeAreNamed(t *testing.T) {
	a := newDemo(t)
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
		if c.want == 405 && c.method != "HEAD" && !strings.Contains(said(string(body)), "does not take a "+c.method+" request; it takes "+c.allow) {
			t.Errorf("%s %s says %.200s", c.method, c.path, said(string(body)))
		}
	}
}

func TestWhatIsGoneCannotBeRemovedAgain(t *testing.T) {
	a := newDemo(t)
	pinning := a.keepPinning(t, "Nine Knocks", nil)
	song := fmt.Sprintf("/songs/%d", a.songID(t, "Nine Knocks"))

	status, page := a.post(t, "/machines/1/remove", nil)
	expect(t, status, page, 409, "Hailstone", "pinning")
	if got := a.kept(t); got != [3]int{1, 3, 1} {
		t.Fatalf("kept %v", got)
	}
	if status, page := a.post(t, song+"/remove", nil); status != 303 {
		t.Fatalf("%d: %s", status, page)
	}
	status, page = a.post(t, song+"/remove", nil)
	expect(t, status, page, 404, "song")
	status, page = a.get(t, pinning)
	expect(t, status, page, 200, "Nine Knocks", "26 pins")
	if strings.Contains(page, "set from") {
		t.Error("the pinning's page leads to a song that is gone")
	}
	for _, want := range []int{303, 404} {
		if status, _ := a.post(t, pinning+"/remove", nil); status != want {
			t.Errorf("removing the pinning: %d, want %d", status, want)
		}
	}
	for _, want := range []int{303, 404} {
		if status, _ := a.post(t, "/machines/1/remove", nil); status != want {
			t.Errorf("removing the machine: %d, want %d", status, want)
		}
	}
	for _, path := range []string{"/", "/songs", "/pinnings", "/machines", fmt.Sprintf("/songs/%d", a.songID(t, "Mill Race"))} {
		status, page := a.get(t, path)
		expect(t, status, page, 200)
	}
	status, page = a.post(t, fmt.Sprintf("/songs/%d/pinnings", a.songID(t, "Mill Race")), nil)
	expect(t, status, page, 409, "bring a machine file first")
	status, page = a.bring(t, "/pinnings", "trial.json", pinningFile(t, &wheel.Pinning{Title: "Trial"}))
	expect(t, status, page, 409, "bring its machine file first")
}

// A pinning file names its machine, which need not be the one chosen.
func TestAPinningFileGoesToTheMachineThatItNames(t *testing.T) {
	a := newDemo(t)
	other := demo.Machine()
	other.Name = "Graupel"
	var b bytes.Buffer
	_, _ = file.Machine(other).WriteTo(&b)
	if status, page := a.bring(t, "/machines", "graupel.json", b.Bytes()); status != 303 {
		t.Fatalf("%d: %s", status, said(page))
	}
	for machine, want := range map[string]string{"Hailstone": "1 pin on Hailstone", "Graupel": "1 pin on Graupel", "": "1 pin on Graupel"} {
		status, to := a.bring(t, "/pinnings", "p.json", pinningFile(t, &wheel.Pinning{Title: "Trial", Machine: machine, TempoBPM: 80, Pins: []wheel.Pin{{Channel: "bar-c5"}}}))
		if status != 303 {
			t.Fatalf("%q: %d %s", machine, status, said(to))
		}
		status, page := a.get(t, to)
		expect(t, status, page, 200, want)
	}
}

// A name with U+202E, RIGHT-TO-LEFT OVERRIDE, would turn all that follows in
// its sentence (Unicode Standard Annex 9).
func TestANameDoesNotTurnTheSentenceAroundIt(t *testing.T) {
	a := newApp(t)
	m := demo.Machine()
	for i := range m.Channels {
		m.Channels[i].Name = fmt.Sprintf("\u202eraB\u2067 %d", i)
	}
	var b bytes.Buffer
	_, _ = file.Machine(m).WriteTo(&b)
	a.bring(t, "/machines", "m.json", b.Bytes())
	_, to := a.bring(t, "/pinnings", "p.json", pinningFile(t, &wheel.Pinning{Title: "Trial", TempoBPM: 180, Pins: []wheel.Pin{{Channel: "bar-c5", Step: 1}, {Channel: "bar-c5", Step: 2}}}))
	status, page := a.get(t, to)
	expect(t, status, page, 200, "raB 5, bar 1 beat 1", "the gate needs 140 ms")
	if strings.ContainsAny(page, "\u202e\u2067") {
		t.Error("the page turns its text")
	}
}

// A part of a page is asked for with HX-Request; nothing stands around it.
func TestPartsOfPagesStandAlone(t *testing.T) {
	a := newDemo(t)
	pinning := a.keepPinning(t, "Nine Knocks", nil)
	song := fmt.Sprintf("/songs/%d", a.songID(t, "Nine Knocks"))
	for _, c := range []struct {
		path string
		want int
		says string
	}{
		{song + "?from_bar=1&transpose=auto&tempo=150", 200, "107.1 BPM"},
		{song + "?from_bar=99", 200, "past the song's end"},
		{pinning + "/verdict", 200, "highest safe tempo"},
		{pinning + "/verdict?tempo=", 200, "highest safe tempo"},
		{pinning + "/verdict?tempo=fast", 422, `The tempo is "fast"; it should be a number of beats per minute from 1 to 1000.`},
		{pinning + "/verdict?tempo=0", 422, `The tempo is "0"`},
		{"/pinnings/99/verdict", 404, "pinning"},
		{"/songs/99", 404, "song"},
	} {
		r := httptest.NewRequest("GET", a.URL+c.path, nil)
		r.Header.Set("HX-Request", "true")
		status, part := a.send(t, r)
		expect(t, status, part, c.want, c.says)
		if strings.Contains(part, "<html") || strings.Contains(part, "<main") {
			t.Errorf("%s: a whole page", c.path)
		}
	}
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
			a := newApp(t)
			m := demo.Machine()
			m.Name = c.title
			var b bytes.Buffer
			_, _ = file.Machine(m).WriteTo(&b)
			if status, page := a.bring(t, "/machines", "m.json", b.Bytes()); status != 303 {
				t.Fatalf("machine: %d %s", status, said(page))
			}
			pinning := pinningFile(t, &wheel.Pinning{Title: c.title, Machine: c.title, TempoBPM: 80, Pins: []wheel.Pin{{Channel: "bar-c5", Step: 3}}})
			if status, page := a.bring(t, "/pinnings", "p.json", pinning); status != 303 {
				t.Fatalf("pinning: %d %s", status, said(page))
			}
			midi := smf(0, c.title)
			if status, page := a.bring(t, "/songs", "song.MIDI", midi); status != 303 {
				t.Fatalf("song: %d %s", status, said(page))
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
				_, page := a.get(t, path)
				if strings.Contains(page, "<script>") || !strings.Contains(page, html.EscapeString(c.title)) {
					t.Errorf("%s: the title does not stand as text", path)
				}
			}
		})
	}
}
