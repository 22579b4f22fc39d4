package history_test

import (
	"context"
	"reflect"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

// The table is that of the promise: for a hole that both have touched, the
// edit made on the older base is held back only if the outcomes differ.
func TestMergeGoesHoleByHole(t *testing.T) {
	none, plain, aimed := wheel.InHole{}, wheel.InHole{Pin: true}, wheel.InHole{Pin: true, Aim: wheel.AimAt(9)}
	const made, held, nothing = "made", "held back", "nothing to do"
	for _, c := range []struct {
		name       string
		at, theirs wheel.InHole // the hole at the base, and after the other's edit
		was, now   wheel.InHole // what this edit asks for
		comes      string
	}{
		{"nobody else touched it", none, none, none, plain, made},
		{"nobody else touched it, and the sender was mistaken", aimed, aimed, none, plain, made},
		{"both drive the same", none, plain, none, plain, nothing},
		{"both pull", plain, none, plain, none, nothing},
		{"both drive, aims differ", none, aimed, none, plain, held},
		{"one pulls, the other aims", plain, none, plain, aimed, held},
		{"one aims, the other pulls", plain, aimed, plain, none, held},
		{"made of what the other made", none, aimed, aimed, none, made},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := newMemory()
			change := func(was, now wheel.InHole) wheel.PinChange {
				return wheel.PinChange{Channel: "a", Step: 3, Was: was, Now: now}
			}
			m.drive(t, "Ann", 0, change(none, c.at), wheel.Drive(pinAt("b", 0)))
			m.drive(t, "Ben", 1, change(c.at, c.theirs), wheel.Pull(pinAt("b", 0)))
			e := m.drive(t, "Ann", 1, change(c.was, c.now), wheel.Drive(pinAt("c", 8)))
			want := []wheel.PinChange{change(c.theirs, c.now), wheel.Drive(pinAt("c", 8))}
			var heldBack []history.Conflict
			if c.comes != made {
				want = want[1:]
			}
			if c.comes == held {
				heldBack = []history.Conflict{{PinChange: change(c.was, c.now), Is: c.theirs, Seq: 2, By: "Ben"}}
			}
			if !reflect.DeepEqual(e.Changes, want) || !reflect.DeepEqual(e.Held, heldBack) {
				t.Errorf("changed %+v and held back %+v, want %+v and %+v", e.Changes, e.Held, want, heldBack)
			}
			if c.comes == held { // asked, the sender wants it all the same
				forced := m.drive(t, "Ann", e.Seq, change(c.was, c.now))
				if want := []wheel.PinChange{change(c.theirs, c.now)}; !reflect.DeepEqual(forced.Changes, want) || forced.Held != nil {
					t.Errorf("forced it changes %+v and holds back %+v, want %+v", forced.Changes, forced.Held, want)
				}
			}
		})
	}
}

