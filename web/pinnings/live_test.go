package pinnings_test

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/desk"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/history"
)

func TestEditOfOnePageReachesTheOtherWithItsVerdict(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	id := knocks(t, a)
	one, two := a.Connect(t, id), a.Connect(t, id)
	one.Send(t, `{"do": "open", "after": 0, "name": "bench"}`)
	one.Until(t, "state")
	two.Send(t, `{"do": "open", "after": 0, "tempo": 150}`)
	if h := two.Until(t, "state"); h.People != 2 || h.Undo != nil {
		t.Errorf("the second hears %+v; two are there and nothing is done yet", h)
	}

	one.Send(t, `{"do": "edit", "id": "e1", "base": 0, "kind": "drive", "words": "drive Tube D3, bar 3 beat 3", "changes": [{"channel": "tube-d3", "step": 40, "now": {}}, {"channel": "tube-d3", "step": 41, "now": {}}]}`)
	if h := two.Until(t, "edit"); h.Seq != 1 || h.By != "bench" || len(h.Changes) != 2 {
		t.Errorf("the second hears of the edit %+v", h)
	}
	// Worked by hand: the gate of Tube D3 takes 265 ms, one step apart at four a
	// beat is 60/(4 × 0.265) = 56.6 BPM; the red line is below it.
	v := two.Until(t, "verdict")
	if !strings.Contains(v.Listed, "unready") || !strings.HasPrefix(v.Made, "86.2 to 46.3 BPM: Tube D3, bar 3 beat 3") || !strings.Contains(v.Brief, "150 BPM") {
		t.Errorf("verdict: made %q, brief %q", v.Made, v.Brief)
	}
	if h := two.Until(t, "state"); h.Undo == nil || h.Undo.Words != "drive Tube D3, bar 3 beat 3" {
		t.Errorf("state %+v", h)
	}

	two.Send(t, `{"do": "undo", "id": "u1", "of": 1}`)
	if h := one.Until(t, "edit"); h.Seq != 1 {
		t.Errorf("its own edit comes back first: %+v", h)
	}
	if h := one.Until(t, "edit"); h.Kind != "undo" || len(h.Changes) != 2 {
		t.Errorf("the undo of the other is %+v", h)
	}
	one.Until(t, "state")
	two.Until(t, "state")
	one.Send(t, `{"do": "mark", "words": "before the school visit"}`)
	if h := two.Until(t, "state"); len(h.Marks) != 1 || h.Marks[0].Name != "before the school visit" || h.Redo == nil {
		t.Errorf("state after a mark: %+v", h)
	}
	var mark int64
	if marks, err := a.Store.Marks(context.Background(), id); err != nil || len(marks) != 1 {
		t.Fatal(marks, err)
	} else {
		mark = marks[0].ID
	}
	two.Sendf(t, `{"do": "unmark", "mark": %d}`, mark)
	one.Until(t, "state")
	if h := one.Until(t, "state"); len(h.Marks) != 0 {
		t.Errorf("state after the mark was taken off: %+v", h)
	}
	p, err := a.Store.Pinning(context.Background(), id)
	if err != nil || p.Seq != 2 {
		t.Errorf("kept: %+v, %v", p, err)
	}
}

