package songs_test

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/textproto"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pinwright/timing"
	"pinwright/web"
	"pinwright/web/page"
	"pinwright/web/songs"
	"pinwright/web/webtest"
	"pinwright/wheel/arrange"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

// surveyed sends files under their paths, as a form does, with further fields.
func surveyed(t *testing.T, a *webtest.App, part bool, fields url.Values, files ...page.Upload) (int, string) {
	t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for name, values := range fields {
		for _, value := range values {
			_ = form.WriteField(name, value)
		}
	}
	for _, f := range files {
		head := textproto.MIMEHeader{}
		head.Set("Content-Disposition", fmt.Sprintf(`form-data; name="file"; filename="%s"`, f.Name))
		head.Set("Content-Type", "application/octet-stream")
		w, err := form.CreatePart(head)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = w.Write(f.Data)
	}
	_ = form.Close()
	r := httptest.NewRequest("POST", a.URL+"/survey", &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	r.Header.Set("Origin", a.URL)
	if part {
		r.Header.Set("HX-Request", "true")
	}
	return a.Send(t, r)
}

func demoFiles(folder string) (files []page.Upload) {
	for _, s := range demo.Songs() {
		files = append(files, webtest.File(folder+s.FileName, s.Bytes))
	}
	return files
}

var (
	aRow  = regexp.MustCompile(`(?s)<tr role="row" data-suits="([^"]*)" data-file="([^"]*)" data-number="(\d+)" data-part="(\d+)" data-choice="[^"]*">(.*?)</tr>`)
	aCell = regexp.MustCompile(`(?s)<t[dh][^>]*>(.*?)</t[dh]>`)
)

// cells is the text of each cell of a row.
func cells(row string) (texts []string) {
	for _, m := range aCell.FindAllStringSubmatch(row, -1) {
		texts = append(texts, webtest.Said(m[1]))
	}
	return texts
}

// What the page says of each song is what the survey itself finds, song by
// song, in its order.
func TestSurveyPageRanksAsTheSurveyDoes(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	files := append(demoFiles("tunes/"), webtest.File("tunes/old/pair.mid", webtest.MIDIFile(2, "High", "Higher")), webtest.File("broken.mid", []byte("MThd")), webtest.File("notes.txt", []byte("no song")))
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	var sources []arrange.Source
	for _, f := range files[:5] {
		sources = append(sources, arrange.Source{Name: f.Name, Read: func() ([]byte, error) { return f.Data, nil }})
	}
	want, unreadable, err := arrange.Survey(context.Background(), works, sources, arrange.SurveyOptions{TempoBPM: 90})
	if err != nil || len(want) != 5 || len(unreadable) != 1 {
		t.Fatalf("%d songs, %d not judged, %v", len(want), len(unreadable), err)
	}
	for _, part := range []bool{true, false} {
		status, page := surveyed(t, a, part, url.Values{"tempo": {"90"}}, files...)
		webtest.Expect(t, status, page, http.StatusOK, "broken.mid")
		rows := aRow.FindAllStringSubmatch(page, -1)
		if len(rows) != len(want) {
			t.Fatalf("%d rows, want %d: %s", len(rows), len(want), webtest.Said(page))
		}
		for i, row := range rows {
			j := want[i]
			suits, _ := strconv.ParseFloat(row[1], 64)
			number, _ := strconv.Atoi(row[3])
			from, _ := strconv.Atoi(row[4])
			if suits != j.Suits || row[2] != j.File || number != j.Number || files[from].Name != j.File {
				t.Errorf("row %d is %q, want %+v", i+1, row[1:5], j)
			}
			c := cells(row[0])
			if c[0] != strconv.Itoa(i+1) || !strings.HasPrefix(c[1], j.Title+" "+j.File) || !strings.Contains(c[2], " % "+j.Word()) || !strings.Contains(c[2], j.Fault()) || c[7] != "Tempo, BPM: 90" {
				t.Errorf("row %d says %q, want %+v", i+1, c, j)
			}
		}
		if part == strings.Contains(page, "<html") {
			t.Errorf("a part of the page: %v", !part)
		}
		if !part {
			webtest.Expect(t, status, page, http.StatusOK, "5 files read: 5 songs ranked, 1 not judged, 1 file that is no MIDI file.", "To keep a song, add its file on the page Songs")
			if strings.Contains(page, "Keep this song") {
				t.Error("a button that works with scripts alone stands on a page without")
			}
		}
	}
}

// Nine Knocks is written at 80 BPM for Hailstone, its 26 notes wholly on the
// grid. Its nearest knocks on Bar C5 are a step apart and the gate reloads in
// 140 ms: worked by hand, 60 / (0.14 × 4) = 107.14 BPM.
func TestSurveyRowSaysTheFiguresOfASong(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	knocks := demo.Songs()[2]
	_, page := surveyed(t, a, true, nil, webtest.File("tunes/"+knocks.FileName, knocks.Bytes))
	c := cells(aRow.FindString(page))
	want := []string{"1", "Nine Knocks tunes/" + knocks.FileName, "100 % suits well keep below 86.2", "Bars 1–4", "not transposed", "Notes that sound: 100 % of 26", "Off the grid: 0 ms", "Tempo, BPM: 80", "Keep below, BPM: 86.2", "Bare limit, BPM: 107.1"}
	if !slices.Equal(c, want) {
		t.Errorf("it says %q, want %q", c, want)
	}
	// Its name leads to the song with the stretch as it was judged, which needs no
	// easing, and from there back to the survey.
	id := a.SongID(t, "Nine Knocks")
	to := fmt.Sprintf(`/songs/%d?advance=on&bars=4&from_bar=1&transpose=0&via=survey`, id)
	if !strings.Contains(page, `<a href="`+html.EscapeString(to)+`"><bdi>Nine Knocks</bdi></a>`) {
		t.Errorf("its name does not lead to %s: %s", to, page)
	}
	status, song := a.Get(t, to)
	webtest.Expect(t, status, song, 200, "Bars 1 to 4 of the song, not transposed, at 80 BPM: 26 of 26 notes get a pin")
	if !strings.Contains(song, `<a href="/survey">`) {
		t.Error("the song does not lead back to the survey")
	}
	_, page = surveyed(t, a, true, nil, webtest.File("one.mid", webtest.MIDIFile(0, "One")))
	if c := cells(aRow.FindString(page)); c[1] != "One one.mid Keep this song : One" {
		t.Errorf("a song that is not kept says %q", c[1])
	}
}

func TestSurveyKeepsNothing(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	before := a.Kept(t)
	if status, page := surveyed(t, a, false, nil, webtest.File("one.mid", webtest.MIDIFile(0, "One"))); status != http.StatusOK {
		t.Fatal(status, webtest.Said(page))
	}
	if after := a.Kept(t); after != before {
		t.Errorf("kept %v, before %v", after, before)
	}
}

func TestSurveySaysWhatIsWrongWithAForm(t *testing.T) {
	full, empty := webtest.StartDemo(t, web.New), webtest.Start(t, web.New)
	one := webtest.File("one.mid", webtest.MIDIFile(0, "One"))
	tooLarge := slices.Repeat([]page.Upload{webtest.File("big.mid", make([]byte, song.MaxBytes))}, 5)
	many := slices.Repeat([]page.Upload{one}, songs.SurveyFiles+1)
	for _, c := range []struct {
		name   string
		app    *webtest.App
		fields url.Values
		files  []page.Upload
		want   int
		says   string
	}{
		{"no machine", empty, nil, []page.Upload{one}, 409, "There is no machine to judge songs for; bring a machine file first."},
		{"another machine", full, url.Values{"machine": {"77"}}, []page.Upload{one}, 404, "there is no machine 77"},
		{"no number of a machine", full, url.Values{"machine": {"Hailstone"}}, []page.Upload{one}, 422, `The machine is "Hailstone"; it should be the number of one that is here.`},
		{"tempo 0", full, url.Values{"tempo": {"0"}}, []page.Upload{one}, 422, `The tempo is "0"; it should be a number of beats per minute from 1 to 1000.`},
		{"tempo NaN", full, url.Values{"tempo": {"NaN"}}, []page.Upload{one}, 422, `The tempo is "NaN"`},
		{"tempo abc", full, url.Values{"tempo": {"abc"}}, []page.Upload{one}, 422, `The tempo is "abc"`},
		{"tempo endless", full, url.Values{"tempo": {strings.Repeat("9", 5000)}}, []page.Upload{one}, 422, `The tempo is "9999`},
		{"no file", full, nil, nil, 422, "No file was chosen"},
		{"no name", full, nil, []page.Upload{webtest.File("", one.Data)}, 422, "No file was chosen"},
		{"no MIDI file", full, nil, []page.Upload{webtest.File("a.txt", nil), webtest.File("b.pdf", nil)}, 422, "There is no MIDI file in what was sent (2 other files); their names end in .mid, .midi, .smf, .kar or .rmi."},
		{"too many", full, nil, many, 413, "There are 101 MIDI files in what was sent; at most 100 are judged at once."},
	} {
		for _, part := range []bool{true, false} {
			t.Run(fmt.Sprintf("%s/part=%v", c.name, part), func(t *testing.T) {
				status, page := surveyed(t, c.app, part, c.fields, c.files...)
				webtest.Expect(t, status, page, c.want, c.says)
				if part && strings.Contains(page, "<html") {
					t.Error("a whole page where a part was asked for")
				}
			})
		}
	}
	status, page := full.Post(t, "/survey", url.Values{"tempo": {"90"}})
	webtest.Expect(t, status, page, 400, "Files were expected here; choose a folder or files and send them again.")
	status, page = surveyed(t, full, true, nil, tooLarge...)
	webtest.Expect(t, status, page, 413, "What was sent is larger than 33 MiB")
	status, page = surveyed(t, full, false, url.Values{"tempo": {"fast"}}, one)
	if webtest.Expect(t, status, page, 422); !strings.Contains(page, `value="fast"`) {
		t.Error("the form forgets what was typed")
	}
}

func TestSurveyListsFilesThatCannotBeJudgedAndGoesOn(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	status, page := surveyed(t, a, true, nil,
		webtest.File("big.mid", make([]byte, song.MaxBytes+1)), webtest.File("text.mid", []byte("not music")), webtest.File("empty.mid", nil),
		webtest.File("silent.mid", []byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk\x00\x00\x00\x04\x00\xff\x2f\x00")),
		webtest.File("good.mid", webtest.MIDIFile(0, "Good")))
	webtest.Expect(t, status, page, http.StatusOK,
		"big.mid : it is larger than 8 MiB; that is the most that is read", "text.mid : ", "empty.mid : ", "silent.mid : the song has no notes", "Good good.mid")
	if n := len(aRow.FindAllString(page, -1)); n != 1 {
		t.Errorf("%d songs judged, want 1", n)
	}
}

// Names come from outside: they may hold anything, and two may be the same.
func TestSurveyTellsFilesApartWhateverTheirNames(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	long := strings.Repeat("long/", 400) + "end.mid"
	status, page := surveyed(t, a, true, nil,
		webtest.File("a.mid", webtest.MIDIFile(0, "First")), webtest.File("a.mid", webtest.MIDIFile(0, "Second")),
		webtest.File(`%22<b>x%22.mid`, webtest.MIDIFile(0, "Third")), webtest.File(long, webtest.MIDIFile(0, "Fourth")), webtest.File("b\u202e.mid", webtest.MIDIFile(0, "Fifth")))
	webtest.Expect(t, status, page, http.StatusOK)
	names := map[string]string{}
	for _, row := range aRow.FindAllStringSubmatch(page, -1) {
		names[strings.Fields(cells(row[0])[1])[0]] = row[2] + "|" + row[4]
	}
	for title, want := range map[string]string{
		"First": "a.mid|0", "Second": "a.mid (2)|1", "Third": "&#34;&lt;b&gt;x&#34;.mid|2",
		"Fourth": "…" + long[len(long)-songs.MostPath+1:] + "|3", "Fifth": "b.mid|4",
	} {
		if names[title] != want {
			t.Errorf("%s came as %q, want %q", title, names[title], want)
		}
	}
}
