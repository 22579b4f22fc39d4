package songs_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/page"
	"pinwright/web/webtest"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

// folderOf writes files under a new folder named tunes.
func folderOf(t *testing.T, files ...page.Upload) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "tunes")
	for _, f := range files {
		path := filepath.Join(folder, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, f.Data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

// mixedFiles are songs that suit Hailstone from wholly to hardly, and files
// that are no songs.
func mixedFiles(t *testing.T) []page.Upload {
	t.Helper()
	files := demoFiles("mill/")
	for _, name := range []string{"aimless", "mixed", "one-track", "overlaps", "three-tracks", "smpte", "drum-loop", "patterns"} {
		data, err := os.ReadFile("../../testdata/midi/" + name + ".mid")
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, webtest.File("found/"+name+".MID", data))
	}
	return append(files,
		webtest.File("found/old/torn.mid", []byte("MThd\x00\x00")), webtest.File("found/letter.kar", []byte("Dear miller, ")),
		webtest.File("found/huge.mid", make([]byte, song.MaxBytes+1)), webtest.File("readme.txt", []byte("tunes")), webtest.File("found/cover.png", nil))
}

// listing is what the page shows.
type listing struct {
	Ranks, Titles, Files []string
	Suits                []float64
	Unread               []string
	Said, Problem, Rest  string
	Working              bool
}

const listingNow = `(() => {
	const texts = (selector) => [...document.querySelectorAll(selector)].map((e) => e.textContent.trim());
	const shown = (selector) => { const e = document.querySelector(selector); return e.hidden ? "" : e.textContent.trim(); };
	return {
		Ranks: texts("[data-songs] tbody td:first-child"), Titles: texts("[data-songs] tbody [data-title]"), Files: texts(".survey-file"),
		Suits: [...document.querySelectorAll("[data-songs] tbody tr")].map((row) => Number(row.dataset.suits)),
		Unread: texts("[data-unreadable] li"), Said: shown("[data-said]"), Problem: shown(".survey-said [data-problem]"), Rest: shown("[data-rest]"),
		Working: !document.querySelector("[data-work]").hidden,
	};
})()`

const surveyDone = `document.querySelector("[data-work]").hidden && document.querySelector("[data-said]").textContent.includes("read:")`

func (l listing) inOrder(t *testing.T) {
	t.Helper()
	for i := range l.Suits {
		if l.Ranks[i] != fmt.Sprint(i+1) || i > 0 && l.Suits[i] > l.Suits[i-1] {
			t.Errorf("rank %d is %s, %s, suits %v", i+1, l.Ranks[i], l.Files[i], l.Suits[i])
		}
	}
}

// checkMixed holds a page against what mixedFiles are; of the files that are
// there, patterns.mid has three songs.
func checkMixed(t *testing.T, page *browsertest.Page, names string) {
	t.Helper()
	page.WaitFor(t, surveyDone)
	got := browsertest.Eval[listing](t, page, listingNow)
	got.inOrder(t)
	if len(got.Titles) != 13 || got.Said != "14 files read: 13 songs ranked, 3 not judged, 2 files that are no MIDI files." || got.Problem != "" {
		t.Errorf("%d songs; it says %q, %q", len(got.Titles), got.Said, got.Problem)
	}
	for i, want := range []string{"found/huge.mid: it is larger than 8 MiB", "found/letter.kar: ", "found/old/torn.mid: "} {
		if i >= len(got.Unread) || !strings.HasPrefix(got.Unread[i], names+want) {
			t.Errorf("not judged: %q, want %q", got.Unread, names+want)
		}
	}
	if !strings.Contains(strings.Join(got.Files, " "), names+"mill/nine-knocks.mid") {
		t.Errorf("files: %q", got.Files)
	}
}

// cutOff names a name, a verdict or a way to a song that the table shows only
// once it is scrolled sideways.
const cutOff = `(() => {
	const edge = document.querySelector("[data-songs] .survey-ranking").getBoundingClientRect().right + 0.5;
	const out = [...document.querySelectorAll("[data-songs] :is(.survey-title, .survey-verdict, a, button)")].find((e) => e.getBoundingClientRect().right > edge);
	return out ? out.textContent.trim() : "";
})()`

func TestSurveyOfADroppedFolder(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	folder := folderOf(t, mixedFiles(t)...)
	page := browsertest.Start(t).Open(t, a.URL+"/survey", browsertest.Laptop)
	page.DropFiles(t, "form[data-survey]", folder)
	checkMixed(t, page, "tunes/")
	for _, v := range []struct {
		name string
		view browsertest.View
	}{
		{"small-laptop", browsertest.View{WidthPX: 1280, HeightPX: 800}},
		{"laptop-light", browsertest.Laptop}, {"laptop-dark", browsertest.Laptop.InDark()},
		{"phone-light", browsertest.Phone}, {"phone-dark", browsertest.Phone.InDark()},
	} {
		page.Show(t, v.view)
		page.NoSideScroll(t)
		if cut := browsertest.Eval[string](t, page, cutOff); cut != "" {
			t.Errorf("%s: out of sight at the side: %s", v.name, cut)
		}
		page.Screenshot(t, "survey-ranked-"+v.name)
		page.Axe(t)
	}
}

func TestSurveyOfAPickedFolder(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	folder := folderOf(t, mixedFiles(t)...)
	page := browsertest.Start(t).Open(t, a.URL+"/survey", browsertest.Phone)
	page.Upload(t, "#survey-folder", folder)
	page.Click(t, "form[data-survey] .main")
	checkMixed(t, page, "tunes/")
}

// Without scripts the form goes as it is, with the paths in the folder.
func TestSurveyWithoutScripts(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	folder := folderOf(t, mixedFiles(t)[:11]...)
	page := browsertest.Start(t).Open(t, a.URL+"/survey", browsertest.Laptop)
	scripts := func(off bool) {
		page.Do(t, "turn scripts off or on", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: off})
			return err
		}))
	}
	scripts(true)
	page.Go(t, a.URL+"/survey")
	page.Upload(t, "#survey-folder", folder)
	page.Type(t, "#survey-tempo", "90")
	page.Click(t, "form[data-survey] .main")
	page.WaitFor(t, `document.querySelector("[data-said]").textContent.includes("11 files read: 13 songs ranked.")`)
	got := browsertest.Eval[listing](t, page, listingNow)
	got.inOrder(t)
	if !strings.Contains(strings.Join(got.Files, " "), "tunes/mill/nine-knocks.mid") {
		t.Errorf("files: %q", got.Files)
	}
	if tempo := browsertest.Eval[string](t, page, `document.querySelector("#survey-tempo").value`); tempo != "90" {
		t.Errorf("the tempo asked for is now %q", tempo)
	}
	page.Screenshot(t, "survey-without-scripts")
	page.NoSideScroll(t)
	scripts(false) // the browser's own checks are scripts
}

