package history_test

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

func TestUndoAndRedoGoAllTheWayThereAndBack(t *testing.T) {
	ctx := context.Background()
	m := newMemory()
	const n = 30
	for i := range n {
		m.drive(t, "Ann", int64(i), wheel.Drive(pinAt("a", i)))
	}
	for i := n; i > 0; i-- {
		undo, err := m.open().Undo(ctx, int64(i))
		if err != nil || undo.Of != int64(i) || undo.Kind != history.KindUndo || undo.Words != "edit by Ann" {
			t.Fatalf("undone: %+v (%v)", undo, err)
		}
		if err := m.add(undo, ""); err != nil || len(m.file.Pins) != i-1 {
			t.Fatalf("%d pins (%v), want %d", len(m.file.Pins), err, i-1)
		}
	}
	_, err := m.open().Undo(ctx, 0)
	refused(t, err, wheel.ErrConflict, "there is nothing to undo: Mill Race is as it came in")
	for i := 1; i <= n; i++ {
		redo, err := m.open().Redo(ctx, 0)
		if err != nil || redo.Of != int64(i) || redo.Kind != history.KindRedo {
			t.Fatalf("redone: %+v (%v)", redo, err)
		}
		if err := m.add(redo, ""); err != nil || len(m.file.Pins) != i {
			t.Fatalf("%d pins (%v), want %d", len(m.file.Pins), err, i)
		}
	}
	_, err = m.open().Redo(ctx, 0)
	refused(t, err, wheel.ErrConflict, "there is nothing to redo in Mill Race: redo brings again what undo took back, until the next edit")
}

// Someone presses undo while an edit by someone else is on its way.
func TestUndoAndRedoDoWhatWasMeantOrNothing(t *testing.T) {
	ctx := context.Background()
	m := newMemory()
	m.drive(t, "Ann", 0, wheel.Drive(pinAt("a", 1)))
	m.drive(t, "Ben", 1, wheel.Drive(pinAt("b", 1)))
	_, err := m.open().Undo(ctx, 1)
	refused(t, err, wheel.ErrConflict, "Mill Race was edited meanwhile, and nothing was undone: undo would now take back “edit by Ben”; look at it first")
	for _, of := range []int64{2, 1} {
		undo, err := m.open().Undo(ctx, of)
		if err != nil || m.add(undo, "Ann") != nil {
			t.Fatal(err)
		}
	}
	_, err = m.open().Redo(ctx, 2)
	refused(t, err, wheel.ErrConflict, "Mill Race was edited meanwhile, and nothing was redone: redo would now bring back “edit by Ann”; look at it first")
}

func TestAReturnIsNamedAfterTheLatestMarkAndUndone(t *testing.T) {
	ctx := context.Background()
	m := newMemory(pinAt("d", 9))
	m.drive(t, "Ann", 0, wheel.Drive(pinAt("a", 1)))
	m.drive(t, "Ann", 1, wheel.Pull(pinAt("d", 9)))
	m.marks[1] = "before the school visit"
	rename, err := m.open().Rename("Weir")
	if err != nil || m.add(rename, "") != nil {
		t.Fatal(err)
	}
	for seq, words := range []string{"return to the beginning", "return to “before the school visit”", "return to edit 2"} {
		back, err := m.open().ReturnTo(ctx, int64(seq))
		if err != nil || back.Words != words || back.Of != int64(seq) || back.Head.Now.Title != "Mill Race" || back.Stacks.Undo != back.Seq {
			t.Errorf("return to %d is %+v (%v), want %q", seq, back, err, words)
		}
	}
	for _, seq := range []int64{-1, 4} {
		_, err := m.open().ReturnTo(ctx, seq)
		refused(t, err, wheel.ErrNotFound, fmt.Sprintf("there is no edit %d of Weir; the last one is 3", seq))
	}
	back, err := m.open().ReturnTo(ctx, 0)
	if err != nil || m.add(back, "") != nil || !slices.Equal(m.file.Pins, []wheel.Pin{pinAt("d", 9)}) {
		t.Errorf("returned it has %v (%v)", m.file.Pins, err)
	}
	undo, err := m.open().Undo(ctx, back.Seq)
	if err != nil || m.add(undo, "") != nil || m.file.Title != "Weir" || !slices.Equal(m.file.Pins, []wheel.Pin{pinAt("a", 1)}) {
		t.Errorf("undone it is %+v (%v)", m.file, err)
	}
}