func TestWhatDoesNotFitThePinningIsRefused(t *testing.T) {
	m := newMemory()
	m.drive(t, "Ann", 0, wheel.Drive(pinAt("a", 3)))
	drive := func(channel string, step int) []wheel.PinChange {
		return []wheel.PinChange{wheel.Drive(pinAt(channel, step))}
	}
	was := wheel.Head{Title: "Mill Race", TempoBPM: 84}
	for _, c := range []struct {
		name string
		n    history.NewEdit
		code wheel.Code
		says string
	}{
		{"a base to come", history.NewEdit{Base: 2, Changes: drive("a", 4)}, wheel.ErrInvalid, "the edit starts from edit 2 of Mill Race, and the last one kept is 1; load the page again and repeat the edit"},
		{"a base before all", history.NewEdit{Base: -1, Changes: drive("a", 4)}, wheel.ErrInvalid, "the edit starts from edit -1 of Mill Race, and the last one kept is 1; load the page again and repeat the edit"},
		{"a step off the wheel", history.NewEdit{Base: 1, Changes: drive("a", 256)}, wheel.ErrInvalid, "the edit does not fit Hailstone, and nothing was changed: changes[0].step is 256; the wheel of Hailstone has steps 0 to 255"},
		{"a channel that is not there", history.NewEdit{Base: 1, Changes: drive("z", 4)}, wheel.ErrInvalid, `the edit does not fit Hailstone, and nothing was changed: changes[0].channel is "z", and Hailstone has no such channel`},
		{"a hole twice", history.NewEdit{Base: 1, Changes: append(drive("a", 4), wheel.Pull(pinAt("a", 4)))}, wheel.ErrInvalid, "the edit does not fit Hailstone, and nothing was changed: changes[1] is of step 4 of a, which changes[0] is already; an edit changes a hole once"},
		{"a tempo that is none", history.NewEdit{Base: 1, Head: &history.HeadChange{Was: was, Now: wheel.Head{Title: "Mill Race", TempoBPM: -3}}}, wheel.ErrInvalid, "tempo_bpm is −3; a tempo is at least 1"},
		{"an advance of no channel", history.NewEdit{Base: 1, Head: &history.HeadChange{Was: was, Now: wheel.Head{Title: "Mill Race", TempoBPM: 84, Advance: map[string]int{"z": 1}}}}, wheel.ErrInvalid, "the pinning Mill Race would not fit Hailstone: advance.z is for a channel that Hailstone does not have"},
		{"a title that someone else changed", history.NewEdit{Head: &history.HeadChange{Was: wheel.Head{Title: "Sluice"}, Now: wheel.Head{Title: "Weir"}}}, wheel.ErrConflict, `Mill Race was changed by someone else meanwhile, and nothing was overwritten: title is "Mill Race" by now; this would make it "Weir"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := m.open().Merge(context.Background(), c.n)
			refused(t, err, c.code, c.says)
		})
	}
	full := m.open()
	full.Pins = wheel.MaxPins
	_, err := full.Merge(context.Background(), history.NewEdit{Base: 1, Changes: drive("a", 4)})
	refused(t, err, wheel.ErrTooLarge, "the pinning would have 262145 pins; 262144 at most")
	if _, err := full.Merge(context.Background(), history.NewEdit{Base: 1, Changes: []wheel.PinChange{wheel.Pull(pinAt("a", 3))}}); err != nil {
		t.Errorf("a pull from a full pinning: %v", err)
	}
}

// An edit that has nothing to do is kept, so that it is known when it is sent
// again, and leaves what undo and redo would do.
func TestAnEditThatChangesNothingLeavesTheStacks(t *testing.T) {
	ctx := context.Background()
	m := newMemory()
	m.drive(t, "Ann", 0, wheel.Drive(pinAt("a", 3)))
	m.drive(t, "Ann", 1, wheel.Drive(pinAt("b", 3)))
	undo, err := m.open().Undo(ctx, 2)
	if err != nil || m.add(undo, "Ann") != nil {
		t.Fatal(err)
	}
	m.drive(t, "Ben", 3, wheel.Drive(pinAt("a", 3)))
	if got, want := m.entries[3].Stacks, (history.Stacks{Undo: 1, Redo: 3}); got != want {
		t.Errorf("the stacks are %+v, want %+v", got, want)
	}
	m.drive(t, "Ben", 4, wheel.Pull(pinAt("a", 3)))
	if got, want := m.entries[4].Stacks, (history.Stacks{Undo: 5}); got != want {
		t.Errorf("after a change they are %+v, want %+v", got, want)
	}
}

func TestAFileIsBroughtInAndATitleIsChangedAsEdits(t *testing.T) {
	m := newMemory(pinAt("a", 3), pinAt("b", 4))
	file := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Weir", TempoBPM: 84, Pins: []wheel.Pin{pinAt("b", 4), pinAt("c", 5)}}
	entry, err := m.open().Bring(m.file, file)
	if err != nil || entry.Kind != history.KindBring || entry.Words == "" || entry.Stacks.Undo != 1 {
		t.Fatalf("brought in: %+v (%v)", entry, err)
	}
	if err := m.add(entry, ""); err != nil || m.file.Title != "Weir" {
		t.Fatalf("it is %+v (%v)", m.file, err)
	}
	if same, err := m.open().Bring(m.file, file); same != nil || err != nil {
		t.Errorf("the same file makes %+v (%v)", same, err)
	}
	if same, err := m.open().Rename("Weir"); same != nil || err != nil {
		t.Errorf("the same title makes %+v (%v)", same, err)
	}
	entry, err = m.open().Rename("Sluice")
	if err != nil || entry.Kind != history.KindRename || entry.Changes != nil || entry.Head.Now.Title != "Sluice" || entry.Head.Now.TempoBPM != 84 {
		t.Errorf("renamed: %+v (%v)", entry, err)
	}
}
