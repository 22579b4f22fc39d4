package history

import (
	"context"
	"fmt"

	"pinwright/wheel"
)

// Undo takes back the latest edit that is not taken back, whoever made it.
// Where of is not 0, it is the edit that is meant: if undo would take back a
// different one, because someone has edited the pinning meanwhile, it is
// refused ([wheel.ErrConflict]), as it is where there is nothing to undo.
func (p *Pinning) Undo(ctx context.Context, of int64) (*Entry, error) {
	if p.Stacks.Undo == 0 {
		return nil, wheel.Refuse(wheel.ErrConflict, "there is nothing to undo: %s is as it came in", p.File.Title)
	}
	back, err := p.Log.Edit(ctx, p.Stacks.Undo)
	if err != nil {
		return nil, err
	}
	if of != 0 && of != back.Seq {
		return nil, wheel.Refuse(wheel.ErrConflict, "%s was edited meanwhile, and nothing was undone: undo would now take back “%s”; look at it first", p.File.Title, back.Words)
	}
	e := Edit{Kind: KindUndo, Of: back.Seq, Words: back.Words, Changes: wheel.Inverse(back.Changes)}
	if back.Head != nil {
		c := back.Head.Inverse()
		e.Head = &c
	}
	below, err := p.stacksAt(ctx, back.Seq-1)
	if err != nil {
		return nil, err
	}
	return p.follow(ctx, &Entry{e, Stacks{Undo: below.Undo, Redo: p.Seq + 1}})
}

// Redo makes again what the latest undo took back, unless there was another
// edit since. Where of is not 0, it is the edit that is meant, as for
// [Pinning.Undo].
func (p *Pinning) Redo(ctx context.Context, of int64) (*Entry, error) {
	if p.Stacks.Redo == 0 {
		return nil, wheel.Refuse(wheel.ErrConflict, "there is nothing to redo in %s: redo brings again what undo took back, until the next edit", p.File.Title)
	}
	undo, err := p.Log.Edit(ctx, p.Stacks.Redo)
	if err != nil {
		return nil, err
	}
	again, err := p.Log.Edit(ctx, undo.Of)
	if err != nil {
		return nil, err
	}
	if of != 0 && of != again.Seq {
		return nil, wheel.Refuse(wheel.ErrConflict, "%s was edited meanwhile, and nothing was redone: redo would now bring back “%s”; look at it first", p.File.Title, again.Words)
	}
	below, err := p.stacksAt(ctx, undo.Seq-1)
	if err != nil {
		return nil, err
	}
	e := Edit{Kind: KindRedo, Of: again.Seq, Words: again.Words, Changes: again.Changes, Head: again.Head}
	return p.follow(ctx, &Entry{e, Stacks{Undo: again.Seq, Redo: below.Redo}})
}

// ReturnTo makes the pinning what it was after the edit seq or, for 0, as it
// came in. It is one edit, which undo takes back. An edit that is not there is
// refused ([wheel.ErrNotFound]).
func (p *Pinning) ReturnTo(ctx context.Context, seq int64) (*Entry, error) {
	if err := CheckSeq(p.File.Title, seq, p.Seq); err != nil {
		return nil, err
	}
	since, err := p.Log.Since(ctx, seq)
	if err != nil {
		return nil, err
	}
	e := Edit{Kind: KindReturn, Of: seq, Changes: wheel.Inverse(since.Changes())}
	if e.Words, err = p.returnWords(ctx, seq); err != nil {
		return nil, err
	}
	if is, was := p.File.Head(), since.head; was != nil && !was.Equal(is) {
		e.Head = &HeadChange{Was: is, Now: *was}
	}
	return p.follow(ctx, p.push(e))
}

func (p *Pinning) returnWords(ctx context.Context, seq int64) (string, error) {
	if seq == 0 {
		return "return to the beginning", nil
	}
	name, err := p.Log.MarkOf(ctx, seq)
	if name == "" {
		return fmt.Sprintf("return to edit %d", seq), err
	}
	return fmt.Sprintf("return to “%s”", name), err
}

// CheckSeq refuses an edit that a pinning with the last edit last does not have.
func CheckSeq(title string, seq, last int64) error {
	if seq < 0 || seq > last {
		return wheel.Refuse(wheel.ErrNotFound, "there is no edit %d of %s; the last one is %d", seq, title, last)
	}
	return nil
}

// follow seals an entry whose changes the history gave: the holes must hold
// what it says, and the machine, as it is now, must have room for the pins that
// come back.
func (p *Pinning) follow(ctx context.Context, entry *Entry) (*Entry, error) {
	holes, err := p.Log.Holes(ctx, entry.Changes)
	if err != nil {
		return nil, err
	}
	var drives []wheel.PinChange
	for i, c := range entry.Changes {
		if is := holes[i].InHole; is != c.Was {
			return nil, misfit(p.File.Title, fmt.Errorf("step %d of %s has %s, not %s", c.Step, c.Channel, is, c.Was))
		}
		if c.Now.Pin {
			drives = append(drives, c)
		}
	}
	if err := p.Machine.CheckChanges(drives).Err(); err != nil {
		return nil, wheel.RefuseFor(wheel.ErrInvalid, err, "%s has been changed since, and has no hole for some of the pins that would come back; nothing was changed: %s", p.Machine.Name, err)
	}
	return p.seal(entry)
}

// misfit says that the history and the pins disagree.
func misfit(title string, err error) error {
	return wheel.RefuseFor(wheel.ErrDamaged, err, "the history of %s does not fit its pins (%s); the database is damaged: go back to a copy of it", title, err)
}

// Line is an edit in a line.
type Line struct {
	Seq   int64
	Of    int64 // as in [Edit]
	Words string
}

// Next is what undo would take back and what redo would make again, nil for
// nothing. line reads one edit.
func (s Stacks) Next(line func(seq int64) (Line, error)) (undo, redo *Line, err error) {
	if s.Undo != 0 {
		l, err := line(s.Undo)
		if err != nil {
			return nil, nil, err
		}
		undo = &l
	}
	if s.Redo != 0 {
		taken, err := line(s.Redo)
		if err != nil {
			return nil, nil, err
		}
		l, err := line(taken.Of)
		if err != nil {
			return nil, nil, err
		}
		redo = &l
	}
	return undo, redo, nil
}