func TestAPinThatTheMachineHasNoHoleForDoesNotComeBack(t *testing.T) {
	ctx := context.Background()
	m := newMemory()
	m.drive(t, "Ann", 0, wheel.Drive(pinAt("d", 200)))
	m.drive(t, "Ann", 1, wheel.Pull(pinAt("d", 200)))
	m.machine.Wheel.Steps, m.machine.Channels = 128, m.machine.Channels[:3]
	const says = "Hailstone has been changed since, and has no hole for some of the pins that would come back; nothing was changed: " +
		"changes[0].channel is \"d\", and Hailstone has no such channel\nchanges[0].step is 200; the wheel of Hailstone has steps 0 to 127"
	_, err := m.open().Undo(ctx, 0)
	refused(t, err, wheel.ErrInvalid, says)
	_, err = m.open().ReturnTo(ctx, 1)
	refused(t, err, wheel.ErrInvalid, says)
	if _, err := m.open().ReturnTo(ctx, 0); err != nil { // there the pin was not yet
		t.Error(err)
	}
}

func TestAHistoryThatDoesNotFitItsPinsIsNotFollowed(t *testing.T) {
	m := newMemory()
	m.drive(t, "Ann", 0, wheel.Drive(pinAt("a", 3)))
	m.file.Pins = nil
	const says = "the history of Mill Race does not fit its pins (%s); the database is damaged: go back to a copy of it"
	_, err := m.open().Undo(context.Background(), 0)
	refused(t, err, wheel.ErrDamaged, fmt.Sprintf(says, "step 3 of a has no pin, not a pin"))
	since, err := m.Since(context.Background(), 0)
	if err != nil {
		t.Fatal(err)
	}
	refused(t, since.TakeBack(m.file), wheel.ErrDamaged, fmt.Sprintf(says, "changes[0] is of step 3 of a with a pin, and there is no pin"))
}

func TestNextTellsTheEditsThatUndoAndRedoAreAbout(t *testing.T) {
	lines := map[int64]history.Line{
		1: {Seq: 1, Words: "one"}, 2: {Seq: 2, Words: "two"}, 3: {Seq: 3, Of: 2, Words: "two"},
	}
	read := func(seq int64) (history.Line, error) {
		line, ok := lines[seq]
		if !ok {
			return line, errors.New("no such edit")
		}
		return line, nil
	}
	undo, redo, err := history.Stacks{Undo: 1, Redo: 3}.Next(read) // edit 3 undid edit 2
	if err != nil || *undo != lines[1] || *redo != lines[2] {
		t.Errorf("undo is about %+v, redo about %+v (%v)", undo, redo, err)
	}
	if undo, redo, err := (history.Stacks{}).Next(read); undo != nil || redo != nil || err != nil {
		t.Errorf("of nothing: %+v, %+v (%v)", undo, redo, err)
	}
	for _, s := range []history.Stacks{{Undo: 9}, {Redo: 9}} {
		if _, _, err := s.Next(read); err == nil {
			t.Errorf("%+v cannot be read, and there is no error", s)
		}
	}
}

// plain is the plain way to do all this: every state kept whole, and two
// stacks.
type plain struct {
	states     []map[wheel.Pin]bool // after each edit, the first as it came in
	touched    map[place]int64
	undo, redo []int64
}

func stateOf(pins []wheel.Pin) map[wheel.Pin]bool {
	state := map[wheel.Pin]bool{}
	for _, pin := range pins {
		state[pin] = true
	}
	return state
}

func (h *plain) now() map[wheel.Pin]bool { return h.states[len(h.states)-1] }

// becomes makes a state the present one.
func (h *plain) becomes(state map[wheel.Pin]bool) {
	h.states = append(h.states, state)
	seq := int64(len(h.states) - 1)
	before := h.states[seq-1]
	for _, one := range []map[wheel.Pin]bool{before, state} {
		for pin := range one {
			if before[pin] != state[pin] {
				h.touched[place{pin.Channel, pin.Step}] = seq
			}
		}
	}
}

// edited is [plain.becomes] for a new edit.
func (h *plain) edited(state map[wheel.Pin]bool) {
	before := h.now()
	h.becomes(state)
	if !maps.Equal(before, state) {
		h.undo, h.redo = append(h.undo, int64(len(h.states)-1)), nil
	}
}

func (h *plain) edit(base int64, changes []wheel.PinChange) (held int) {
	state := maps.Clone(h.now())
	for _, c := range changes {
		var is wheel.InHole
		for pin := range h.now() {
			if pin.Channel == c.Channel && pin.Step == c.Step {
				is = wheel.InHole{Pin: true, Aim: pin.Aim}
			}
		}
		if is == c.Now {
			continue
		}
		if h.touched[place{c.Channel, c.Step}] > base && is != c.Was {
			held++
			continue
		}
		delete(state, wheel.Pin{Channel: c.Channel, Step: c.Step, Aim: is.Aim})
		if c.Now.Pin {
			state[wheel.Pin{Channel: c.Channel, Step: c.Step, Aim: c.Now.Aim}] = true
		}
	}
	h.edited(state)
	return held
}

