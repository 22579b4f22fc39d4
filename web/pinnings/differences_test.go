package pinnings_test

import (
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/history"
)

type answeredDifferences struct {
	From, To struct {
		Is, Name string
		Pins     int
	}
	Driven, Pulled, Aimed int
	Changes               []wheel.PinChange
	Problem               string
}

func differences(t *testing.T, a *webtest.App, id int64, from, to string) (int, answeredDifferences) {
	t.Helper()
	query := url.Values{"from": {from}, "to": {to}}
	status, body := a.Get(t, strings.TrimPrefix(address(a, id), a.URL)+"/differences?"+query.Encode())
	var d answeredDifferences
	if err := json.Unmarshal([]byte(body), &d); err != nil {
		t.Fatalf("%d %s: %v", status, body, err)
	}
	return status, d
}

// The three kinds of differences, each worked by hand from the edits made.
func TestDifferencesAreThoseOfTheEditsBetween(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	id := fourDrops(t, a) // Bar C5 at 0, 40 and 80, Tube D3 at 100
	ctx := context.Background()
	edit := func(editID string, changes ...wheel.PinChange) {
		t.Helper()
		if _, err := a.Store.Edit(ctx, id, history.NewEdit{ID: editID, Base: 99, Kind: "drive", Words: "w", Changes: changes}); err == nil {
			t.Fatal("an edit from the future was kept")
		}
		p, err := a.Store.Pinning(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := a.Store.Edit(ctx, id, history.NewEdit{ID: editID, Base: p.Seq, Kind: "drive", Words: "w", Changes: changes}); err != nil {
			t.Fatal(err)
		}
	}
	edit("one", wheel.Drive(wheel.Pin{Channel: "bar-c5", Step: 8}))
	mark, err := a.Store.SetMark(ctx, id, "before the school visit")
	if err != nil {
		t.Fatal(err)
	}
	edit("two", wheel.Pull(wheel.Pin{Channel: "bar-c5", Step: 40}),
		wheel.PinChange{Channel: "bar-c5", Step: 80, Was: wheel.InHole{Pin: true}, Now: wheel.InHole{Pin: true, Aim: wheel.AimAt(85)}})
	other, err := a.Store.AddPinning(ctx, 1, 0, &wheel.Pinning{Format: wheel.PinningFormat, Title: "Lone", Pins: []wheel.Pin{{Channel: "bar-c5", Step: 0}}})
	if err != nil {
		t.Fatal(err)
	}
	if mark.ID != 1 || other != id+1 {
		t.Fatalf("mark %d, pinning %d", mark.ID, other)
	}
	for _, c := range []struct {
		from, to              string
		name                  string // of from
		pins                  int
		driven, pulled, aimed int
	}{
		{"seq:0", "now", "as it came in", 4, 1, 1, 1},
		{"mark:1", "now", "before the school visit", 5, 0, 1, 1},
		{"seq:1", "mark:1", "as edit 1 left it", 5, 0, 0, 0},
		{"now", "seq:0", "now", 4, 1, 1, 1},
		{"", "", "now", 4, 0, 0, 0},
		{"now", "pinning:2", "now", 4, 0, 3, 0},
		{"pinning:2", "seq:0", "Lone", 1, 3, 0, 0},
	} {
		status, d := differences(t, a, id, c.from, c.to)
		if status != http.StatusOK || d.From.Name != c.name || d.From.Pins != c.pins || [3]int{d.Driven, d.Pulled, d.Aimed} != [3]int{c.driven, c.pulled, c.aimed} {
			t.Errorf("from %q to %q: %d %+v; want %+v", c.from, c.to, status, d, c)
		}
		if len(d.Changes) != d.Driven+d.Pulled+d.Aimed {
			t.Errorf("from %q to %q: %d changes, counted %d", c.from, c.to, len(d.Changes), d.Driven+d.Pulled+d.Aimed)
		}
	}
}

func TestDifferencesThatCannotBeAskedAreSaidWhy(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	id := fourDrops(t, a)
	ctx := context.Background()
	m := demo.Machine()
	m.Name = "Squall"
	squall, err := a.Store.AddMachine(ctx, m)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.Store.AddPinning(ctx, squall, 0, &wheel.Pinning{Format: wheel.PinningFormat, Title: "Elsewhere"}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		from, says string
		status     int
	}{
		{"yesterday", "from is \"yesterday\"; it should be now, or mark, seq or pinning with a number", http.StatusUnprocessableEntity},
		{"mark:", "it should be now", http.StatusUnprocessableEntity},
		{"mark:-1", "it should be now", http.StatusUnprocessableEntity},
		{"mark:7", "no mark 7", http.StatusNotFound},
		{"seq:7", "no edit 7", http.StatusNotFound},
		{"pinning:7", "no pinning 7", http.StatusNotFound},
		{"pinning:2", "Elsewhere is a pinning of another machine", http.StatusUnprocessableEntity},
	} {
		status, d := differences(t, a, id, c.from, "now")
		if status != c.status || !strings.Contains(d.Problem, c.says) {
			t.Errorf("from %q: %d %q; want %d %q", c.from, status, d.Problem, c.status, c.says)
		}
	}
	if status, d := differences(t, a, 99, "now", "now"); status != http.StatusNotFound || d.Problem == "" {
		t.Errorf("a pinning that is not there: %d %q", status, d.Problem)
	}
}
