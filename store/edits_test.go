package store

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

func pinAt(channel string, step int) wheel.Pin { return wheel.Pin{Channel: channel, Step: step} }

func aimedAt(channel string, step int, aim float64) wheel.Pin {
	return wheel.Pin{Channel: channel, Step: step, Aim: wheel.AimAt(aim)}
}

// anEdit is an edit of the id, made from base.
func anEdit(id string, base int64, changes ...wheel.PinChange) history.NewEdit {
	return history.NewEdit{ID: id, Base: base, By: "Ann", Kind: "drive", Words: "edit " + id, Changes: changes}
}

func send(t testing.TB, s *Store, pinningID int64, n history.NewEdit) history.Edit {
	t.Helper()
	e, err := s.Edit(context.Background(), pinningID, n)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// wantPins fails the test unless the pinning has these pins, listed as the
// wheel turns.
func wantPins(t testing.TB, s *Store, id int64, want ...wheel.Pin) {
	t.Helper()
	p, err := s.Pinning(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.File.Pins)+len(want) > 0 && !reflect.DeepEqual(p.File.Pins, want) {
		t.Errorf("pins are %v, want %v", p.File.Pins, want)
	}
	if p.Pins != len(want) {
		t.Errorf("the listing counts %d pins, want %d", p.Pins, len(want))
	}
}

// hurry lets the store write without waiting for the disk, for a test of
// other things than that.
func hurry(t testing.TB, s *Store) {
	t.Helper()
	if _, err := s.writer.Exec(`PRAGMA synchronous = OFF`); err != nil {
		t.Fatal(err)
	}
}

// tester is *testing.T or *rapid.T.
type tester interface {
	Helper()
	Errorf(string, ...any)
	Fatal(...any)
}

// wantState fails the test unless undo would take back the one edit and redo
// bring again the other; 0 is nothing.
func wantState(t tester, s *Store, id, seq, undo, redo int64) {
	t.Helper()
	state, err := s.EditState(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	of := func(e *history.Line) int64 {
		if e == nil {
			return 0
		}
		return e.Seq
	}
	if got := [3]int64{state.Seq, of(state.Undo), of(state.Redo)}; got != [3]int64{seq, undo, redo} {
		t.Errorf("last edit, undo and redo are %v, want %v", got, [3]int64{seq, undo, redo})
	}
}

// openPinning is a store with an empty pinning on a machine with channels a to
// d.
func openPinning(t testing.TB) (*Store, int64) {
	t.Helper()
	s := openNew(t)
	return s, addPinning(t, s, addMachine(t, s, smallMachine("Hailstone", 4)), 0, smallPinning("Mill Race", 0))
}

func TestAnEditIsKeptWithWhoWhenAndWhat(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	e := send(t, s, id, history.NewEdit{
		ID: "x1", By: "Ann", Kind: "move", Words: "move Bar a, bar 1 beat 1",
		Changes: []wheel.PinChange{wheel.Drive(pinAt("a", 3)), wheel.Drive(aimedAt("b", 255, 0.1))},
	})
	want := history.Edit{
		Seq: 1, ID: "x1", At: e.At, By: "Ann", Kind: "move", Words: "move Bar a, bar 1 beat 1",
		Changes: []wheel.PinChange{wheel.Drive(pinAt("a", 3)), wheel.Drive(aimedAt("b", 255, 0.1))},
	}
	if !reflect.DeepEqual(e, want) || e.At.IsZero() {
		t.Errorf("kept %+v, want %+v", e, want)
	}
	if all, err := s.Edits(ctx, id, 0, 10); err != nil || !reflect.DeepEqual(all, []history.Edit{want}) {
		t.Errorf("read back %+v (%v), want %+v", all, err, want)
	}
	wantPins(t, s, id, pinAt("a", 3), aimedAt("b", 255, 0.1))
	if p, _ := s.Pinning(ctx, id); p.Seq != 1 || p.Revision != 2 || p.Changed != e.At {
		t.Errorf("it is now %+v", p.PinningRow)
	}
}

func TestAnEditSentTwiceIsKeptOnce(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	n := anEdit("x1", 0, wheel.Drive(pinAt("a", 3)))
	first := send(t, s, id, n)
	send(t, s, id, anEdit("x2", 1, wheel.Pull(pinAt("a", 3))))
	n.Base, n.By = 2, n.By+" B." // its sender has seen more edits since, and entered a different name
	if again := send(t, s, id, n); !reflect.DeepEqual(again, first) {
		t.Errorf("the second time it says %+v, the first time %+v", again, first)
	}
	wantPins(t, s, id)
	n.Changes[0].Step = 4
	_, err := s.Edit(ctx, id, n)
	refused(t, err, wheel.ErrConflict, "another edit with the id x1 is kept already (edit x1), and this one was not; send it with an id of its own")

	undone, err := s.Undo(ctx, id, 0, "u1", "Ben")
	if err != nil {
		t.Fatal(err)
	}
	if again, err := s.Undo(ctx, id, 0, "u1", "Ben"); err != nil || !reflect.DeepEqual(again, undone) {
		t.Errorf("undone twice it says %+v (%v), once %+v", again, err, undone)
	}
	_, err = s.Redo(ctx, id, 0, "u1", "Ben")
	refused(t, err, wheel.ErrConflict, "another edit with the id u1 is kept already (edit x2), and this one was not; send it with an id of its own")
	if back, err := s.ReturnTo(ctx, id, 0, "r1", ""); err != nil || back.Of != 0 {
		t.Errorf("returned: %+v (%v)", back, err)
	}
	_, err = s.ReturnTo(ctx, id, 1, "r1", "")
	refused(t, err, wheel.ErrConflict, "another edit with the id r1 is kept already (return to the beginning), and this one was not; send it with an id of its own")
	if p, _ := s.Pinning(ctx, id); p.Seq != 4 {
		t.Errorf("%d edits are kept, want 4", p.Seq)
	}
}

// An edit that had nothing to do when it came first still has nothing to do
// when it comes again, whatever happened between.
func TestAnEditThatHadNothingToDoDoesNothingLater(t *testing.T) {
	s, id := openPinning(t)
	drive := wheel.Drive(pinAt("a", 3))
	send(t, s, id, anEdit("x1", 0, drive))
	n := anEdit("y1", 0, drive)
	if e := send(t, s, id, n); e.Seq != 2 || e.Changes != nil || e.Held != nil {
		t.Errorf("it says %+v", e)
	}
	wantState(t, s, id, 2, 1, 0) // undo passes over it
	send(t, s, id, anEdit("x2", 1, wheel.Pull(pinAt("a", 3))))
	if e := send(t, s, id, n); e.Seq != 2 {
		t.Errorf("again it says %+v", e)
	}
	wantPins(t, s, id)
}

// The table is that of the promise: for a hole that both have touched, the
// edit made on the older base is held back only if the outcomes differ.
func TestAnEditOfAnOlderBaseIsMergedHoleByHole(t *testing.T) {
	none, plain, aimed := wheel.InHole{}, wheel.InHole{Pin: true}, wheel.InHole{Pin: true, Aim: wheel.AimAt(9)}
	for _, c := range []struct {
		name                string
		at, theirs          wheel.InHole // the hole at the base, and after the other's edit
		was, now            wheel.InHole // what this edit asks for
		becomes             wheel.InHole
		held, nothingToBeDo bool
	}{
		{name: "nobody else touched it", at: none, theirs: none, was: none, now: plain, becomes: plain},
		{name: "nobody else touched it, and the sender was mistaken", at: aimed, theirs: aimed, was: none, now: plain, becomes: plain},
		{name: "both drive the same", at: none, theirs: plain, was: none, now: plain, becomes: plain, nothingToBeDo: true},
		{name: "both pull", at: plain, theirs: none, was: plain, now: none, becomes: none, nothingToBeDo: true},
		{name: "both drive, aims differ", at: none, theirs: aimed, was: none, now: plain, becomes: aimed, held: true},
		{name: "one pulls, the other aims", at: plain, theirs: none, was: plain, now: aimed, becomes: none, held: true},
		{name: "one aims, the other pulls", at: plain, theirs: aimed, was: plain, now: none, becomes: aimed, held: true},
		{name: "made of what the other made", at: none, theirs: aimed, was: aimed, now: none, becomes: none},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, id := openPinning(t)
			change := func(was, now wheel.InHole) wheel.PinChange {
				return wheel.PinChange{Channel: "a", Step: 3, Was: was, Now: now}
			}
			send(t, s, id, anEdit("start", 0, change(none, c.at), wheel.Drive(pinAt("b", 0))))
			theirs := anEdit("theirs", 1, change(c.at, c.theirs), wheel.Pull(pinAt("b", 0)))
			theirs.By = "Ben"
			send(t, s, id, theirs)
			e := send(t, s, id, anEdit("mine", 1, change(c.was, c.now), wheel.Drive(pinAt("c", 8))))
			want := []wheel.PinChange{change(c.theirs, c.now), wheel.Drive(pinAt("c", 8))}
			var held []history.Conflict
			if c.held || c.nothingToBeDo {
				want = want[1:]
			}
			if c.held {
				held = []history.Conflict{{PinChange: change(c.was, c.now), Is: c.theirs, Seq: 2, By: "Ben"}}
			}
			if !reflect.DeepEqual(e.Changes, want) || !reflect.DeepEqual(e.Held, held) {
				t.Errorf("changed %+v and held back %+v, want %+v and %+v", e.Changes, e.Held, want, held)
			}
			all, err := s.Edits(context.Background(), id, 2, 1)
			if err != nil || !reflect.DeepEqual(all, []history.Edit{e}) {
				t.Errorf("read back %+v (%v), want %+v", all, err, e)
			}
			pins := []wheel.Pin{pinAt("c", 8)}
			if c.becomes.Pin {
				pins = append([]wheel.Pin{{Channel: "a", Step: 3, Aim: c.becomes.Aim}}, pins...)
			}
			wantPins(t, s, id, pins...)
			if c.held { // asked, the sender wants it all the same
				forced := send(t, s, id, anEdit("forced", e.Seq, change(c.was, c.now)))
				if want := []wheel.PinChange{change(c.theirs, c.now)}; !reflect.DeepEqual(forced.Changes, want) || forced.Held != nil {
					t.Errorf("forced it changes %+v and holds back %+v, want %+v", forced.Changes, forced.Held, want)
				}
			}
		})
	}
}

