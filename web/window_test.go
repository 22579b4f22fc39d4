package web

import (
	"context"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pinwright/timing"
	"pinwright/wheel/demo"
)

// The page's window is that of the mechanics, with the margin that the house has
// settled.
func TestWindowPageShowsTheWindowOfTheMechanics(t *testing.T) {
	a := newDemo(t)
	path := a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	p, err := a.store.Pinning(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	turn, err := works.Turn(p.File)
	if err != nil {
		t.Fatal(err)
	}
	for _, margin := range []string{"10", "15"} {
		if status, to := a.post(t, "/visitors/margin", url.Values{"margin": {margin}, "pinning": {"1"}}); status != http.StatusSeeOther || to != path+"/window" {
			t.Fatalf("%d %s", status, to)
		}
		percent, _ := strconv.ParseFloat(margin, 64)
		win := turn.Window(percent / 100)
		if !win.Open {
			t.Fatal("Nine Knocks has no window")
		}
		status, body := a.get(t, path+"/window")
		want := `data-window>` + lowBPM(win.FromBPM) + " to " + safeBPM(win.ToBPM)
		if status != http.StatusOK || !strings.Contains(body, want) {
			t.Errorf("at %s %%: %d, want %q", margin, status, want)
		}
	}
	if status, body := a.get(t, path+"/timing"); status != http.StatusOK || !strings.Contains(body, path+"/window") || !strings.Contains(body, `class="window"`) {
		t.Errorf("%d: the tempo strip has no mark of the window, or no link to it", status)
	}
}

func TestSetForSlowIsKeptBesideTheOldPinning(t *testing.T) {
	ctx := context.Background()
	a := newDemo(t)
	path := a.keepPinning(t, "Mill Race", nil)
	before, err := a.store.Pinning(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	status, body := a.get(t, path+"/window?from=40&to=60")
	if status != http.StatusOK || strings.Count(body, "data-window>") != 3 {
		t.Fatalf("%d, %d windows; want the one above and two side by side", status, strings.Count(body, "data-window>"))
	}
	status, to := a.post(t, path+"/window/keep", url.Values{"from": {"40"}, "to": {"60"}, "tempo": {"50"}, "title": {"Mill Race, slow"}})
	if status != http.StatusSeeOther || to != "/pinnings/2/window" {
		t.Fatalf("%d %s", status, to)
	}
	slow, err := a.store.Pinning(ctx, 2)
	if err != nil {
		t.Fatal(err)
	}
	if slow.Title != "Mill Race, slow" || slow.TempoBPM != 50 || slow.SongID != before.SongID || slow.Pins != before.Pins {
		t.Errorf("kept as %+v", slow.PinningRow)
	}
	after, err := a.store.Pinning(ctx, 1)
	if err != nil || after.Revision != before.Revision || after.Title != before.Title {
		t.Errorf("the old pinning is now %+v, %v", after.PinningRow, err)
	}
}

func TestWindowPageSaysWhatIsNoRange(t *testing.T) {
	a := newDemo(t)
	path := a.keepPinning(t, "Nine Knocks", nil)
	for _, c := range []struct{ from, to, says string }{
		{"60", "40", "The range of tempo goes from 60 down to 40 BPM; the slower one comes first."},
		{"0", "40", "The tempo is &#34;0&#34;; it should be a number of beats per minute from 1 to 1000."},
		{"fast", "40", "The tempo is &#34;fast&#34;"},
		{"40", "900", "900 BPM in it; it should lie within the machine"},
	} {
		status, body := a.get(t, path+"/window?"+url.Values{"from": {c.from}, "to": {c.to}}.Encode())
		if status != http.StatusOK || !strings.Contains(body, c.says) {
			t.Errorf("%s to %s: %d, want %q", c.from, c.to, status, c.says)
		}
		if !regexp.MustCompile(`data-window>[0-9]`).MatchString(body) {
			t.Errorf("%s to %s: the window as it is went away", c.from, c.to)
		}
		if status, body = a.post(t, path+"/window/keep", url.Values{"from": {c.from}, "to": {c.to}, "tempo": {"50"}, "title": {"Other"}}); status != http.StatusUnprocessableEntity {
			t.Errorf("%s to %s is kept: %d %s", c.from, c.to, status, body)
		}
	}
	for _, title := range []string{"", "Nine Knocks"} {
		if status, _ := a.post(t, path+"/window/keep", url.Values{"from": {"40"}, "to": {"60"}, "tempo": {"50"}, "title": {title}}); status != http.StatusUnprocessableEntity {
			t.Errorf("the title %q is taken: %d", title, status)
		}
	}
	for _, margin := range []string{"100", "-1", "much", "NaN", "1e9"} {
		if status, body := a.post(t, "/visitors/margin", url.Values{"margin": {margin}}); status != http.StatusUnprocessableEntity || !strings.Contains(body, "margin") {
			t.Errorf("a margin of %s: %d", margin, status)
		}
	}
}
