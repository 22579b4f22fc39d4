package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"

	"pinwright/web/desk"
	"pinwright/wheel"
	"pinwright/wheel/history"
)

// talk is a page's connection, as a test speaks over it.
type talk struct {
	t    *testing.T
	conn *websocket.Conn
}

// heard is any message of the program.
type heard struct {
	Is, ID, Why, By, Kind, Words, Stands, Listed, Brief, Made string
	Seq                                                       int64
	People                                                    int
	Undo, Redo                                                *desk.StackTop
	Marks                                                     []desk.MarkLine
	Changes                                                   []json.RawMessage
	Holes                                                     []json.RawMessage
	Edits                                                     []heard
}

func (a *app) talk(t *testing.T, pinning int64) *talk {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	conn, _, err := websocket.Dial(ctx, strings.Replace(a.URL, "http", "ws", 1)+fmt.Sprintf("/pinnings/%d/live", pinning),
		&websocket.DialOptions{HTTPHeader: http.Header{"Origin": {a.URL}}})
	if err != nil {
		t.Fatal(err)
	}
	conn.SetReadLimit(64 << 20)
	t.Cleanup(func() { conn.CloseNow() })
	return &talk{t, conn}
}

// knocks keeps a pinning of Nine Knocks and returns its id.
func (a *app) knocks(t *testing.T) int64 {
	t.Helper()
	id, err := strconv.ParseInt(strings.TrimPrefix(a.keepPinning(t, "Nine Knocks", nil), "/pinnings/"), 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func (k *talk) say(format string, args ...any) {
	k.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	if err := k.conn.Write(ctx, websocket.MessageText, fmt.Appendf(nil, format, args...)); err != nil {
		k.t.Fatal(err)
	}
}

// until reads on until a message of a kind.
func (k *talk) until(is string) heard {
	k.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	for {
		_, text, err := k.conn.Read(ctx)
		if err != nil {
			k.t.Fatalf("waiting for %s: %v", is, err)
		}
		var h heard
		if err := json.Unmarshal(text, &h); err != nil {
			k.t.Fatal(err)
		}
		if h.Is == is {
			return h
		}
		if h.Is == "refused" {
			k.t.Fatalf("waiting for %s: refused: %s", is, h.Why)
		}
	}
}

func TestEditOfOnePageReachesTheOtherWithItsVerdict(t *testing.T) {
	a := newDemo(t)
	id := a.knocks(t)
	one, two := a.talk(t, id), a.talk(t, id)
	one.say(`{"do": "open", "after": 0, "name": "bench"}`)
	one.until("state")
	two.say(`{"do": "open", "after": 0, "tempo": 150}`)
	if h := two.until("state"); h.People != 2 || h.Undo != nil {
		t.Errorf("the second hears %+v; two are there and nothing is done yet", h)
	}

	one.say(`{"do": "edit", "id": "e1", "base": 0, "kind": "drive", "words": "drive Tube D3, bar 3 beat 3", "changes": [{"channel": "tube-d3", "step": 40, "now": {}}, {"channel": "tube-d3", "step": 41, "now": {}}]}`)
	if h := two.until("edit"); h.Seq != 1 || h.By != "bench" || len(h.Changes) != 2 {
		t.Errorf("the second hears of the edit %+v", h)
	}
	// Worked by hand: the gate of Tube D3 takes 265 ms, one step apart at four a
	// beat is 60/(4 × 0.265) = 56.6 BPM.
	v := two.until("verdict")
	if !strings.Contains(v.Listed, "unready") || !strings.HasPrefix(v.Made, "107.1 to 56.6 BPM: Tube D3, bar 3 beat 3") || !strings.Contains(v.Brief, "150 BPM") {
		t.Errorf("verdict: made %q, brief %q", v.Made, v.Brief)
	}
	if h := two.until("state"); h.Undo == nil || h.Undo.Words != "drive Tube D3, bar 3 beat 3" {
		t.Errorf("state %+v", h)
	}

	two.say(`{"do": "undo", "id": "u1", "of": 1}`)
	if h := one.until("edit"); h.Seq != 1 {
		t.Errorf("its own edit comes back first: %+v", h)
	}
	if h := one.until("edit"); h.Kind != "undo" || len(h.Changes) != 2 {
		t.Errorf("the undo of the other is %+v", h)
	}
	one.until("state")
	two.until("state")
	one.say(`{"do": "mark", "words": "before the school visit"}`)
	if h := two.until("state"); len(h.Marks) != 1 || h.Marks[0].Name != "before the school visit" || h.Redo == nil {
		t.Errorf("state after a mark: %+v", h)
	}
	var mark int64
	if marks, err := a.store.Marks(context.Background(), id); err != nil || len(marks) != 1 {
		t.Fatal(marks, err)
	} else {
		mark = marks[0].ID
	}
	two.say(`{"do": "unmark", "mark": %d}`, mark)
	one.until("state")
	if h := one.until("state"); len(h.Marks) != 0 {
		t.Errorf("state after the mark was taken off: %+v", h)
	}
	p, err := a.store.Pinning(context.Background(), id)
	if err != nil || p.Seq != 2 {
		t.Errorf("kept: %+v, %v", p, err)
	}
}

func TestPageThatComesBackIsToldWhatItMissedAndSendsWhatItDid(t *testing.T) {
	a := newDemo(t)
	id := a.knocks(t)
	one := a.talk(t, id)
	one.say(`{"do": "open", "after": 0}`)
	one.until("state")
	for i := range 3 {
		one.say(`{"do": "edit", "id": "a%d", "base": %d, "kind": "drive", "words": "drive", "changes": [{"channel": "tube-d3", "step": %d, "now": {}}]}`, i, i, 100+i)
		one.until("state")
	}
	back := a.talk(t, id)
	back.say(`{"do": "open", "after": 1}`)
	if missed := back.until("missed").Edits; len(missed) != 2 || missed[0].Seq != 2 || missed[1].Seq != 3 || len(missed[1].Changes) != 1 {
		t.Errorf("it missed %+v, want edits 2 and 3", missed)
	}
	back.until("state")

	// It held the hole at 101 empty, and aims another pin in it.
	back.say(`{"do": "edit", "id": "b1", "base": 1, "kind": "drive", "words": "drive", "changes": [{"channel": "tube-d3", "step": 101, "now": {"aim": 99}}, {"channel": "tube-d3", "step": 110, "now": {}}]}`)
	if h := back.until("asked"); len(h.Holes) != 1 || h.ID != "b1" || !strings.Contains(string(h.Holes[0]), "101") {
		t.Errorf("asked of %s", h.Holes)
	}
	p, err := a.store.Pinning(context.Background(), id)
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

	back.say(`{"do": "edit", "id": "a0", "base": 0, "kind": "drive", "words": "drive", "changes": [{"channel": "tube-d3", "step": 100, "now": {}}]}`)
	if h := back.until("edit"); h.Seq != 1 {
		t.Errorf("the edit sent twice came back as %d; it is edit 1", h.Seq)
	}
}

// However much it has missed, a page that comes back can go on.
func TestPageThatMissedManyEditsGoesOn(t *testing.T) {
	a := newDemo(t)
	edited := func(edits int) int64 {
		t.Helper()
		id := a.knocks(t)
		for seq := range int64(edits) {
			change := wheel.Drive(wheel.Pin{Channel: "tube-d3", Step: 100})
			if seq%2 == 1 {
				change = wheel.Pull(wheel.Pin{Channel: "tube-d3", Step: 100})
			}
			_, err := a.store.Edit(context.Background(), id, history.NewEdit{ID: fmt.Sprint("e", seq), Base: seq, Kind: "drive", Words: "drive or pull", Changes: []wheel.PinChange{change}})
			if err != nil {
				t.Fatal(err)
			}
		}
		return id
	}
	for _, missed := range []int{300, 500} { // more than the 256 messages that may wait; the most that are sent
		back := a.talk(t, edited(missed))
		back.say(`{"do": "open", "after": 0}`)
		edits := back.until("missed").Edits
		if len(edits) != missed || edits[0].Seq != 1 || edits[missed-1].Seq != int64(missed) {
			t.Errorf("of %d edits that it missed the page is told %d", missed, len(edits))
		}
		back.until("state")
	}
	back := a.talk(t, edited(501))
	back.say(`{"do": "open", "after": 0}`)
	back.until("anew")
	back.say(`{"do": "open", "after": %d}`, 501)
	back.until("state")
	back.say(`{"do": "edit", "id": "mine", "base": 0, "kind": "drive", "words": "drive", "changes": [{"channel": "tube-d3", "step": 7, "now": {}}]}`)
	back.until("edit")
}

// An edit that the program is at fault for not keeping is not refused: the page
// keeps it and sends it again.
func TestEditThatTheProgramCannotKeepNowIsPutOff(t *testing.T) {
	a := newDemo(t)
	id := a.knocks(t)
	k := a.talk(t, id)
	k.say(`{"do": "open", "after": 0}`)
	k.until("state")
	if err := a.store.Close(); err != nil {
		t.Fatal(err)
	}
	k.say(`{"do": "edit", "id": "mine", "base": 0, "kind": "drive", "words": "drive", "changes": [{"channel": "tube-d3", "step": 7, "now": {}}]}`)
	if h := k.until("later"); h.ID != "mine" || h.Why == "" {
		t.Errorf("it hears %+v", h)
	}
}

func TestThoseWhoStayHearThatAPageHasLeft(t *testing.T) {
	a := newDemo(t)
	id := a.knocks(t)
	stays, leaves := a.talk(t, id), a.talk(t, id)
	for _, k := range []*talk{stays, leaves} {
		k.say(`{"do": "open", "after": 0}`)
		k.until("state")
	}
	if h := stays.until("state"); h.People != 2 {
		t.Errorf("%d are there, want 2", h.People)
	}
	leaves.conn.CloseNow()
	if h := stays.until("state"); h.People != 1 {
		t.Errorf("%d are there, want 1", h.People)
	}
	stays.say(`{"do": "here"}`)
	stays.until("here")
}

func TestWhatAPageMayNotAskIsRefusedInWordsAndNothingIsLost(t *testing.T) {
	a := newDemo(t)
	id := a.knocks(t)
	before, err := a.store.Pinning(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	k := a.talk(t, id)
	refused := func(says string) {
		t.Helper()
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		for {
			_, text, err := k.conn.Read(ctx)
			if err != nil {
				t.Fatal(err)
			}
			var h heard
			if err := json.Unmarshal(text, &h); err != nil {
				t.Fatal(err)
			}
			if h.Is == "refused" {
				if !strings.Contains(h.Why, says) {
					t.Errorf("refused with %q; it should say %q", h.Why, says)
				}
				return
			}
		}
	}
	k.say(`{"do": "undo", "id": "x"}`)
	refused("first message should be open")
	k.say(`{"do": "open", "after": 0, "tempo": 1e9}`)
	refused("it should be 1 to 1000 BPM")
	k.say(`{"do": "open", "after": 0}`)
	k.until("state")
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
		k.say("%s", bad.text)
		refused(bad.says)
	}
	after, err := a.store.Pinning(context.Background(), id)
	if err != nil || len(after.File.Pins) != len(before.File.Pins) || after.Seq != 0 {
		t.Errorf("after all that there are %d pins, %v", len(after.File.Pins), err)
	}
}

func TestLiveAnswersOnlyPagesOfTheProgram(t *testing.T) {
	a := newDemo(t)
	id := a.knocks(t)
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	_, answer, err := websocket.Dial(ctx, strings.Replace(a.URL, "http", "ws", 1)+fmt.Sprintf("/pinnings/%d/live", id),
		&websocket.DialOptions{HTTPHeader: http.Header{"Origin": {"http://example.org"}}})
	if err == nil || answer.StatusCode != http.StatusForbidden {
		t.Errorf("a page of another site got %v", err)
	}
	if status, _ := a.get(t, "/pinnings/999/live"); status != http.StatusNotFound {
		t.Errorf("a pinning that is not there: %d", status)
	}
}
