package songs_test

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
)

var listedTitle = regexp.MustCompile(`(?s)<th scope="row"[^>]*>\s*<a href="/songs/\d+"><bdi>([^<]*)</bdi>`)

func listed(page string) (titles []string) {
	for _, m := range listedTitle.FindAllStringSubmatch(page, -1) {
		titles = append(titles, m[1])
	}
	return titles
}

// The demo's songs (wheel/demo): Frère Jacques and Mill Race have 16 bars, at
// 80 and 84 BPM, Nine Knocks 4 at 80.
func TestSongsAreSearchedAndSorted(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	for query, want := range map[string][]string{
		"":                       {"Frère Jacques", "Mill Race", "Nine Knocks"},
		"?sort=length":           {"Nine Knocks", "Mill Race", "Frère Jacques"},
		"?sort=bars":             {"Nine Knocks", "Frère Jacques", "Mill Race"},
		"?sort=tempo":            {"Frère Jacques", "Nine Knocks", "Mill Race"},
		"?sort=nonsense":         {"Frère Jacques", "Mill Race", "Nine Knocks"},
		"?q=mill":                {"Mill Race"},
		"?q=RACE+mill":           {"Mill Race"},
		"?q=frere-jacques.mid":   {"Frère Jacques"}, // its file's name
		"?q=n&sort=bars":         {"Nine Knocks"},
		"?q=%3Cscript%3E&sort=x": nil,
	} {
		status, page := a.Get(t, "/songs"+query)
		webtest.Expect(t, status, page, 200)
		if got := listed(page); !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", query, got, want)
		}
	}
	if _, page := a.Get(t, "/songs?q=%3Cscript%3E"); strings.Contains(page, "“<script>”") || !strings.Contains(page, "“&lt;script&gt;”") {
		t.Error("a search stands unescaped, or not at all")
	}
}

func TestTheListSaysHowASongSuitsAndWhenItWasSet(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	knocks := a.SongID(t, "Nine Knocks")
	path := fmt.Sprintf("/songs/%d/suits", knocks)
	if _, page := a.Get(t, "/songs"); !strings.Contains(page, `hx-get="`+path+`"`) || strings.Contains(page, "100 %") {
		t.Error("a list that is opened judges all songs first, or none")
	}
	// As the survey has it, see TestSurveyRowSaysTheFiguresOfASong.
	status, part := a.Part(t, path)
	webtest.Expect(t, status, part, 200, "100 %")
	_, page := a.Get(t, "/songs")
	if said := webtest.Said(page); !strings.Contains(said, "100 %") || strings.Contains(page, `hx-get="`+path+`"`) {
		t.Errorf("what is known is not shown: %s", said)
	}
	if _, page := a.Get(t, "/songs?sort=suits"); strings.Contains(page, "/suits\"") || listed(page)[0] == "Frère Jacques" && strings.Count(page, "100 %") == 1 {
		t.Errorf("sorted by it, it says %s", webtest.Said(page))
	}
	pinning := a.SetSong(t, "Nine Knocks", nil)
	_, page = a.Get(t, "/songs")
	if !strings.Contains(page, `<a href="`+pinning+`">`) {
		t.Errorf("it does not lead to %s", pinning)
	}
	if status, _ := a.Get(t, "/songs/77/suits"); status != http.StatusNotFound {
		t.Errorf("of a song that is not there: %d", status)
	}
}

func TestASongIsRenamedAndItsPinningsAreCalledSo(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := fmt.Sprintf("/songs/%d", a.SongID(t, "Nine Knocks"))
	if status, to := a.Post(t, path+"/rename", url.Values{"title": {" Ten <b>Knocks "}}); status != http.StatusSeeOther || to != path {
		t.Fatalf("%d: %s", status, to)
	}
	status, page := a.Get(t, path)
	webtest.Expect(t, status, page, 200, "Ten <b>Knocks")
	pinning := a.SetSong(t, "Ten <b>Knocks", nil)
	status, page = a.Get(t, pinning)
	webtest.Expect(t, status, page, 200, "Ten <b>Knocks")
	status, page = a.Post(t, path+"/rename", url.Values{"title": {" "}})
	webtest.Expect(t, status, page, 422, "The title is empty")
	status, page = a.Post(t, "/songs/77/rename", url.Values{"title": {"Weir"}})
	webtest.Expect(t, status, page, 404)
}

func TestARemovedSongCanBeBroughtBack(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	before := a.Kept(t)
	path := fmt.Sprintf("/songs/%d", a.SongID(t, "Nine Knocks"))
	status, to := a.Post(t, path+"/remove", nil)
	if status != http.StatusSeeOther || !strings.HasPrefix(to, "/songs?removed=") {
		t.Fatalf("%d: %s", status, to)
	}
	status, page := a.Get(t, to)
	webtest.Expect(t, status, page, 200, "Nine Knocks was removed.")
	if got := listed(page); slices.Contains(got, "Nine Knocks") || !strings.Contains(page, `action="`+path+`/restore"`) {
		t.Errorf("the list is %q", got)
	}
	if status, to = a.Post(t, path+"/restore", nil); status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
	status, page = a.Get(t, to)
	webtest.Expect(t, status, page, 200, "brought back: Nine Knocks")
	if got := a.Kept(t); got != before {
		t.Errorf("kept %v, was %v", got, before)
	}
	if status, _ = a.Get(t, path); status != 200 {
		t.Errorf("its page: %d", status)
	}
	status, page = a.Post(t, path+"/restore", nil)
	webtest.Expect(t, status, page, 404, "can no longer be brought back")
}