func TestPageThatComesBackIsToldWhatItMissedAndSendsWhatItDid(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	id := knocks(t, a)
	one := a.Connect(t, id)
	one.Send(t, `{"do": "open", "after": 0}`)
	one.Until(t, "state")
	for i := range 3 {
		one.Sendf(t, `{"do": "edit", "id": "a%d", "base": %d, "kind": "drive", "words": "drive", "changes": [{"channel": "tube-d3", "step": %d, "now": {}}]}`, i, i, 100+i)
		one.Until(t, "state")
	}
	back := a.Connect(t, id)
	back.Send(t, `{"do": "open", "after": 1}`)
	if missed := back.Until(t, "missed").Edits; len(missed) != 2 || missed[0].Seq != 2 || missed[1].Seq != 3 || len(missed[1].Changes) != 1 {
		t.Errorf("it missed %+v, want edits 2 and 3", missed)
	}
	back.Until(t, "state")

	// It held the hole at 101 empty, and aims another pin in it.
	back.Send(t, `{"do": "edit", "id": "b1", "base": 1, "kind": "drive", "words": "drive", "changes": [{"channel": "tube-d3", "step": 101, "now": {"aim": 99}}, {"channel": "tube-d3", "step": 110, "now": {}}]}`)
	if h := back.Until(t, "asked"); len(h.Holes) != 1 || h.ID != "b1" || !strings.Contains(string(h.Holes[0]), "101") {
		t.Errorf("asked of %s", h.Holes)
	}
	p, err := a.Store.Pinning(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	there := map[int]bool{}
	for _, pin := range p.File.Pins {
		if pin.Channel == "tube-d3" {
			there[pin.Step] = true
		}
	}
	if !there[101] || !there[110] {
		t.Errorf("pins of the tube at %v; the one both touched stays, the other is kept", there)
	}

	back.Send(t, `{"do": "edit", "id": "a0", "base": 0, "kind": "drive", "words": "drive", "changes": [{"channel": "tube-d3", "step": 100, "now": {}}]}`)
	if h := back.Until(t, "edit"); h.Seq != 1 {
		t.Errorf("the edit sent twice came back as %d; it is edit 1", h.Seq)
	}
}

// However much it has missed, a page that comes back can go on.
func TestPageThatMissedManyEditsGoesOn(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	edited := func(edits int) int64 {
		t.Helper()
		id := knocks(t, a)
		for seq := range int64(edits) {
			change := wheel.Drive(wheel.Pin{Channel: "tube-d3", Step: 100})
			if seq%2 == 1 {
				change = wheel.Pull(wheel.Pin{Channel: "tube-d3", Step: 100})
			}
			_, err := a.Store.Edit(context.Background(), id, history.NewEdit{ID: fmt.Sprint("e", seq), Base: seq, Kind: "drive", Words: "drive or pull", Changes: []wheel.PinChange{change}})
			if err != nil {
				t.Fatal(err)
			}
		}
		return id
	}
	for _, missed := range []int{300, 500} { // more than the 256 messages that may wait; the most that are sent
		back := a.Connect(t, edited(missed))
		back.Send(t, `{"do": "open", "after": 0}`)
		edits := back.Until(t, "missed").Edits
		if len(edits) != missed || edits[0].Seq != 1 || edits[missed-1].Seq != int64(missed) {
			t.Errorf("of %d edits that it missed the page is told %d", missed, len(edits))
		}
		back.Until(t, "state")
	}
	back := a.Connect(t, edited(501))
	back.Send(t, `{"do": "open", "after": 0}`)
	back.Until(t, "anew")
	back.Sendf(t, `{"do": "open", "after": %d}`, 501)
	back.Until(t, "state")
	back.Send(t, `{"do": "edit", "id": "mine", "base": 0, "kind": "drive", "words": "drive", "changes": [{"channel": "tube-d3", "step": 7, "now": {}}]}`)
	back.Until(t, "edit")
}

// An edit that the program is at fault for not keeping is not refused: the page
// keeps it and sends it again.
func TestEditThatTheProgramCannotKeepNowIsPutOff(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	id := knocks(t, a)
	k := a.Connect(t, id)
	k.Send(t, `{"do": "open", "after": 0}`)
	k.Until(t, "state")
	if err := a.Store.Close(); err != nil {
		t.Fatal(err)
	}
	k.Send(t, `{"do": "edit", "id": "mine", "base": 0, "kind": "drive", "words": "drive", "changes": [{"channel": "tube-d3", "step": 7, "now": {}}]}`)
	if h := k.Until(t, "later"); h.ID != "mine" || h.Why == "" {
		t.Errorf("it hears %+v", h)
	}
}

func TestThoseWhoStayHearThatAPageHasLeft(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	id := knocks(t, a)
	stays, leaves := a.Connect(t, id), a.Connect(t, id)
	for _, k := range []*webtest.Client{stays, leaves} {
		k.Send(t, `{"do": "open", "after": 0}`)
		k.Until(t, "state")
	}
	if h := stays.Until(t, "state"); h.People != 2 {
		t.Errorf("%d are there, want 2", h.People)
	}
	leaves.Leave()
	if h := stays.Until(t, "state"); h.People != 1 {
		t.Errorf("%d are there, want 1", h.People)
	}
	stays.Send(t, `{"do": "here"}`)
	stays.Until(t, "here")
}

func TestWhatAPageMayNotAskIsRefusedInWordsAndNothingIsLost(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	id := knocks(t, a)
	before, err := a.Store.Pinning(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	k := a.Connect(t, id)
	refused := func(says string) {
		t.Helper()
		if h := k.Until(t, "refused"); !strings.Contains(h.Why, says) {
			t.Errorf("refused with %q; it should say %q", h.Why, says)
		}
	}
	k.Send(t, `{"do": "undo", "id": "x"}`)
	refused("first message should be open")
	k.Send(t, `{"do": "open", "after": 0, "tempo": 1e9}`)
	refused("it should be 1 to 1000 BPM")
	k.Send(t, `{"do": "open", "after": 0}`)
	k.Until(t, "state")
	for _, bad := range []struct{ text, says string }{
		{`{"do": "dance"}`, "nothing that can be done"},
		{`{"do": "edit", "id": "x", "surprise": 1}`, "surprise"},
		{`not JSON`, "not whole JSON"},
		{`{"do": "open", "after": "x"}`, `"after" is a string; it should be a whole number`},
		{`{"do": "undo", "id": "x1"}`, "nothing to undo"},
		{`{"do": "tempo", "tempo": 0}`, "it should be 1 to 1000 BPM"},
		{`{"do": "edit", "id": "x2", "kind": "drive", "words": "w", "changes": [{"channel": "bar-x", "step": 1, "now": {}}]}`, "bar-x"},
		{`{"do": "edit", "id": "x3", "kind": "drive", "words": "w", "changes": [{"channel": "bar-c5", "step": 4096, "now": {}}]}`, "steps 0 to 255"},
		{`{"do": "edit", "id": "x4", "kind": "drive", "words": "w", "changes": [{"channel": "bar-c5", "step": 1, "now": {}}, {"channel": "bar-c5", "step": 1, "now": {}}]}`, "changes a hole once"},
		{`{"do": "edit", "id": "x5", "base": 99, "kind": "drive", "words": "w", "changes": [{"channel": "bar-c5", "step": 1, "now": {}}]}`, "the last one kept is 0"},
		{`{"do": "return", "id": "x6", "seq": 7}`, "no edit 7"},
		{`{"do": "mark", "words": "  "}`, "the mark has no name"},
		{`{"do": "unmark", "mark": 77}`, "there is no mark 77"},
	} {
		k.Send(t, bad.text)
		refused(bad.says)
	}
	after, err := a.Store.Pinning(context.Background(), id)
	if err != nil || len(after.File.Pins) != len(before.File.Pins) || after.Seq != 0 {
		t.Errorf("after all that there are %d pins, %v", len(after.File.Pins), err)
	}
}

func TestLiveAnswersOnlyPagesOfTheProgram(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	id := knocks(t, a)
	_, answer, err := a.Dial(t, id, "http://example.org")
	if err == nil || answer.StatusCode != http.StatusForbidden {
		t.Errorf("a page of another site got %v", err)
	}
	if status, _ := a.Get(t, "/pinnings/999/live"); status != http.StatusNotFound {
		t.Errorf("a pinning that is not there: %d", status)
	}
}

func TestAMessageOfAnOpenPinningOfTheWrongKindIsRefusedInPlainWords(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	page := a.Connect(t, a.Old)
	plain := func(name, says string) {
		t.Helper()
		webtest.PlainWords(t, name, says, desk.Request{}, wheel.PinChange{})
	}
	for name, message := range webtest.WrongKinds(t, desk.Request{}) {
		page.Send(t, message)
		says := page.Refusal(t)
		if plain(name, says); !strings.Contains(says, name) {
			t.Errorf("%s: %s", name, says)
		}
	}
	// A pin of an edit, deep inside the message.
	page.Send(t, `{"do": "edit", "id": "e", "changes": [{"channel": 7}]}`)
	plain("a channel", page.Refusal(t))
	page.Send(t, `{"do": "edit", "id": "e", "changes": [{"channel": "bar-c5", "step": 1, "now": {"pin": "yes"}}]}`)
	plain("a hole", page.Refusal(t))
}
