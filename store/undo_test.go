package store

import (
	"context"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

func TestUndoAndRedoGoAllTheWayThereAndBackAfterReopening(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "pinwright.db")
	s := openAt(t, path)
	id := addPinning(t, s, addMachine(t, s, smallMachine("Hailstone", 1)), 0, smallPinning("Mill Race", 0))
	reopened := func() {
		t.Helper()
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		s = openAt(t, path)
	}
	const n = 30
	var pins []wheel.Pin
	for i := range n {
		pins = append(pins, pinAt("a", i))
		send(t, s, id, anEdit(fmt.Sprint("x", i), int64(i), wheel.Drive(pins[i])))
	}
	reopened()
	for i := n - 1; i >= 0; i-- {
		e, err := s.Undo(ctx, id, int64(i+1), fmt.Sprint("u", i), "Ben")
		if err != nil || e.Of != int64(i+1) || e.Kind != history.KindUndo || e.Words != fmt.Sprint("edit x", i) || e.By != "Ben" {
			t.Fatalf("undone: %+v (%v)", e, err)
		}
		wantPins(t, s, id, pins[:i]...)
	}
	wantState(t, s, id, 2*n, 0, 1)
	_, err := s.Undo(ctx, id, 0, "more", "")
	refused(t, err, wheel.ErrConflict, "there is nothing to undo: Mill Race is as it came in")
	reopened()
	for i := range n {
		e, err := s.Redo(ctx, id, 0, fmt.Sprint("r", i), "")
		if err != nil || e.Of != int64(i+1) || e.Kind != history.KindRedo {
			t.Fatalf("redone: %+v (%v)", e, err)
		}
		wantPins(t, s, id, pins[:i+1]...)
	}
	wantState(t, s, id, 3*n, n, 0)
	_, err = s.Redo(ctx, id, 0, "more", "")
	refused(t, err, wheel.ErrConflict, "there is nothing to redo in Mill Race: redo brings again what undo took back, until the next edit")
}

// Someone presses undo while another edit, by someone else, is on its way.
func TestUndoTakesBackWhatWasMeantOrNothing(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	send(t, s, id, anEdit("x1", 0, wheel.Drive(pinAt("a", 1))))
	send(t, s, id, anEdit("y1", 1, wheel.Drive(pinAt("b", 1))))
	_, err := s.Undo(ctx, id, 1, "u1", "Ann")
	refused(t, err, wheel.ErrConflict, "Mill Race was edited meanwhile, and nothing was undone: undo would now take back “edit y1”; look at it first")
	for of := range 2 {
		if _, err := s.Undo(ctx, id, int64(2-of), fmt.Sprint("u2", of), "Ann"); err != nil {
			t.Fatal(err)
		}
	}
	_, err = s.Redo(ctx, id, 2, "r1", "Ann")
	refused(t, err, wheel.ErrConflict, "Mill Race was edited meanwhile, and nothing was redone: redo would now bring back “edit x1”; look at it first")
	for _, call := range []func(context.Context, int64, int64, string, string) (history.Edit, error){s.Undo, s.Redo, s.ReturnTo} {
		_, err := call(ctx, 9, 0, "z", "")
		refused(t, err, wheel.ErrNotFound, "there is no pinning 9; it may have been removed")
		_, err = call(ctx, id, 0, "", "")
		refused(t, err, wheel.ErrInvalid, "the edit has no id; without one it could not be told from the same edit sent twice")
	}
	_, err = s.EditState(ctx, 9)
	refused(t, err, wheel.ErrNotFound, "there is no pinning 9; it may have been removed")
}

// plainHistory is the plain way to do all that the store does: every state kept
// whole, and two stacks.
type plainHistory struct {
	states     []map[wheel.Pin]bool // after each edit, the first as it came in
	touched    map[[2]any]int64
	undo, redo []int64
}

func (h *plainHistory) now() map[wheel.Pin]bool { return h.states[len(h.states)-1] }

// holds is what a hole holds in a state.
func holds(state map[wheel.Pin]bool, channel string, step int) wheel.InHole {
	for pin := range state {
		if pin.Channel == channel && pin.Step == step {
			return pin.InHole()
		}
	}
	return wheel.InHole{}
}

// becomes makes a state the present one.
func (h *plainHistory) becomes(state map[wheel.Pin]bool) {
	h.states = append(h.states, state)
	seq := int64(len(h.states) - 1)
	before := h.states[seq-1]
	for _, one := range []map[wheel.Pin]bool{before, state} {
		for pin := range one {
			if before[pin] != state[pin] {
				h.touched[[2]any{pin.Channel, pin.Step}] = seq
			}
		}
	}
}

