package desk_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"pinwright/store"
	"pinwright/web/desk"
	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/history"
)

// workshop is desks over a store with the demo machine and an empty pinning.
type workshop struct {
	t       *testing.T
	store   *store.Store
	desks   *desk.Desks
	machine int64
	pinning int64
}

// verdictText is a [desk.View] that writes what it was given.
func verdictText(_ context.Context, s desk.Snapshot) (desk.Verdict, error) {
	return desk.Verdict{
		Stands: fmt.Sprintf("%d pins on %s", s.Turn.Pins(), s.Machine.Name),
		Listed: fmt.Sprintf("%d findings", len(s.Turn.Findings(s.TempoBPM, nil))),
		Brief:  fmt.Sprintf("at %v BPM", s.TempoBPM),
	}, nil
}

func newWorkshop(t *testing.T) *workshop {
	t.Helper()
	ctx := context.Background()
	s, err := store.Open(ctx, filepath.Join(t.TempDir(), "pinwright.db"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	w := &workshop{t: t, store: s, desks: desk.New(s, verdictText, slog.New(slog.DiscardHandler))}
	if w.machine, err = s.AddMachine(ctx, demo.Machine()); err != nil {
		t.Fatal(err)
	}
	w.pinning, err = s.AddPinning(ctx, w.machine, 0, &wheel.Pinning{Format: wheel.PinningFormat, Title: "Mill Race", TempoBPM: 84})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// client is a client, as a test speaks for it.
type client struct {
	*desk.Client
	t    *testing.T
	gone bool // it was disconnected
}

func (w *workshop) join() *client {
	c := &client{t: w.t}
	c.Client = w.desks.Join(w.pinning, func() { c.gone = true })
	return c
}

// open is a client that has opened the pinning and read what it was sent.
func (w *workshop) open(name string) *client {
	w.t.Helper()
	c := w.join()
	c.do(desk.Request{Do: "open", Name: name})
	c.read()
	return c
}

func (c *client) do(r desk.Request) {
	c.t.Helper()
	if err := c.Do(context.Background(), r); err != nil {
		c.t.Fatal(err)
	}
}

// read is every message that waits, of each its kind and the rest.
func (c *client) read() (kinds string, messages map[string]any) {
	c.t.Helper()
	var all []string
	messages = map[string]any{}
	for {
		select {
		case m := <-c.Messages():
			text, err := json.Marshal(m)
			if err != nil {
				c.t.Fatal(err)
			}
			var is struct{ Is string }
			if err := json.Unmarshal(text, &is); err != nil {
				c.t.Fatal(err)
			}
			all = append(all, is.Is)
			messages[is.Is] = m
		default:
			return strings.Join(all, " "), messages
		}
	}
}

// hears fails the test unless the messages that wait are of these kinds, and
// returns the last of each.
func (c *client) hears(want string) map[string]any {
	c.t.Helper()
	kinds, messages := c.read()
	if kinds != want {
		c.t.Fatalf("the client is sent %q, want %q", kinds, want)
	}
	return messages
}

func drive(id string, base int64, pins ...wheel.Pin) desk.Request {
	r := desk.Request{Do: "edit", ID: id, Base: base, Kind: "drive", Words: "edit " + id}
	for _, pin := range pins {
		r.Changes = append(r.Changes, wheel.Drive(pin))
	}
	return r
}

func pinAt(channel string, step int) wheel.Pin { return wheel.Pin{Channel: channel, Step: step} }

func TestAnEditReachesEveryClientWithVerdictAndState(t *testing.T) {
	w := newWorkshop(t)
	ann := w.open("Ann")
	ben := w.join()
	ben.do(desk.Request{Do: "open", Tempo: 150})
	if state := ann.hears("state")["state"].(desk.StateMessage); state.People != 2 {
		t.Errorf("two have it open; the first hears of %d", state.People)
	}
	if v := ben.hears("verdict state")["verdict"].(desk.VerdictMessage); v.Brief != "at 150 BPM" || v.Stands != "0 pins on Hailstone" {
		t.Errorf("the second opens with %+v", v)
	}
	ann.do(drive("x1", 0, pinAt("tube-d3", 40), pinAt("tube-d3", 41)))
	for name, c := range map[string]*client{"at 84 BPM": ann, "at 150 BPM": ben} {
		got := c.hears("edit verdict state")
		e := got["edit"].(desk.EditMessage)
		if e.Seq != 1 || e.By != "Ann" || e.ID != "x1" || len(e.Changes) != 2 {
			t.Errorf("the edit is sent as %+v", e)
		}
		// Worked by hand: the gate of Tube D3 takes 265 ms, one step apart at four a
		// beat is 60/(4 × 0.265) = 56.6 BPM; the red line is below it. Before, it was the machine's own tempo.
		v := got["verdict"].(desk.VerdictMessage)
		if v.Brief != name || v.Stands != "2 pins on Hailstone" || v.Seq != 1 || !strings.Contains(v.Made, " to 46.3 BPM: Tube D3, bar 3 beat 3") {
			t.Errorf("the verdict is sent as %+v", v)
		}
		if s := got["state"].(desk.StateMessage); s.Seq != 1 || s.Undo == nil || *s.Undo != (desk.StackTop{Seq: 1, Words: "edit x1"}) || s.Redo != nil {
			t.Errorf("the state is sent as %+v", s)
		}
	}
	ben.do(desk.Request{Do: "undo", ID: "u1", Of: 1})
	if s := ann.hears("edit verdict state")["state"].(desk.StateMessage); s.Undo != nil || s.Redo == nil || s.Redo.Seq != 1 {
		t.Errorf("undone the state is %+v", s)
	}
	ben.do(desk.Request{Do: "redo", ID: "r1", Of: 1})
	ben.do(desk.Request{Do: "return", ID: "b1", Seq: 0})
	if e := ann.hears("edit verdict state edit verdict state")["edit"].(desk.EditMessage); e.Kind != history.KindReturn || len(e.Changes) != 2 {
		t.Errorf("returned it is %+v", e)
	}
}

func TestOnlyWhoAskedHearsOfTempoAndOfWhatWasHeldBack(t *testing.T) {
	w := newWorkshop(t)
	ann, ben := w.open("Ann"), w.open("Ben")
	ann.hears("state")
	ann.do(desk.Request{Do: "tempo", Tempo: 60})
	if v := ann.hears("verdict")["verdict"].(desk.VerdictMessage); v.Brief != "at 60 BPM" || v.Made != "" {
		t.Errorf("at another tempo the verdict is %+v", v)
	}
	ann.do(desk.Request{Do: "here"})
	ann.hears("here")
	aimed := wheel.PinChange{Channel: "bar-c5", Step: 3, Now: wheel.InHole{Pin: true, Aim: wheel.AimAt(5)}}
	ann.do(drive("x1", 0, pinAt("bar-c5", 3)))
	ann.hears("edit verdict state")
	ben.hears("edit verdict state")
	late := drive("y1", 0)
	late.Changes = append(late.Changes, aimed)
	ben.do(late)
	asked := ben.hears("edit asked verdict state")["asked"].(desk.AskedMessage)
	want := desk.AskedMessage{Is: "asked", ID: "y1", Seq: 2, Holes: []history.Conflict{{PinChange: aimed, Is: wheel.InHole{Pin: true}, Seq: 1, By: "Ann"}}}
	if !reflect.DeepEqual(asked, want) {
		t.Errorf("asked is %+v, want %+v", asked, want)
	}
	ann.hears("edit verdict state")
	ben.do(late) // sent again, as no answer came
	if again := ben.hears("edit asked")["asked"].(desk.AskedMessage); !reflect.DeepEqual(again, want) {
		t.Errorf("asked again is %+v, want %+v", again, want)
	}
	ann.hears("")
}

func TestMarksAreSetAndRemovedForAll(t *testing.T) {
	w := newWorkshop(t)
	ann, ben := w.open("Ann"), w.open("Ben")
	ann.hears("state")
	ann.do(desk.Request{Do: "mark", Words: " before the school visit "})
	marks := ben.hears("state")["state"].(desk.StateMessage).Marks
	if len(marks) != 1 || marks[0].Name != "before the school visit" || marks[0].Seq != 0 || marks[0].At == "" {
		t.Fatalf("the marks are %+v", marks)
	}
	ann.do(desk.Request{Do: "unmark", Mark: marks[0].ID})
	if s := ben.hears("state")["state"].(desk.StateMessage); len(s.Marks) != 0 || s.Marks == nil {
		t.Errorf("removed, the marks are %#v, want an empty list", s.Marks)
	}
}

func TestAClientThatComesBackIsSentWhatItMissed(t *testing.T) {
	w := newWorkshop(t)
	ann := w.open("Ann")
	for i := range 5 {
		ann.do(drive(fmt.Sprint("x", i), int64(i), pinAt("bar-c5", i*8)))
	}
	ben := w.join()
	ben.do(desk.Request{Do: "open", After: 3})
	missed := ben.hears("missed verdict state")["missed"].(desk.MissedMessage).Edits
	if len(missed) != 2 || missed[0].Seq != 4 || missed[1].Seq != 5 {
		t.Errorf("after edit 3 of 5 it has missed %+v", missed)
	}
	for _, after := range []int64{-1, 6} { // it has nothing; it has what never was
		back := w.join()
		back.do(desk.Request{Do: "open", After: after})
		back.hears("anew")
	}
}

func TestAClientThatDoesNotKeepUpIsDisconnected(t *testing.T) {
	w := newWorkshop(t)
	ann, ben := w.open("Ann"), w.open("Ben")
	for i := range 256/3 + 1 { // an edit is three messages, and 256 may wait
		if ben.gone {
			t.Fatalf("gone after %d edits", i)
		}
		ann.do(drive(fmt.Sprint("x", i), int64(i), pinAt("bar-c5", i)))
		ann.read()
	}
	if !ben.gone || ann.gone {
		t.Errorf("disconnected: who reads %v, who does not %v", ann.gone, ben.gone)
	}
}

func TestWhoLeavesIsNoLongerCountedNorSentAnything(t *testing.T) {
	w := newWorkshop(t)
	ann, ben, silent := w.open("Ann"), w.open("Ben"), w.join()
	ann.hears("state")
	silent.Leave(context.Background()) // it never opened the pinning
	ben.Leave(context.Background())
	if s := ann.hears("state")["state"].(desk.StateMessage); s.People != 1 {
		t.Errorf("the one who stays hears of %d", s.People)
	}
	ann.do(drive("x1", 0, pinAt("bar-c5", 3)))
	ben.hears("")
	silent.hears("")
	ann.Leave(context.Background())
	if n := w.desks.Open(); n != 0 {
		t.Errorf("%d pinnings are open, and nobody is there", n)
	}
}

func TestWhatIsChangedElsewhereIsReadAgain(t *testing.T) {
	ctx := context.Background()
	w := newWorkshop(t)
	ann := w.open("Ann")
	w.join() // a client that has not said anything has nothing to read again
	if err := w.store.RenamePinning(ctx, w.pinning, "Weir"); err != nil {
		t.Fatal(err)
	}
	w.desks.PinningChanged(ctx, w.pinning+1)
	w.desks.MachineChanged(ctx, w.machine+1)
	ann.hears("")
	w.desks.PinningChanged(ctx, w.pinning)
	ann.hears("anew")
	ann.do(desk.Request{Do: "open", After: 1})
	ann.hears("verdict state")
	m, err := w.store.Machine(ctx, w.machine)
	if err != nil {
		t.Fatal(err)
	}
	m.File.Name = "Sleet"
	if err := w.store.ReplaceMachine(ctx, w.machine, m.Revision, m.File); err != nil {
		t.Fatal(err)
	}
	w.desks.MachineChanged(ctx, w.machine)
	ann.hears("anew")
	ann.do(desk.Request{Do: "open", After: 1})
	if v := ann.hears("verdict state")["verdict"].(desk.VerdictMessage); v.Stands != "0 pins on Sleet" {
		t.Errorf("the verdict is still on %q", v.Stands)
	}
}

// An edit that another program, or a page without a desk, has kept meanwhile
// makes what lies on the desk old. The next edit finds out.
func TestAnEditBehindTheDesksBackHasAllReadAgain(t *testing.T) {
	ctx := context.Background()
	w := newWorkshop(t)
	ann, ben := w.open("Ann"), w.open("Ben")
	ann.hears("state")
	if _, err := w.store.Edit(ctx, w.pinning, history.NewEdit{ID: "z", Kind: "drive", Words: "w", Changes: []wheel.PinChange{wheel.Drive(pinAt("bar-c5", 8))}}); err != nil {
		t.Fatal(err)
	}
	ann.do(drive("x1", 0, pinAt("bar-c5", 3)))
	ann.hears("anew")
	ben.hears("anew")
	ben.do(desk.Request{Do: "open", After: 0})
	got := ben.hears("missed verdict state")
	if v := got["verdict"].(desk.VerdictMessage); v.Seq != 2 || v.Stands != "2 pins on Hailstone" {
		t.Errorf("the verdict is %+v", v)
	}
}

func TestWhatCannotBeDoneIsRefusedAndNobodyElseHearsOfIt(t *testing.T) {
	w := newWorkshop(t)
	ann := w.open("Ann")
	ben := w.join()
	for _, c := range []struct {
		r    desk.Request
		code wheel.Code
		says string
	}{
		{desk.Request{Do: "undo", ID: "x"}, wheel.ErrMalformed, "The page has not said yet what it has; the first message should be open."},
		{desk.Request{Do: "open", Tempo: 0.5}, wheel.ErrInvalid, "The tempo is 0.5 BPM; it should be 1 to 1000 BPM."},
	} {
		wantRefused(t, ben.Do(context.Background(), c.r), c.code, c.says)
	}
	ben.hears("")
	ben.do(desk.Request{Do: "open"})
	ben.read()
	ann.read()
	for _, c := range []struct {
		r    desk.Request
		code wheel.Code
		says string
	}{
		{desk.Request{Do: "dance"}, wheel.ErrMalformed, `The page asks to do "dance", which is nothing that can be done.`},
		{desk.Request{Do: "tempo", Tempo: 1001}, wheel.ErrInvalid, "The tempo is 1001 BPM; it should be 1 to 1000 BPM."},
		{desk.Request{Do: "undo", ID: "x1"}, wheel.ErrConflict, "there is nothing to undo: Mill Race is as it came in"},
		{desk.Request{Do: "redo", ID: "x2"}, wheel.ErrConflict, "there is nothing to redo in Mill Race: redo brings again what undo took back, until the next edit"},
		{desk.Request{Do: "return", ID: "x3", Seq: 7}, wheel.ErrNotFound, "there is no edit 7 of Mill Race; the last one is 0"},
		{desk.Request{Do: "mark"}, wheel.ErrInvalid, "the mark has no name; give it one, such as “before the school visit”"},
		{desk.Request{Do: "unmark", Mark: 7}, wheel.ErrNotFound, "there is no mark 7; it may have been removed already"},
		{drive("x4", 0), wheel.ErrInvalid, "the edit changes nothing; it should name at least one hole"},
	} {
		wantRefused(t, ben.Do(context.Background(), c.r), c.code, c.says)
	}
	ann.hears("")
	if m := desk.Refused("x", "why", false); m.Is != "refused" {
		t.Errorf("a refusal is %+v", m)
	}
	if m := desk.Refused("x", "why", true); m.Is != "later" || m.ID != "x" || m.Why != "why" {
		t.Errorf("a fault of the program is %+v", m)
	}
}

func wantRefused(t *testing.T, err error, code wheel.Code, says string) {
	t.Helper()
	var e *wheel.Error
	if !errors.As(err, &e) || e.Code != code || e.Message != says {
		t.Errorf("it is %v (%T), want %s: %s", err, err, code, says)
	}
}

// Whoever works at the same time, all clients hear of all edits in the order in
// which they are kept.
func TestAllHearOfAllEditsInOneOrder(t *testing.T) {
	const clients, edits = 4, 15 // 60 edits of three messages: fewer than may wait
	w := newWorkshop(t)
	all := make([]*client, clients)
	for i := range all {
		all[i] = w.open(fmt.Sprint("c", i))
	}
	for _, c := range all {
		c.read()
	}
	var wait sync.WaitGroup
	errs := make(chan error, clients*edits)
	for i, c := range all {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for n := range edits {
				errs <- c.Do(context.Background(), drive(fmt.Sprintf("c%d-%d", i, n), 0, pinAt("bar-c5", i*edits+n)))
			}
		}()
	}
	wait.Wait()
	close(errs)
	for err := range errs {
		if err != nil {
			t.Fatal(err)
		}
	}
	for i, c := range all {
		var seqs []int64
		for len(c.Messages()) > 0 {
			if m, is := (<-c.Messages()).(desk.EditMessage); is {
				seqs = append(seqs, m.Seq)
			}
		}
		if len(seqs) != clients*edits {
			t.Fatalf("client %d hears of %d edits, want %d", i, len(seqs), clients*edits)
		}
		for j, seq := range seqs {
			if seq != int64(j+1) {
				t.Fatalf("client %d hears of edit %d where %d should be", i, seq, j+1)
			}
		}
	}
}
