package page

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"pinwright/wheel"
)

func TestJSONThatCannotBeReadIsExplainedInPlainWords(t *testing.T) {
	type pin struct {
		Step int `json:"step"`
	}
	for _, c := range []struct{ body, says string }{
		{`{"after": 3}`, ""},
		{`{"after": "x"}`, `"after" is a string; it should be a whole number.`},
		{`{"after": 1.5}`, `"after" is 1.5; it should be a whole number.`},
		{`{"after": 99999999999999999999}`, `"after" is 99999999999999999999; it should be a whole number of ordinary size.`},
		{`{"tempo": 1e999}`, `"tempo" is 1e999; it should be a number of ordinary size.`},
		{`{"hole": 5}`, `what a hole holds is 5; it should be {"aim": 16}, {} or null.`},
		{`{"name": 7}`, `"name" is a number; it should be a string.`},
		{`{"there": 0}`, `"there" is a number; it should be true or false.`},
		{`{"tempo": true}`, `"tempo" is true or false; it should be a number.`},
		{`{"pins": {}}`, `"pins" is an object; it should be an array.`},
		{`{"pins": [{"step": []}]}`, `"pins.step" is an array; it should be a whole number.`},
		{`[1]`, `it is an array; it should be an object.`},
		{`{"force": true}`, `there is no field "force".`},
		{`{"after": 3`, `it is not whole JSON.`},
		{``, `there is nothing in it.`},
		{`{} {}`, `there is more than one value.`},
		{`{} x`, `it is not whole JSON.`},
	} {
		var v struct {
			After int64   `json:"after"`
			Name  string  `json:"name"`
			There bool    `json:"there"`
			Tempo float64 `json:"tempo"`
			Pins  []pin   `json:"pins"`

			Hole wheel.InHole `json:"hole"` // which reads itself
		}
		err := DecodeJSON(strings.NewReader(c.body), &v)
		if c.says == "" {
			if err != nil || v.After != 3 {
				t.Errorf("%s: %v, %+v", c.body, err, v)
			}
			continue
		}
		want := "The page sent what this program cannot read: " + c.says + " Load the page again."
		if !errors.Is(err, wheel.ErrMalformed) || err.Error() != want {
			t.Errorf("%s: %q, want %q", c.body, err, want)
		}
	}
}

func TestEveryWrongFieldOfAFormIsNamed(t *testing.T) {
	f := &Form{Values: url.Values{"wander": {"x"}, "start": {"300"}, "revision": {"-1"}, "pause": {" 1,5 "}, "n": {"7"}}}
	if v, n := f.Number("pause", "The pause", "minutes", 0, 60), f.Whole("n", "The number of turns", 1, 7); v != 1.5 || n != 7 || f.Err() != nil {
		t.Errorf("%g, %d, %v", v, n, f.Err())
	}
	f.Number("wander", "The wander", "per cent", 0, 50)
	f.Whole("start", "The start", 0, 271)
	f.Whole("gone", "The turns", 1, 9)
	f.Note("revision", "the machine that it changes", 1)
	want := `The wander is "x"; it should be a number of per cent, 0 to 50.
The start is "300"; it should be a whole number from 0 to 271.
The turns is missing; it should be a whole number from 1 to 9.
The page's own note of the machine that it changes (its field revision) is "-1"; it should be a whole number from 1. Open the page again.`
	if err := f.Err(); !errors.Is(err, wheel.ErrInvalid) || err.Error() != want {
		t.Errorf("%v", err)
	}
}

func TestAFieldKnowsWhatIsWrongWithIt(t *testing.T) {
	f := &Form{Values: url.Values{"from": {"20"}, "to": {"90"}}}
	l := wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180}
	if from, to := f.Tempo("from", "The slower end", l), f.Tempo("to", "The faster end", l); from != 0 || to != 90 {
		t.Errorf("%g and %g", from, to)
	}
	want := Field{Text: "20", Problem: `The slower end is "20"; it should be a tempo within the machine's range, 30 to 180 BPM.`}
	if got := f.Field("from"); got != want {
		t.Errorf("%+v", got)
	}
	if got := f.Field("to"); got != (Field{Text: "90"}) {
		t.Errorf("%+v", got)
	}
}

func TestAFormIsReadHoweverItIsSent(t *testing.T) {
	const parts = "--x\r\nContent-Disposition: form-data; name=\"title\"\r\n\r\nMill Race\r\n--x--\r\n"
	for kind, body := range map[string]string{"application/x-www-form-urlencoded": "title=Mill+Race", "multipart/form-data; boundary=x": parts} {
		r := httptest.NewRequest("POST", "/", strings.NewReader(body))
		r.Header.Set("Content-Type", kind)
		got := ""
		err := WithForm(func(_ http.ResponseWriter, r *http.Request) error { got = Sent(r).Text("title"); return nil })(httptest.NewRecorder(), r)
		if err != nil || got != "Mill Race" {
			t.Errorf("%s: %q, %v", kind, got, err)
		}
	}
}

// An id, parts after it and a query at the end.
func TestAddressesOfPages(t *testing.T) {
	for got, want := range map[string]string{
		SongURL(7):                               "/songs/7",
		PinningURL(3, "timing?tempo=84"):         "/pinnings/3/timing?tempo=84",
		MachineURL(1, "troubles", "5", "mended"): "/machines/1/troubles/5/mended",
		JobURL(1, 4, "taps"):                     "/machines/1/jobs/4/taps",
		ProgrammeURL(2) + "#songs":               "/programmes/2#songs",
		PinURL(3, "84.5", "bar-c5", 14):          "/pinnings/3?tempo=84.5#bar-c5.14",
	} {
		if got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}

func TestWhatIsTooLargeIsNotCalledBroken(t *testing.T) {
	if err := Broken(&http.MaxBytesError{Limit: 1}); errors.Is(err, wheel.ErrMalformed) {
		t.Error(err)
	}
}