// edited is [plainHistory.becomes] for a new edit.
func (h *plainHistory) edited(state map[wheel.Pin]bool) {
	before := h.now()
	h.becomes(state)
	if !maps.Equal(before, state) {
		h.undo, h.redo = append(h.undo, int64(len(h.states)-1)), nil
	}
}

func (h *plainHistory) edit(base int64, changes []wheel.PinChange) (held int) {
	state := maps.Clone(h.now())
	for _, c := range changes {
		is := holds(h.now(), c.Channel, c.Step)
		if is == c.Now {
			continue
		}
		if h.touched[[2]any{c.Channel, c.Step}] > base && is != c.Was {
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

func stateOf(pins []wheel.Pin) map[wheel.Pin]bool {
	state := map[wheel.Pin]bool{}
	for _, pin := range pins {
		state[pin] = true
	}
	return state
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
	s := openNew(t)
	hurry(t, s)
	machineID := addMachine(t, s, smallMachine("Hailstone", 2))
	rapid.Check(t, func(t *rapid.T) {
		anyHole := rapid.Custom(func(t *rapid.T) wheel.InHole {
			return rapid.SampledFrom([]wheel.InHole{{}, {Pin: true}, {Pin: true, Aim: wheel.AimAt(0.1)}}).Draw(t, "holds")
		})
		start := smallPinning("Mill Race", rapid.IntRange(0, 3).Draw(t, "pins at first"))
		id, err := s.AddPinning(ctx, machineID, 0, start)
		if err != nil {
			t.Fatal(err)
		}
		h := &plainHistory{states: []map[wheel.Pin]bool{stateOf(start.Pins)}, touched: map[[2]any]int64{}}
		for i := range rapid.IntRange(1, 20).Draw(t, "edits") {
			editID := fmt.Sprint("e", i)
			last := int64(len(h.states) - 1)
			switch what := rapid.IntRange(0, 9).Draw(t, "what"); {
			case what < 5:
				var changes []wheel.PinChange
				for _, at := range rapid.SliceOfNDistinct(rapid.IntRange(0, 5), 1, 4, rapid.ID[int]).Draw(t, "holes") {
					changes = append(changes, wheel.PinChange{
						Channel: string(rune('a' + at/3)), Step: at % 3, Was: anyHole.Draw(t, "was"), Now: anyHole.Draw(t, "now"),
					})
				}
				base := rapid.Int64Range(0, last).Draw(t, "base")
				e, err := s.Edit(ctx, id, anEdit(editID, base, changes...))
				if held := h.edit(base, changes); err != nil || len(e.Held) != held {
					t.Fatalf("%+v (%v) holds back %d, want %d", e, err, len(e.Held), held)
				}
			case what < 7:
				e, err := s.Undo(ctx, id, 0, editID, "")
				of := top(h.undo)
				if (err == nil) != (of != 0) || e.Of != of {
					t.Fatalf("undone: %+v (%v), want %d", e, err, of)
				}
				if of != 0 {
					h.undo, h.redo = h.undo[:len(h.undo)-1], append(h.redo, of)
					h.becomes(h.states[of-1])
				}
			case what < 9:
				e, err := s.Redo(ctx, id, 0, editID, "")
				of := top(h.redo)
				if (err == nil) != (of != 0) || e.Of != of {
					t.Fatalf("redone: %+v (%v), want %d", e, err, of)
				}
				if of != 0 {
					h.redo, h.undo = h.redo[:len(h.redo)-1], append(h.undo, of)
					h.becomes(h.states[of])
				}
			default:
				seq := rapid.Int64Range(0, last).Draw(t, "back to")
				if _, err := s.ReturnTo(ctx, id, seq, editID, ""); err != nil {
					t.Fatal(err)
				}
				h.edited(h.states[seq])
			}
			p, err := s.Pinning(ctx, id)
			if err != nil || !maps.Equal(stateOf(p.File.Pins), h.now()) || p.Pins != len(h.now()) || p.Seq != int64(len(h.states)-1) {
				t.Fatalf("it has %v (%v), want %v after %d edits", p.File.Pins, err, h.now(), len(h.states)-1)
			}
		}
		wantState(t, s, id, int64(len(h.states)-1), top(h.undo), top(h.redo))
		for seq, state := range h.states {
			p, err := s.PinningAt(ctx, id, int64(seq))
			if err != nil || !maps.Equal(stateOf(p.Pins), state) || !slices.IsSortedFunc(p.Pins, func(a, b wheel.Pin) int { return a.Step - b.Step }) {
				t.Fatalf("after edit %d it had %v (%v), want %v", seq, p, err, state)
			}
		}
	})
	checkIntegrity(t, s)
}
