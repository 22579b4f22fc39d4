package visitors_test

import (
	"context"
	"fmt"
	"html"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pinwright/timing"
	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/say"
)

// The page's window is that of the mechanics, with the margin that the house has
// settled.
func TestWindowPageShowsTheWindowOfTheMechanics(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	p, err := a.Store.Pinning(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	turn, err := works.Turn(p.File)
	if err != nil {
		t.Fatal(err)
	}
	for _, margin := range []string{"10", "5"} {
		if status, to := a.Post(t, "/visitors/margin", url.Values{"margin": {margin}, "pinning": {"1"}}); status != http.StatusSeeOther || to != path+"/window" {
			t.Fatalf("%d %s", status, to)
		}
		percent, _ := strconv.ParseFloat(margin, 64)
		win := turn.Window(percent / 100)
		if !win.Open {
			t.Fatal("Nine Knocks has no window")
		}
		status, body := a.Get(t, path+"/window")
		want := `data-window>` + say.TempoUp(win.FromBPM) + " to " + say.TempoDown(win.ToBPM)
		if status != http.StatusOK || !strings.Contains(body, want) {
			t.Errorf("at %s %%: %d, want %q", margin, status, want)
		}
	}
	if status, body := a.Get(t, path+"/timing"); status != http.StatusOK || !strings.Contains(body, path+"/window") || !strings.Contains(body, `class="window"`) {
		t.Errorf("%d: the tempo strip has no mark of the window, or no link to it", status)
	}
}

// fieldText is what a page's field holds.
func fieldText(body, name string) string {
	found := regexp.MustCompile(`<input[^>]* name="` + name + `"[^>]* value="([^"]*)"`).FindStringSubmatch(body)
	if found == nil {
		return ""
	}
	return html.UnescapeString(found[1])
}

// fieldSays is what the page says is wrong with a field.
func fieldSays(body, name string) string {
	found := regexp.MustCompile(`<p id="` + name + `-wrong"[^>]*>([^<]*)</p>`).FindStringSubmatch(body)
	if found == nil {
		return ""
	}
	return found[1]
}

// Set for 150 BPM, Mill Race is nowhere near together at slow tempos. What the page
// proposes of itself can be held, its tempo lies in the window beside it, and kept
// as it is proposed the new pinning is inside its own window.
func TestWindowPageProposesWhatCanBeHeldAndKept(t *testing.T) {
	ctx := context.Background()
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Mill Race", url.Values{"tempo": {"150"}})
	before, err := a.Store.Pinning(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	status, body := a.Get(t, path+"/window")
	if status != http.StatusOK || strings.Count(body, "data-window>") != 3 {
		t.Fatalf("%d, %d windows; want the one above and two side by side", status, strings.Count(body, "data-window>"))
	}
	form := url.Values{}
	for _, name := range []string{"from", "to", "tempo", "title"} {
		form.Set(name, fieldText(body, name))
	}
	status, to := a.Post(t, path+"/window/keep", form)
	if status != http.StatusSeeOther || to != "/pinnings/2/window" {
		t.Fatalf("%v is proposed: %d %s", form, status, to)
	}
	slow, err := a.Store.Pinning(ctx, 2)
	if err != nil {
		t.Fatal(err)
	}
	if slow.Title != form.Get("title") || slow.SongID != before.SongID || slow.Pins != before.Pins {
		t.Errorf("kept as %+v", slow.PinningRow)
	}
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	turn, err := works.Turn(slow.File)
	if err != nil {
		t.Fatal(err)
	}
	if win := turn.Window(timing.DefaultMargin); !win.Holds(slow.TempoBPM) {
		t.Errorf("its tempo is %g BPM, its window %g to %g", slow.TempoBPM, win.FromBPM, win.ToBPM)
	}
	for _, name := range []string{"from", "to"} {
		bpm, err := strconv.ParseFloat(form.Get(name), 64)
		if err != nil || turn.Flam(bpm)*1000 > demo.Machine().Limits.FlamMS {
			t.Errorf("at %q of the proposed range chords spread by %g ms", form.Get(name), turn.Flam(bpm)*1000)
		}
	}
	after, err := a.Store.Pinning(ctx, 1)
	if err != nil || after.Revision != before.Revision || after.Title != before.Title {
		t.Errorf("the old pinning is now %+v, %v", after.PinningRow, err)
	}
}

// At its own tempo of 80 BPM Frère Jacques has the best advances that there are for
// slow tempos: no pin would move, and a copy is not offered.
func TestSetForSlowOffersNothingWhereNoPinMoves(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Frère Jacques", nil)
	for _, query := range []string{"", "?from=54&to=80"} {
		status, body := a.Get(t, path+"/window"+query)
		if status != http.StatusOK || !strings.Contains(body, "no pin would move") || strings.Contains(body, "Keep the new pinning") {
			t.Errorf("%s: %d, and a copy is offered", query, status)
		}
	}
	status, body := a.Post(t, path+"/window/keep", url.Values{"from": {"54"}, "to": {"80"}, "tempo": {"67"}, "title": {"Other"}})
	if status != http.StatusUnprocessableEntity || !strings.Contains(body, "no pin would move") {
		t.Errorf("a copy is kept: %d", status)
	}
	if kept := a.Kept(t); kept[2] != 1 {
		t.Errorf("%d pinnings are kept", kept[2])
	}
}

// A pinning has its advances by channel or as the aims of its pins; the page reads
// both. A step takes 196 ms at 76.5 BPM and 278 ms at 54 (15/T seconds).
func TestWindowPageReadsAdvancesFromTheAims(t *testing.T) {
	ctx := context.Background()
	a := webtest.StartDemo(t, web.New)
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	var told, aimed wheel.Pinning
	told = wheel.Pinning{Format: wheel.PinningFormat, Title: "With advances", Machine: "Hailstone", TempoBPM: 80, Advance: map[string]int{"bar-c5": 2, "tube-c3": 4},
		Pins: []wheel.Pin{{Channel: "bar-c5", Step: 14}, {Channel: "tube-c3", Step: 12}, {Channel: "bar-c5", Step: 46}, {Channel: "tube-c3", Step: 44}}}
	aimed = told
	aimed.Title, aimed.Advance, aimed.Pins = "Aims only", nil, nil
	for _, pin := range told.Pins {
		pin.Aim = wheel.AimAt(told.AimOf(pin))
		aimed.Pins = append(aimed.Pins, pin)
	}
	for i, p := range []*wheel.Pinning{&told, &aimed} {
		id, err := a.Store.AddPinning(ctx, 1, 0, p)
		if err != nil || id != int64(i+1) {
			t.Fatal(id, err)
		}
		turn, err := works.Turn(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct{ from, to float64 }{{76.5, 90}, {54, 80}} {
			flamMS := max(turn.Flam(c.from), turn.Flam(c.to)) * 1000
			status, body := a.Get(t, fmt.Sprintf("/pinnings/%d/window?from=%g&to=%g", id, c.from, c.to))
			for _, want := range []string{
				"instead of " + say.Rounded(flamMS, 1) + " ms, and", // two channels, always in one chord
				"instead of " + say.Rounded(flamMS, 1) + " ms. ",
			} {
				if status != http.StatusOK || !strings.Contains(strings.Join(strings.Fields(body), " "), want) {
					t.Errorf("%s, %g to %g BPM: %d, want %q", p.Title, c.from, c.to, status, want)
				}
			}
		}
	}
}

// Without a pin nothing strikes: no range is proposed and no copy kept.
func TestWindowPageOfAnEmptyPinningProposesNothing(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	if _, err := a.Store.AddPinning(context.Background(), 1, 0, &wheel.Pinning{Format: wheel.PinningFormat, Title: "Bare", Machine: "Hailstone", TempoBPM: 80}); err != nil {
		t.Fatal(err)
	}
	status, body := a.Get(t, "/pinnings/1/window")
	if status != http.StatusOK || !strings.Contains(body, "Bare has no pins yet") || strings.Contains(body, "faster range") || strings.Contains(body, "held-tempos") {
		t.Errorf("%d, and ranges are proposed", status)
	}
	if status, _ = a.Post(t, "/pinnings/1/window/keep", url.Values{"from": {"60"}, "to": {"80"}, "tempo": {"70"}, "title": {"Other"}}); status != http.StatusUnprocessableEntity || a.Kept(t)[2] != 1 {
		t.Errorf("a copy is kept: %d", status)
	}
}

// What a range is called is what its link asks for. Mill Race holds from 76.426
// to 88.853 BPM, and visitors are asked to turn it at 80.9 BPM at most: so much of
// the range is offered.
func TestWindowPageLinksToTheRangesThatItNames(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Mill Race", nil)
	_, body := a.Get(t, path+"/window")
	if want := `href="` + path + `/window?from=76.5&amp;to=80.9#slow-title"><span class="unseen">Work out </span>76.5 to 80.9<span`; !strings.Contains(body, want) {
		t.Errorf("the page lacks %s", want)
	}
}

// The wheel's page leads to the window, and the strip names its two ranges to those
// who see them and to those who do not.
func TestStripNamesItsBarsAndTheWheelLeadsToIt(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Mill Race", nil)
	if _, body := a.Get(t, path); !strings.Contains(body, `href="`+path+`/window">Tempo window for visitors</a>`) {
		t.Error("the wheel's page has no link to the window")
	}
	for _, page := range []string{"/window", "/timing"} {
		_, body := a.Get(t, path+page)
		label := regexp.MustCompile(`aria-label="(Tempo strip[^"]*)"`).FindStringSubmatch(body)
		for _, bar := range []string{"chords hold together from 76.5 to 88.8 BPM", "for visitors: 76.5 to 80.9 BPM"} {
			if label == nil || !strings.Contains(label[1], bar) {
				t.Errorf("%s: the strip's name lacks %q: %q", page, bar, label)
			}
		}
		for _, line := range []string{">chords together 76.5 to 88.8<", ">visitors 76.5 to 80.9<"} {
			if !strings.Contains(body, line) {
				t.Errorf("%s lacks %q", page, line)
			}
		}
	}
}

// What is refused is said beside the field, on the page that it was typed on, with
// all that was typed.
func TestWindowPageKeepsWhatWasTypedWhereItRefuses(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Mill Race", url.Values{"tempo": {"150"}})
	good := url.Values{"from": {"76.5"}, "to": {"88.8"}, "tempo": {"80"}, "title": {"Slow mill"}}
	for _, c := range []struct{ name, text, says string }{
		{"tempo", "500", "The tempo is &#34;500&#34;; it should be a tempo within the machine&#39;s range, 30 to 180 BPM."},
		{"tempo", "", "The tempo is missing; it should be"},
		{"tempo", "quick", "The tempo is &#34;quick&#34;"},
		{"title", "", "needs a title other than Mill Race"},
		{"title", "Mill Race", "needs a title other than Mill Race"},
		{"title", strings.Repeat("long ", 200), "title"},
		{"from", "", "The slower end of the range is missing; it should be a tempo within the machine&#39;s range, 30 to 180 BPM."},
		{"to", "900", "The faster end of the range is &#34;900&#34;"},
		{"to", "60", "goes from 76.5 down to 60 BPM"},
	} {
		form := maps.Clone(good)
		form.Set(c.name, c.text)
		status, body := a.Post(t, path+"/window/keep", form)
		if status != http.StatusUnprocessableEntity || !strings.Contains(body, c.says) {
			t.Errorf("%s %q: %d, want %q", c.name, say.Short(c.text), status, c.says)
		}
		for name := range form {
			if got := fieldText(body, name); got != form.Get(name) {
				t.Errorf("%s %q: %s was %q and is now %q", c.name, say.Short(c.text), name, form.Get(name), got)
			}
		}
	}
	_, body := a.Post(t, path+"/window/keep", url.Values{"from": {"slow"}, "to": {""}, "tempo": {"quick"}, "title": {""}})
	for _, want := range []string{"The slower end of the range is ", "The faster end of the range is missing", "The tempo is &#34;quick&#34;", "The new pinning needs a title"} {
		if !strings.Contains(body, want) {
			t.Errorf("of four wrong fields it does not say %q", want)
		}
	}
	if kept := a.Kept(t); kept[2] != 1 {
		t.Errorf("%d pinnings are kept", kept[2])
	}
	for text, says := range map[string]string{
		"100":  "The margin is 100 % of the red line; it should be from 0 to below 100 %.",
		"-1":   "The margin is -1 % of",
		"much": "The margin is &#34;much&#34;; it should be a percentage from 0 to below 100.",
		"":     "The margin is missing",
		"NaN":  "The margin is",
		"1e9":  "The margin is",
	} {
		status, body := a.Post(t, "/visitors/margin", url.Values{"margin": {text}, "pinning": {"1"}, "from": {"77"}, "to": {"88"}})
		if status != http.StatusUnprocessableEntity || !strings.Contains(fieldSays(body, "margin"), says) {
			t.Errorf("a margin of %q: %d, want %q beside the field", text, status, says)
		}
		if fieldText(body, "margin") != text || fieldText(body, "from") != "77" || fieldText(body, "to") != "88" {
			t.Errorf("a margin of %q: what was typed is now %q, %q, %q", text, fieldText(body, "margin"), fieldText(body, "from"), fieldText(body, "to"))
		}
	}
	if status, to := a.Post(t, "/visitors/margin", url.Values{"margin": {"12"}, "pinning": {"1"}, "from": {"77"}, "to": {"88"}}); status != http.StatusSeeOther || to != path+"/window?from=77&to=88" {
		t.Errorf("the range asked for is lost: %d %s", status, to)
	}
}

func TestWindowPageSaysWhatIsNoRange(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	path := a.SetSong(t, "Nine Knocks", nil)
	for _, c := range []struct{ from, to, says string }{
		{"60", "40", "The range of tempo goes from 60 down to 40 BPM; the slower one comes first."},
		{"0", "40", "The slower end of the range is &#34;0&#34;; it should be a tempo within the machine&#39;s range, 30 to 180 BPM."},
		{"fast", "40", "The slower end of the range is &#34;fast&#34;"},
		{"40", "900", "The faster end of the range is &#34;900&#34;"},
	} {
		status, body := a.Get(t, path+"/window?"+url.Values{"from": {c.from}, "to": {c.to}}.Encode())
		if status != http.StatusOK || !strings.Contains(body, c.says) {
			t.Errorf("%s to %s: %d, want %q", c.from, c.to, status, c.says)
		}
		if !regexp.MustCompile(`data-window>[0-9]`).MatchString(body) {
			t.Errorf("%s to %s: the window as it is went away", c.from, c.to)
		}
		if status, body = a.Post(t, path+"/window/keep", url.Values{"from": {c.from}, "to": {c.to}, "tempo": {"50"}, "title": {"Other"}}); status != http.StatusUnprocessableEntity {
			t.Errorf("%s to %s is kept: %d %s", c.from, c.to, status, body)
		}
	}
	for query, says := range map[string]string{"from=40": "The faster end of the range is missing", "to=40": "The slower end of the range is missing"} {
		if _, body := a.Get(t, path+"/window?"+query); !strings.Contains(body, says) {
			t.Errorf("%s: want %q", query, says)
		}
	}
	for _, margin := range []string{"100", "-1", "much", "NaN", "1e9"} {
		if status, body := a.Post(t, "/visitors/margin", url.Values{"margin": {margin}}); status != http.StatusUnprocessableEntity || fieldSays(body, "margin") == "" || fieldText(body, "margin") != margin {
			t.Errorf("a margin of %s on the page of programmes: %d, and %q in the field", margin, status, fieldText(body, "margin"))
		}
	}
}