func TestSurveyedSongIsKeptOnRequest(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	folder := folderOf(t, webtest.File("pair.mid", webtest.MIDIFile(2, "High", "Higher")), webtest.File("one.mid", webtest.MIDIFile(0, "One")), webtest.File("nine-knocks.mid", demo.Songs()[2].Bytes))
	page := browsertest.Start(t).Open(t, a.URL+"/survey", browsertest.Laptop)
	page.DropFiles(t, "form[data-survey]", folder)
	page.WaitFor(t, surveyDone)
	before := a.Kept(t)
	row := func(file string) string { return fmt.Sprintf(`[data-file="tunes/%s"]`, file) }
	page.Click(t, row("one.mid")+" [data-keep] button")
	page.WaitFor(t, fmt.Sprintf(`document.querySelector('%s [data-title] a')`, row("one.mid")))
	page.Click(t, row("pair.mid")+" [data-keep] button")
	page.WaitFor(t, fmt.Sprintf(`document.querySelectorAll('%s [data-title] a').length === 2`, row("pair.mid")))
	if after := a.Kept(t); after[1] != before[1]+3 {
		t.Errorf("%d songs are kept, want 3 more than %d", after[1], before[1])
	}
	links := func(file string) string {
		return browsertest.Eval[string](t, page, fmt.Sprintf(`document.querySelector('%s [data-title] a').getAttribute("href").replace(location.origin, "")`, row(file)))
	}
	if got, want := links("one.mid"), fmt.Sprintf("/songs/%d?", a.SongID(t, "One")); !strings.HasPrefix(got, want) {
		t.Errorf("it leads to %s, want %s", got, want)
	}
	if got, want := links("nine-knocks.mid"), fmt.Sprintf("/songs/%d?", a.SongID(t, "Nine Knocks")); !strings.HasPrefix(got, want) {
		t.Errorf("a song that was kept already leads to %s, want %s", got, want)
	}
	if got := browsertest.Eval[string](t, page, `document.activeElement.textContent`); got != "High" && got != "Higher" {
		t.Errorf("the focus is on %q", got)
	}
	page.Click(t, row("pair.mid")+" [data-title] a")
	page.WaitFor(t, `document.querySelector("h1").textContent === "Songs" && [...document.querySelectorAll("main [role=status] a")].map((a) => a.textContent).join() === "High,Higher"`)
}