// One person made three edits of one hole without a connection, all on the
// same base.
func TestEditsQueuedOnOneBaseFollowEachOther(t *testing.T) {
	s, id := openPinning(t)
	theirs := anEdit("theirs", 0, wheel.Drive(pinAt("b", 3)))
	send(t, s, id, theirs)
	for i, c := range []wheel.PinChange{
		wheel.Drive(pinAt("a", 3)), wheel.Pull(pinAt("a", 3)), wheel.Drive(aimedAt("a", 3, 4)),
	} {
		if e := send(t, s, id, anEdit(fmt.Sprint("x", i), 0, c)); e.Held != nil || len(e.Changes) != 1 {
			t.Errorf("edit %d: %+v", i, e)
		}
	}
	wantPins(t, s, id, aimedAt("a", 3, 4), pinAt("b", 3))
}

func TestWhatCannotBeKeptIsRefusedInWordsAndNothingIsChanged(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	send(t, s, id, anEdit("x1", 0, wheel.Drive(pinAt("a", 3))))
	good := anEdit("x2", 1, wheel.Drive(pinAt("a", 4)))
	with := func(change func(*history.NewEdit)) history.NewEdit {
		n := good
		n.Changes = append([]wheel.PinChange(nil), good.Changes...)
		change(&n)
		return n
	}
	for _, c := range []struct {
		name string
		n    history.NewEdit
		kind error
		says string
	}{
		{"no id", with(func(n *history.NewEdit) { n.ID = "" }), wheel.ErrInvalid, "the edit has no id; without one it could not be told from the same edit sent twice"},
		{"a long id", with(func(n *history.NewEdit) { n.ID = strings.Repeat("x", 65) }), wheel.ErrInvalid, "the edit's id has 65 bytes; 64 at most"},
		{"an odd id", with(func(n *history.NewEdit) { n.ID = "x 2" }), wheel.ErrInvalid, `the edit's id is "x 2"; an id has no spaces and nothing but text`},
		{"an id of no text", with(func(n *history.NewEdit) { n.ID = "\xff" }), wheel.ErrInvalid, `the edit's id is "\xff"; an id has no spaces and nothing but text`},
		{"a long name", with(func(n *history.NewEdit) { n.By = strings.Repeat("é", 201) }), wheel.ErrInvalid, "the name of who made the edit has 201 characters; 200 at most"},
		{"a name of two lines", with(func(n *history.NewEdit) { n.By = "Ann\nBen" }), wheel.ErrInvalid, "the name of who made the edit has characters that are not text; write it in one line"},
		{"no kind", with(func(n *history.NewEdit) { n.Kind = "" }), wheel.ErrInvalid, `the edit's kind is ""; it should be one word of at most 20 small letters, such as drive`},
		{"an odd kind", with(func(n *history.NewEdit) { n.Kind = "DRIVE THEM ALL AT ONCE" }), wheel.ErrInvalid, `the edit's kind is "DRIVE THEM ALL AT ON"; it should be one word of at most 20 small letters, such as drive`},
		{"a kind of ours", with(func(n *history.NewEdit) { n.Kind = "undo" }), wheel.ErrInvalid, `the edit's kind is "undo", which has a call of its own`},
		{"no words", with(func(n *history.NewEdit) { n.Words = " " }), wheel.ErrInvalid, "the edit has no words; say in a line what it does"},
		{"many words", with(func(n *history.NewEdit) { n.Words = strings.Repeat("x", 201) }), wheel.ErrInvalid, "the edit's text has 201 characters; 200 at most"},
		{"no changes", with(func(n *history.NewEdit) { n.Changes = nil }), wheel.ErrInvalid, "the edit changes nothing; it should name at least one hole"},
		{"a base to come", with(func(n *history.NewEdit) { n.Base = 2 }), wheel.ErrInvalid, "the edit starts from edit 2 of Mill Race, and the last one kept is 1; load the page again and repeat the edit"},
		{"a base before all", with(func(n *history.NewEdit) { n.Base = -1 }), wheel.ErrInvalid, "the edit starts from edit -1 of Mill Race, and the last one kept is 1; load the page again and repeat the edit"},
		{"a step off the wheel", with(func(n *history.NewEdit) { n.Changes[0].Step = 256 }), wheel.ErrInvalid, "the edit does not fit Hailstone, and nothing was changed: changes[0].step is 256; the wheel of Hailstone has steps 0 to 255"},
		{"a channel that is not there", with(func(n *history.NewEdit) { n.Changes[0].Channel = "z\x00" }), wheel.ErrInvalid, `the edit does not fit Hailstone, and nothing was changed: changes[0].channel is "z\x00", and Hailstone has no such channel`},
		{"a hole twice", with(func(n *history.NewEdit) { n.Changes = append(n.Changes, wheel.Pull(pinAt("a", 4))) }), wheel.ErrInvalid, "the edit does not fit Hailstone, and nothing was changed: changes[1] is of step 4 of a, which changes[0] is already; an edit changes a hole once"},
		{"a tempo that is none", with(func(n *history.NewEdit) {
			n.Head = &history.HeadChange{Was: wheel.Head{Title: "Mill Race", TempoBPM: 84}, Now: wheel.Head{Title: "Mill Race", TempoBPM: -3}}
		}), wheel.ErrInvalid, "tempo_bpm is −3; a tempo is at least 1"},
		{"an advance of no channel", with(func(n *history.NewEdit) {
			n.Head = &history.HeadChange{Now: wheel.Head{Advance: map[string]int{"z": 1}}}
		}), wheel.ErrInvalid, "the pinning Mill Race would not fit Hailstone: advance.z is for a channel that Hailstone does not have"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := s.Edit(ctx, id, c.n)
			refused(t, err, c.kind, c.says)
		})
	}
	_, err := s.Edit(ctx, 9, good)
	refused(t, err, wheel.ErrNotFound, "there is no pinning 9; it may have been removed")
	nan := with(func(n *history.NewEdit) { n.Head = &history.HeadChange{}; n.Head.Now.TempoBPM = nan() })
	if _, err := s.Edit(ctx, id, nan); !errors.Is(err, wheel.ErrInvalid) {
		t.Errorf("a tempo that is no number: %v", err)
	}
	wantPins(t, s, id, pinAt("a", 3))
	wantState(t, s, id, 1, 1, 0)
	if e := send(t, s, id, good); e.Seq != 2 { // a refused id may be used
		t.Errorf("kept as %+v", e)
	}
	checkIntegrity(t, s)
}

