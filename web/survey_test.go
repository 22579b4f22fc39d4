package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
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
	"time"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

// surveyed sends files under their paths, as a form does, with further fields.
func (a *app) surveyed(t *testing.T, part bool, fields url.Values, files ...sentFile) (int, string) {
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
		head.Set("Content-Disposition", fmt.Sprintf(`form-data; name="file"; filename="%s"`, f.name))
		head.Set("Content-Type", "application/octet-stream")
		w, err := form.CreatePart(head)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = w.Write(f.data)
	}
	_ = form.Close()
	r := httptest.NewRequest("POST", a.URL+"/survey", &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	r.Header.Set("Origin", a.URL)
	if part {
		r.Header.Set("HX-Request", "true")
	}
	return a.send(t, r)
}

func demoFiles(folder string) (files []sentFile) {
	for _, s := range demo.Songs() {
		files = append(files, sentFile{folder + s.FileName, s.Bytes})
	}
	return files
}

var (
	aRow  = regexp.MustCompile(`(?s)<tr data-suits="([^"]*)" data-file="([^"]*)" data-number="(\d+)" data-part="(\d+)">(.*?)</tr>`)
	aCell = regexp.MustCompile(`(?s)<t[dh][^>]*>(.*?)</t[dh]>`)
)

// cells is the text of each cell of a row.
func cells(row string) (texts []string) {
	for _, m := range aCell.FindAllStringSubmatch(row, -1) {
		texts = append(texts, said(m[1]))
	}
	return texts
}