// Back from a song, by the browser and by the links above it, the ranking is there
// as it was, and nothing is judged again.
func TestTheRankingIsStillThereOnGoingBack(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	page := browsertest.Start(t).Open(t, a.URL+"/survey", browsertest.Laptop)
	page.Type(t, "#survey-tempo", "90")
	page.DropFiles(t, "form[data-survey]", folderOf(t, mixedFiles(t)...))
	checkMixed(t, page, "tunes/")
	before := browsertest.Eval[listing](t, page, listingNow)
	for i, back := range []string{`history.back()`, `document.querySelector("nav.trail a").click()`} {
		// By a script, as a page that comes back whole has other nodes for the driver.
		page.Do(t, "open the song", chromedp.Evaluate[chromedp.Void](`document.querySelector('[data-file="tunes/mill/nine-knocks.mid"] [data-title] a').click()`))
		page.WaitFor(t, `document.querySelector("#brief") && document.querySelector("#tempo").value === "90"`)
		page.Do(t, "go back", chromedp.Evaluate[chromedp.Void](back))
		page.WaitFor(t, `location.pathname === "/survey" && document.querySelectorAll("[data-songs] tbody tr").length === 13`)
		after := browsertest.Eval[listing](t, page, listingNow)
		after.inOrder(t)
		if fmt.Sprint(after.Files, after.Suits, after.Said, after.Working) != fmt.Sprint(before.Files, before.Suits, before.Said, before.Working) || len(after.Unread) != len(before.Unread) {
			t.Errorf("way %d: it shows\n%+v\nand showed\n%+v", i+1, after, before)
		}
	}
}