func nan() float64 { z := 0.0; return z / z }

// A phone that was away while the wheel became smaller sends what it has.
func TestAnEditForAHoleThatIsNoLongerThereIsRefusedAndTheRestStays(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	send(t, s, id, anEdit("x1", 0, wheel.Drive(pinAt("a", 3)), wheel.Drive(pinAt("d", 200))))
	send(t, s, id, anEdit("x2", 1, wheel.Pull(pinAt("d", 200))))
	smaller := smallMachine("Hailstone", 3)
	smaller.Wheel.Steps = 128
	if err := s.ReplaceMachine(ctx, 1, 1, smaller); err != nil {
		t.Fatal(err)
	}
	_, err := s.Edit(ctx, id, anEdit("y1", 1, wheel.Drive(pinAt("a", 128))))
	refused(t, err, wheel.ErrInvalid, "the edit does not fit Hailstone, and nothing was changed: changes[0].step is 128; the wheel of Hailstone has steps 0 to 127")
	const gone = "Hailstone has been changed since, and has no hole for some of the pins that would come back; nothing was changed: " +
		"changes[0].channel is \"d\", and Hailstone has no such channel\nchanges[0].step is 200; the wheel of Hailstone has steps 0 to 127"
	_, err = s.Undo(ctx, id, 0, "u1", "")
	refused(t, err, wheel.ErrInvalid, gone)
	_, err = s.ReturnTo(ctx, id, 1, "r1", "")
	refused(t, err, wheel.ErrInvalid, gone)
	wantPins(t, s, id, pinAt("a", 3))
	if _, err := s.ReturnTo(ctx, id, 0, "r2", ""); err != nil { // there the pin was not yet
		t.Error(err)
	}
	wantPins(t, s, id)
	if p, err := s.PinningAt(ctx, id, 1); err != nil || len(p.Pins) != 2 {
		t.Errorf("as it was then it has %v (%v)", p, err)
	}
	if err := s.ReplaceMachine(ctx, 1, 2, smallMachine("Hailstone", 4)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.ReturnTo(ctx, id, 1, "r1", ""); err != nil {
		t.Errorf("with the channel back: %v", err)
	}
	wantPins(t, s, id, pinAt("a", 3), pinAt("d", 200))
}

func TestBarsAreInTheHistoryToo(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	want := func(beats wheel.Count, after string) {
		t.Helper()
		if p, err := s.Pinning(ctx, id); err != nil || p.File.BeatsPerBar != beats {
			t.Errorf("%s: %+v (%v), want bars of %d beats", after, p, err, beats)
		}
	}
	want(0, "as it came in")
	if err := s.CountPinning(ctx, id, 3); err != nil {
		t.Fatal(err)
	}
	want(3, "counted in three")
	if err := s.CountPinning(ctx, id, 3); err != nil { // says the same
		t.Fatal(err)
	}
	send(t, s, id, anEdit("x1", 1, wheel.Drive(pinAt("a", 3))))
	refused(t, s.CountPinning(ctx, id, 65), wheel.ErrInvalid, "beats_per_bar is 65; a count is at most 64")
	if p, err := s.PinningAt(ctx, id, 0); err != nil || p.BeatsPerBar != 0 {
		t.Errorf("as it came in it was %+v (%v)", p, err)
	}
	for i, beats := range []wheel.Count{3, 0} {
		if _, err := s.Undo(ctx, id, 0, fmt.Sprint("u", i), ""); err != nil {
			t.Fatal(err)
		}
		want(beats, "undone")
	}
	if _, err := s.Redo(ctx, id, 0, "r1", ""); err != nil {
		t.Fatal(err)
	}
	want(3, "redone")
}

func TestTitleTempoAndAdvanceAreInTheHistoryToo(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	if err := s.RenamePinning(ctx, id, "Weir"); err != nil {
		t.Fatal(err)
	}
	was := wheel.Head{Title: "Mill Race", TempoBPM: 84}
	now := wheel.Head{Title: "Mill Race", TempoBPM: 84, Advance: map[string]int{"a": 2}}
	advance := history.NewEdit{
		ID: "x1", By: "Ann", Kind: "advance", Words: "set Bar a 2 steps early",
		Changes: []wheel.PinChange{wheel.Drive(pinAt("a", 3))}, Head: &history.HeadChange{Was: was, Now: now},
	}
	if e := send(t, s, id, advance); !e.Head.Now.Equal(wheel.Head{Title: "Weir", TempoBPM: 84, Advance: now.Advance}) {
		t.Errorf("the head becomes %+v", e.Head)
	}
	advance.ID, advance.Head.Now.Advance = "x2", map[string]int{"a": 7}
	_, err := s.Edit(ctx, id, advance)
	refused(t, err, wheel.ErrConflict, "Weir was changed by someone else meanwhile, and nothing was overwritten: advance.a is 2 by now; this would make it 7")
	whole := smallPinning("Sluice", 2)
	if err := s.ReplacePinning(ctx, id, 3, whole); err != nil {
		t.Fatal(err)
	}
	if err := s.ReplacePinning(ctx, id, 4, whole); err != nil { // says the same
		t.Fatal(err)
	}
	all, err := s.Edits(ctx, id, 0, 10)
	if err != nil || len(all) != 3 || all[0].Kind != history.KindRename || all[2].Kind != history.KindBring {
		t.Fatalf("the history is %+v (%v)", all, err)
	}
	titles := []string{"Mill Race", "Weir", "Weir", "Sluice"}
	for seq, title := range titles {
		p, err := s.PinningAt(ctx, id, int64(seq))
		if err != nil || p.Title != title || len(p.Advance) != (seq&2)/2-seq/3 || p.Machine != "Hailstone" {
			t.Errorf("after edit %d it is %+v (%v), want %s", seq, p, err, title)
		}
	}
	for seq := 2; seq >= 0; seq-- {
		if _, err := s.Undo(ctx, id, 0, fmt.Sprint("u", seq), ""); err != nil {
			t.Fatal(err)
		}
		p, err := s.Pinning(ctx, id)
		if err != nil || p.Title != titles[seq] || p.File.Title != titles[seq] || len(p.File.Advance) != seq/2 {
			t.Errorf("undone to %d it is %+v (%v)", seq, p, err)
		}
	}
	wantState(t, s, id, 6, 0, 1)
	if e, err := s.ReturnTo(ctx, id, 2, "r1", ""); err != nil || e.Head == nil || e.Head.Now.Title != "Weir" {
		t.Errorf("returned: %+v (%v)", e, err)
	}
	wantPins(t, s, id, pinAt("a", 3))
}

func TestAnEditThatMakesAFileTooLargeIsRefused(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	hurry(t, s)
	m := smallMachine("Hailstone", 2)
	m.Wheel.Steps = 26000
	for i := range m.Channels { // ids that take the most room a file can give them
		m.Channels[i].ID = strings.Repeat(`"`, 63) + fmt.Sprint(i)
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Full"}
	for i := range 2 * m.Wheel.Steps { // 52,000 lines of 160 bytes: 8.3 MB, of 8.4 MB that are read
		p.Pins = append(p.Pins, pinAt(m.Channels[i%2].ID, i/2))
	}
	id := addPinning(t, s, addMachine(t, s, m), 0, p)
	var aims []wheel.PinChange
	for i, pin := range p.Pins[:5000] {
		aims = append(aims, wheel.PinChange{Channel: pin.Channel, Step: pin.Step, Was: pin.InHole(), Now: aimedAt("", 0, float64(i)+0.123456789012).InHole()})
	}
	_, err := s.Edit(ctx, id, anEdit("x1", 0, aims...))
	refused(t, err, wheel.ErrTooLarge, "the file would be larger than 8 MiB, and larger ones are not read")
	wantState(t, s, id, 0, 0, 0)
}

func TestRemovingAPinningRemovesItsHistory(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	send(t, s, id, anEdit("x1", 0, wheel.Drive(pinAt("a", 3))))
	if _, err := s.SetMark(ctx, id, "one"); err != nil {
		t.Fatal(err)
	}
	if err := s.RemovePinning(ctx, id); err != nil {
		t.Fatal(err)
	}
	for _, table := range []string{"holes", "edits", "marks"} {
		var n int
		if err := s.reader.QueryRow(`SELECT count(*) FROM ` + table).Scan(&n); err != nil || n != 0 {
			t.Errorf("%s has %d rows left (%v)", table, n, err)
		}
	}
	checkIntegrity(t, s)
}

func TestTheHistoryIsReadInPartsFromEitherEnd(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	for i := range 5 {
		send(t, s, id, anEdit(fmt.Sprint("x", i), int64(i), wheel.Drive(pinAt("a", i))))
	}
	seqs := func(all []history.Edit, err error) string {
		if err != nil {
			t.Error(err)
		}
		var text []string
		for _, e := range all {
			text = append(text, fmt.Sprint(e.Seq))
		}
		return strings.Join(text, " ")
	}
	for _, c := range []struct{ got, want string }{
		{seqs(s.Edits(ctx, id, 0, 100)), "1 2 3 4 5"},
		{seqs(s.Edits(ctx, id, 3, 100)), "4 5"},
		{seqs(s.Edits(ctx, id, 1, 2)), "2 3"},
		{seqs(s.Edits(ctx, id, 5, 2)), ""},
		{seqs(s.Edits(ctx, id, 0, -1)), ""},
		{seqs(s.Edits(ctx, 77, 0, 100)), ""},
	} {
		if c.got != c.want {
			t.Errorf("listed %q, want %q", c.got, c.want)
		}
	}
}

func TestAHistoryThatWasDamagedIsNotFollowed(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	send(t, s, id, anEdit("x1", 0, wheel.Drive(pinAt("a", 3))))
	if _, err := s.writer.Exec(`UPDATE holes SET pinned = 0`); err != nil {
		t.Fatal(err)
	}
	const says = "the history of Mill Race does not fit its pins (%s); the database is damaged: go back to a copy of it"
	_, err := s.Undo(ctx, id, 0, "u1", "")
	refused(t, err, wheel.ErrDamaged, fmt.Sprintf(says, "step 3 of a has no pin, not a pin"))
	_, err = s.PinningAt(ctx, id, 0)
	refused(t, err, wheel.ErrDamaged, fmt.Sprintf(says, "changes[0] is of step 3 of a with a pin, and there is no pin"))
	if _, err := s.writer.Exec(`UPDATE edits SET changes = '[{]'`); err != nil {
		t.Fatal(err)
	}
	_, err = s.Edits(ctx, id, 0, 1)
	if !errors.Is(err, wheel.ErrDamaged) {
		t.Errorf("reading it says %v", err)
	}
	if _, err := s.writer.Exec(`UPDATE holes SET pinned = 1, aim = 'x'`); err != nil {
		t.Fatal(err)
	}
	_, err = s.Pinning(ctx, id)
	refused(t, err, wheel.ErrDamaged, `an aim of the pinning is "x"; the database is damaged: go back to a copy of it`)
}

func TestWaitingForAnotherProgramEndsWithItsContext(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pinwright.db")
	first, second := openAt(t, path), openAt(t, path)
	id := addPinning(t, first, addMachine(t, first, smallMachine("Hailstone", 1)), 0, smallPinning("Mill Race", 0))
	writing, err := first.turn(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	n := anEdit("x1", 0, wheel.Drive(pinAt("a", 3)))
	ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	if _, err := second.Edit(ctx, id, n); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("error is %v, want that the time is over", err)
	}
	done := make(chan history.Edit)
	go func() {
		e, err := second.Edit(context.Background(), id, n)
		if err != nil {
			t.Error(err)
		}
		done <- e
	}()
	time.Sleep(20 * time.Millisecond)
	if err := writing.Rollback(); err != nil {
		t.Fatal(err)
	}
	if e := <-done; e.Seq != 1 {
		t.Errorf("kept as %+v", e)
	}
}