// What the page says of each song is what the survey itself finds, song by
// song, in its order.
func TestSurveyPageRanksAsTheSurveyDoes(t *testing.T) {
	a := newDemo(t)
	files := append(demoFiles("tunes/"), sentFile{"tunes/old/pair.mid", smf(2, "High", "Higher")}, sentFile{"broken.mid", []byte("MThd")}, sentFile{"notes.txt", []byte("no song")})
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	var sources []arrange.Source
	for _, f := range files[:5] {
		sources = append(sources, arrange.Source{Name: f.name, Read: func() ([]byte, error) { return f.data, nil }})
	}
	want, unreadable, err := arrange.Survey(context.Background(), works, sources, arrange.SurveyOptions{TempoBPM: 90})
	if err != nil || len(want) != 5 || len(unreadable) != 1 {
		t.Fatalf("%d songs, %d not judged, %v", len(want), len(unreadable), err)
	}
	for _, part := range []bool{true, false} {
		status, page := a.surveyed(t, part, url.Values{"tempo": {"90"}}, files...)
		expect(t, status, page, http.StatusOK, "broken.mid")
		rows := aRow.FindAllStringSubmatch(page, -1)
		if len(rows) != len(want) {
			t.Fatalf("%d rows, want %d: %s", len(rows), len(want), said(page))
		}
		for i, row := range rows {
			j := want[i]
			suits, _ := strconv.ParseFloat(row[1], 64)
			number, _ := strconv.Atoi(row[3])
			from, _ := strconv.Atoi(row[4])
			if suits != j.Suits || row[2] != j.File || number != j.Number || files[from].name != j.File {
				t.Errorf("row %d is %q, want %+v", i+1, row[1:5], j)
			}
			c := cells(row[0])
			if c[0] != strconv.Itoa(i+1) || !strings.HasPrefix(c[1], j.Title+" "+j.File) || !strings.HasSuffix(c[2], " % "+j.Verdict) || c[7] != "90" {
				t.Errorf("row %d says %q, want %+v", i+1, c, j)
			}
		}
		if part == strings.Contains(page, "<html") {
			t.Errorf("a part of the page: %v", !part)
		}
		if !part {
			expect(t, status, page, http.StatusOK, "5 files gone through: 5 songs ranked, 1 not judged, 1 file that is no MIDI file.", "To keep a song, bring its file on the page Songs")
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
	a := newDemo(t)
	knocks := demo.Songs()[2]
	_, page := a.surveyed(t, true, nil, sentFile{"tunes/" + knocks.FileName, knocks.Bytes})
	c := cells(aRow.FindString(page))
	want := []string{"1", "Nine Knocks tunes/" + knocks.FileName, "100 % suits well", "1–4", "not transposed", "100 % of 26", "0 ms", "80", "107.1", "107.1"}
	if !slices.Equal(c, want) {
		t.Errorf("it says %q, want %q", c, want)
	}
	if id := a.songID(t, "Nine Knocks"); !strings.Contains(page, fmt.Sprintf(`<a href="/songs/%d"><bdi>Nine Knocks</bdi></a>`, id)) {
		t.Error("its name does not lead to the song that is kept")
	}
	_, page = a.surveyed(t, true, nil, sentFile{"one.mid", smf(0, "One")})
	if c := cells(aRow.FindString(page)); c[1] != "One one.mid Keep this song : One" {
		t.Errorf("a song that is not kept says %q", c[1])
	}
}

func TestSurveyKeepsNothing(t *testing.T) {
	a := newDemo(t)
	before := a.kept(t)
	if status, page := a.surveyed(t, false, nil, sentFile{"one.mid", smf(0, "One")}); status != http.StatusOK {
		t.Fatal(status, said(page))
	}
	if after := a.kept(t); after != before {
		t.Errorf("kept %v, before %v", after, before)
	}
}

func TestSurveySaysWhatIsWrongWithAForm(t *testing.T) {
	full, empty := newDemo(t), newApp(t)
	one := sentFile{"one.mid", smf(0, "One")}
	many := slices.Repeat([]sentFile{one}, surveyFiles+1)
	for _, c := range []struct {
		name   string
		app    *app
		fields url.Values
		files  []sentFile
		want   int
		says   string
	}{
		{"no machine", empty, nil, []sentFile{one}, 409, "There is no machine to judge songs for; bring a machine file first."},
		{"another machine", full, url.Values{"machine": {"77"}}, []sentFile{one}, 404, "there is no machine 77"},
		{"no number of a machine", full, url.Values{"machine": {"Hailstone"}}, []sentFile{one}, 422, `The machine is "Hailstone"; it should be the number of one that is here.`},
		{"tempo 0", full, url.Values{"tempo": {"0"}}, []sentFile{one}, 422, `The tempo is "0"; it should be a number of beats per minute from 1 to 1000.`},
		{"tempo NaN", full, url.Values{"tempo": {"NaN"}}, []sentFile{one}, 422, `The tempo is "NaN"`},
		{"tempo abc", full, url.Values{"tempo": {"abc"}}, []sentFile{one}, 422, `The tempo is "abc"`},
		{"tempo endless", full, url.Values{"tempo": {strings.Repeat("9", 5000)}}, []sentFile{one}, 422, `The tempo is "9999`},
		{"no file", full, nil, nil, 422, "No file was chosen"},
		{"no name", full, nil, []sentFile{{"", one.data}}, 422, "No file was chosen"},
		{"no MIDI file", full, nil, []sentFile{{"a.txt", nil}, {"b.pdf", nil}}, 422, "There is no MIDI file in what was sent (2 other files); their names end in .mid, .midi, .smf, .kar or .rmi."},
		{"too many", full, nil, many, 413, "There are 101 MIDI files in what was sent; at most 100 are judged at once."},
	} {
		for _, part := range []bool{true, false} {
			t.Run(fmt.Sprintf("%s/part=%v", c.name, part), func(t *testing.T) {
				status, page := c.app.surveyed(t, part, c.fields, c.files...)
				expect(t, status, page, c.want, c.says)
				if part && strings.Contains(page, "<html") {
					t.Error("a whole page where a part was asked for")
				}
			})
		}
	}
	status, page := full.post(t, "/survey", url.Values{"tempo": {"90"}})
	expect(t, status, page, 400, "Files were expected here; choose a folder or files and send them again.")
	status, page = full.surveyed(t, true, nil, slices.Repeat([]sentFile{{"big.mid", make([]byte, song.MaxBytes)}}, 5)...)
	expect(t, status, page, 413, "What was sent is larger than 33 MiB")
	status, page = full.surveyed(t, false, url.Values{"tempo": {"fast"}}, one)
	if expect(t, status, page, 422); !strings.Contains(page, `value="fast"`) {
		t.Error("the form forgets what was typed")
	}
}

func TestSurveyListsFilesThatCannotBeJudgedAndGoesOn(t *testing.T) {
	a := newDemo(t)
	status, page := a.surveyed(t, true, nil,
		sentFile{"big.mid", make([]byte, song.MaxBytes+1)}, sentFile{"text.mid", []byte("not music")}, sentFile{"empty.mid", nil},
		sentFile{"silent.mid", []byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk\x00\x00\x00\x04\x00\xff\x2f\x00")},
		sentFile{"good.mid", smf(0, "Good")})
	expect(t, status, page, http.StatusOK,
		"big.mid : it is larger than 8 MiB; that is the most that is read", "text.mid : ", "empty.mid : ", "silent.mid : the song has no notes", "Good good.mid")
	if n := len(aRow.FindAllString(page, -1)); n != 1 {
		t.Errorf("%d songs judged, want 1", n)
	}
}

// Names come from outside: they may hold anything, and two may be the same.
func TestSurveyTellsFilesApartWhateverTheirNames(t *testing.T) {
	a := newDemo(t)
	long := strings.Repeat("long/", 400) + "end.mid"
	status, page := a.surveyed(t, true, nil,
		sentFile{"a.mid", smf(0, "First")}, sentFile{"a.mid", smf(0, "Second")},
		sentFile{`%22<b>x%22.mid`, smf(0, "Third")}, sentFile{long, smf(0, "Fourth")}, sentFile{"b\u202e.mid", smf(0, "Fifth")})
	expect(t, status, page, http.StatusOK)
	names := map[string]string{}
	for _, row := range aRow.FindAllStringSubmatch(page, -1) {
		names[strings.Fields(cells(row[0])[1])[0]] = row[2] + "|" + row[4]
	}
	for title, want := range map[string]string{
		"First": "a.mid|0", "Second": "a.mid (2)|1", "Third": "&#34;&lt;b&gt;x&#34;.mid|2",
		"Fourth": "…" + long[len(long)-mostPath+1:] + "|3", "Fifth": "b.mid|4",
	} {
		if names[title] != want {
			t.Errorf("%s came as %q, want %q", title, names[title], want)
		}
	}
}

func TestSurveyThatTakesTooLongAsksForFewerFiles(t *testing.T) {
	a := newDemo(t)
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	s := &server{Kit: page.NewKit(Options{Store: a.store})}
	form := surveyForm{files: []page.Upload{{Name: "one.mid", Data: smf(0, "One")}}, count: 1}
	_, err = s.judged(context.Background(), works, form, time.Nanosecond)
	var refused *wheel.Error
	if !errors.As(err, &refused) || refused.Code != wheel.ErrTooLarge || refused.Message != "Judging 1 file takes longer than 45 seconds; send fewer at once." {
		t.Errorf("%v", err)
	}
	gone, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := s.judged(gone, works, form, time.Minute); !errors.Is(err, context.Canceled) {
		t.Errorf("who has gone is told %v", err)
	}
}