func TestSurveySaysWhatIsWrongOnThePage(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	page := browsertest.Start(t).Open(t, a.URL+"/survey", browsertest.Laptop)
	problem := func(want string) {
		t.Helper()
		page.WaitFor(t, `!document.querySelector(".survey-said [data-problem]").hidden && document.querySelector("[data-work]").hidden`)
		if got := browsertest.Eval[listing](t, page, listingNow); !strings.Contains(got.Problem, want) {
			t.Errorf("it says %q, want %q", got.Problem, want)
		}
	}
	page.Click(t, "form[data-survey] .main")
	problem("No file was chosen; choose a folder or files, or drop them here.")
	page.DropFiles(t, "form[data-survey]", folderOf(t, webtest.File("a.txt", nil), webtest.File("in/b.pdf", nil)))
	problem("There is no MIDI file in it (2 other files); their names end in .mid, .midi, .smf, .kar or .rmi.")

	songs := folderOf(t, webtest.File("one.mid", webtest.MIDIFile(0, "One")))
	page.Type(t, "#survey-tempo", "NaN")
	page.DropFiles(t, "form[data-survey]", songs)
	problem(`The tempo is "NaN"; it should be a number of beats per minute from 1 to 1000.`)
	_ = page.Troubles(t) // the refusal stands on the console
	page.Type(t, "#survey-tempo", "72,5")
	page.Click(t, "[data-rest]")
	page.WaitFor(t, surveyDone)
	if got := browsertest.Eval[string](t, page, `document.querySelector("[data-songs] tbody td:nth-child(8)").textContent`); got != "Tempo, BPM: 72.5" {
		t.Errorf("judged at %s BPM, want 72.5", got)
	}

	// A file that goes away is listed, and does not stop the others.
	gone := folderOf(t, webtest.File("a.mid", webtest.MIDIFile(0, "A")), webtest.File("b.mid", webtest.MIDIFile(0, "B")))
	page.Upload(t, "#survey-files", filepath.Join(gone, "a.mid"), filepath.Join(gone, "b.mid"))
	if err := os.Remove(filepath.Join(gone, "a.mid")); err != nil {
		t.Fatal(err)
	}
	page.Click(t, "form[data-survey] .main")
	page.WaitFor(t, `document.querySelector("[data-said]").textContent === "2 files read: 1 song ranked, 1 not judged."`)
	if got := browsertest.Eval[listing](t, page, listingNow); !strings.HasPrefix(got.Unread[0], "a.mid: it could not be opened") {
		t.Errorf("not judged: %q", got.Unread)
	}
	_ = page.Troubles(t) // the missing file may stand on the console

	// What was ranked stays when something else is dropped by mistake.
	page.DropFiles(t, "form[data-survey]", folderOf(t, webtest.File("a.txt", nil)))
	problem("There is no MIDI file in it (1 other file)")
	if got := browsertest.Eval[listing](t, page, listingNow); len(got.Titles) != 1 {
		t.Errorf("%d songs are left, want 1", len(got.Titles))
	}
}

// hatch is the app behind something that can fail as a network does.
type hatch struct {
	*httptest.Server
	most atomic.Int32  // files that it lets through at once; 0: any number
	open atomic.Int32  // how many surveys it lets through
	cut  atomic.Bool   // the others break off at once, else they are not answered
	kept chan struct{} // told when one that is not answered has come
	left chan struct{} // told when its page has gone
}

func newHatch(t *testing.T, a *webtest.App) *hatch {
	t.Helper()
	to, err := url.Parse(a.URL)
	if err != nil {
		t.Fatal(err)
	}
	proxy := &httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(to)
		r.Out.Header.Set("Origin", a.URL)
	}}
	d := &hatch{kept: make(chan struct{}, 1), left: make(chan struct{}, 1)}
	d.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodPost && d.open.Add(-1) < 0 {
			_, _ = io.Copy(io.Discard, r.Body) // after which it is seen that the page has gone
			if d.cut.Load() {
				panic(http.ErrAbortHandler)
			}
			select {
			case d.kept <- struct{}{}:
			default:
			}
			<-r.Context().Done()
			d.left <- struct{}{}
			return
		}
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return
		}
		if most := int(d.most.Load()); most > 0 && bytes.Count(body, []byte("MThd")) > most {
			w.WriteHeader(http.StatusRequestEntityTooLarge)
			fmt.Fprint(w, `<div class="problem"><p>It takes too long.</p></div>`)
			return
		}
		r.Body = io.NopCloser(bytes.NewReader(body))
		proxy.ServeHTTP(w, r)
	}))
	t.Cleanup(d.Close)
	return d
}

// manyTunes is a folder with songs of a note each.
func manyTunes(t *testing.T, n int) string {
	t.Helper()
	var files []page.Upload
	for i := range n {
		files = append(files, webtest.File(fmt.Sprintf("%04d.mid", i), webtest.MIDIFile(0, fmt.Sprintf("Song %d", i))))
	}
	return folderOf(t, files...)
}

const surveyStopped = `!document.querySelector("[data-rest]").hidden`