func top(stack []int64) int64 {
	if len(stack) == 0 {
		return 0
	}
	return stack[len(stack)-1]
}

// Any mixture of edits on any base, undo, redo and returns leaves the pins, the
// way back and every state before as the plain way does.
func TestAnyHistoryIsThatOfWholeStatesAndTwoStacks(t *testing.T) {
	ctx := context.Background()
	rapid.Check(t, func(t *rapid.T) {
		m := newMemory()
		for i := range rapid.IntRange(0, 3).Draw(t, "pins at first") {
			m.file.Pins = append(m.file.Pins, pinAt("a", i))
		}
		h := &plain{states: []map[wheel.Pin]bool{stateOf(m.file.Pins)}, touched: map[place]int64{}}
		for range rapid.IntRange(1, 20).Draw(t, "edits") {
			var entry *history.Entry
			var err error
			var of, want int64
			last := int64(len(h.states) - 1)
			switch what := rapid.IntRange(0, 9).Draw(t, "what"); {
			case what < 5:
				n := history.NewEdit{Base: rapid.Int64Range(0, last).Draw(t, "base"), Kind: "drive", Words: "w", Changes: anyChanges(t)}
				entry, err = m.open().Merge(ctx, n)
				if held := h.edit(n.Base, n.Changes); err != nil || len(entry.Held) != held {
					t.Fatalf("%+v (%v) holds back not %d", entry, err, held)
				}
			case what < 7:
				entry, err = m.open().Undo(ctx, 0)
				if of = top(h.undo); of != 0 {
					h.undo, h.redo = h.undo[:len(h.undo)-1], append(h.redo, of)
					h.becomes(h.states[of-1])
				}
				want = of
			case what < 9:
				entry, err = m.open().Redo(ctx, 0)
				if of = top(h.redo); of != 0 {
					h.redo, h.undo = h.redo[:len(h.redo)-1], append(h.undo, of)
					h.becomes(h.states[of])
				}
				want = of
			default:
				want = rapid.Int64Range(0, last).Draw(t, "back to")
				entry, err = m.open().ReturnTo(ctx, want)
				h.edited(h.states[want])
			}
			if int64(len(h.states)-1) == last { // nothing to undo or redo
				if !errors.Is(err, wheel.ErrConflict) {
					t.Fatalf("with nothing there it is %+v (%v)", entry, err)
				}
				continue
			}
			if err != nil || entry.Of != want {
				t.Fatalf("it is %+v (%v), want one of edit %d", entry, err, want)
			}
			if err := m.add(entry, ""); err != nil {
				t.Fatal(err)
			}
			if !maps.Equal(stateOf(m.file.Pins), h.now()) {
				t.Fatalf("it has %v, want %v", m.file.Pins, h.now())
			}
			checkNext(t, m, h)
		}
		for seq, state := range h.states {
			p := m.file.Clone()
			since, err := m.Since(ctx, int64(seq))
			if err == nil {
				err = since.TakeBack(p)
			}
			if err != nil || !maps.Equal(stateOf(p.Pins), state) {
				t.Fatalf("after edit %d it had %v (%v), want %v", seq, p.Pins, err, state)
			}
		}
	})
}

// anyChanges is changes of one to four of six holes.
func anyChanges(t *rapid.T) (changes []wheel.PinChange) {
	anyHole := rapid.SampledFrom([]wheel.InHole{{}, {Pin: true}, {Pin: true, Aim: wheel.AimAt(0.1)}})
	for _, at := range rapid.SliceOfNDistinct(rapid.IntRange(0, 5), 1, 4, rapid.ID[int]).Draw(t, "holes") {
		changes = append(changes, wheel.PinChange{
			Channel: string(rune('a' + at/3)), Step: at % 3, Was: anyHole.Draw(t, "was"), Now: anyHole.Draw(t, "now"),
		})
	}
	return changes
}

// checkNext fails the test unless undo and redo are about the tops of the plain
// stacks.
func checkNext(t *rapid.T, m *memory, h *plain) {
	undo, redo, err := m.open().Stacks.Next(func(seq int64) (history.Line, error) {
		e, err := m.Edit(context.Background(), seq)
		return history.Line{Seq: e.Seq, Of: e.Of, Words: e.Words}, err
	})
	seqOf := func(l *history.Line) int64 {
		if l == nil {
			return 0
		}
		return l.Seq
	}
	if err != nil || seqOf(undo) != top(h.undo) || seqOf(redo) != top(h.redo) {
		t.Fatalf("undo is about %+v, redo about %+v (%v), want %v and %v", undo, redo, err, h.undo, h.redo)
	}
}