func TestSurveyKeepsItsResultsWhenTheProgramStops(t *testing.T) {
	d := newHatch(t, webtest.StartDemo(t, web.New))
	d.open.Store(2)
	d.cut.Store(true)
	page := browsertest.Start(t).Open(t, d.URL+"/survey", browsertest.Laptop)
	page.DropFiles(t, "form[data-survey]", manyTunes(t, 40))
	page.WaitFor(t, surveyStopped)
	if troubles := page.Troubles(t); len(troubles) == 0 {
		t.Error("the program did not stop")
	}
	got := browsertest.Eval[listing](t, page, listingNow)
	got.inOrder(t)
	if len(got.Titles) != 32 || got.Said != "32 of 40 files read: 32 songs ranked." || got.Rest != "Go on with the other 8 files" || got.Working ||
		got.Problem != "The program does not answer. Start it again if it was stopped, then go on." {
		t.Errorf("it shows %d songs, %q, %q, %q, working %v", len(got.Titles), got.Said, got.Problem, got.Rest, got.Working)
	}
	page.Screenshot(t, "survey-stopped")
	page.Axe(t)
	d.open.Store(10)
	page.Click(t, "[data-rest]")
	page.WaitFor(t, `document.querySelector("[data-said]").textContent === "40 files read: 40 songs ranked."`)
	got = browsertest.Eval[listing](t, page, listingNow)
	if got.inOrder(t); len(got.Titles) != 40 || got.Problem != "" || got.Rest != "" {
		t.Errorf("it shows %d songs, %q, %q", len(got.Titles), got.Problem, got.Rest)
	}
}

func TestSurveyCanBeCancelled(t *testing.T) {
	d := newHatch(t, webtest.StartDemo(t, web.New))
	d.open.Store(1)
	page := browsertest.Start(t).Open(t, d.URL+"/survey", browsertest.Phone)
	page.DropFiles(t, "form[data-survey]", manyTunes(t, 40))
	page.WaitFor(t, `document.querySelector("[data-line]").textContent === "16 of 40 files"`)
	page.Screenshot(t, "survey-at-work")
	page.NoSideScroll(t)
	page.Axe(t)
	<-d.kept
	page.Click(t, "[data-cancel]")
	page.WaitFor(t, surveyStopped)
	<-d.left // the program is told, and stops judging
	got := browsertest.Eval[listing](t, page, listingNow)
	got.inOrder(t)
	if len(got.Titles) != 16 || got.Said != "16 of 40 files read: 16 songs ranked." || got.Rest != "Go on with the other 24 files" || got.Problem != "" || got.Working {
		t.Errorf("it shows %d songs, %q, %q, %q, working %v", len(got.Titles), got.Said, got.Problem, got.Rest, got.Working)
	}
	if focus := browsertest.Eval[bool](t, page, `document.activeElement.matches("[data-rest]")`); !focus {
		t.Error("the focus is lost with the button")
	}
	d.open.Store(10)
	page.DropFiles(t, "form[data-survey]", manyTunes(t, 3)) // another folder starts anew
	page.WaitFor(t, `document.querySelector("[data-said]").textContent === "3 files read: 3 songs ranked."`)
	if got := browsertest.Eval[listing](t, page, listingNow); len(got.Titles) != 3 {
		t.Errorf("%d songs are ranked, want 3", len(got.Titles))
	}
}

// Where judging a few files takes too long, fewer are sent; one that takes too
// long alone is listed.
func TestSurveyOfSlowFilesSendsFewerAtOnce(t *testing.T) {
	d := newHatch(t, webtest.StartDemo(t, web.New))
	d.open.Store(1000)
	d.most.Store(3)
	slow := webtest.File("slow.mid", bytes.Repeat([]byte("MThd"), 4))
	files := []page.Upload{slow}
	for i := range 20 {
		files = append(files, webtest.File(fmt.Sprintf("%d.mid", i), webtest.MIDIFile(0, "One")))
	}
	page := browsertest.Start(t).Open(t, d.URL+"/survey", browsertest.Laptop)
	page.DropFiles(t, "form[data-survey]", folderOf(t, files...))
	page.WaitFor(t, surveyDone)
	if troubles := page.Troubles(t); len(troubles) == 0 {
		t.Error("nothing was refused")
	}
	got := browsertest.Eval[listing](t, page, listingNow)
	if got.inOrder(t); len(got.Titles) != 20 || len(got.Unread) != 1 || got.Unread[0] != "tunes/slow.mid: It takes too long." || got.Rest != "" {
		t.Errorf("it shows %d songs, not judged %q, %q", len(got.Titles), got.Unread, got.Rest)
	}
}
