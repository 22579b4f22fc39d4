package history

import (
	"context"

	"pinwright/wheel"
)

// Pinning is a pinning that is about to be edited.
type Pinning struct {
	File    *wheel.Pinning // without its pins
	Pins    int            // how many it has
	Machine *wheel.Machine
	Seq     int64  // of the last edit, 0 for none
	Stacks  Stacks // as that edit left them
	Log     Log
}

// Stacks are the tops of the two stacks of edits, as an edit left them.
type Stacks struct {
	Undo int64 // the edit that undo takes back next, 0 for none
	Redo int64 // the undo whose edit redo makes again next, 0 for none
}

// Log is what is kept of one pinning. Long histories are not read as a whole:
// an edit asks for what it touches.
type Log interface {
	// Edit is the edit seq, which is there.
	Edit(ctx context.Context, seq int64) (Edit, error)
	// Stacks are the stacks as the edit seq left them, seq being 1 or more.
	Stacks(ctx context.Context, seq int64) (Stacks, error)
	// Holes is what the holes of changes hold now, in the order of changes.
	Holes(ctx context.Context, changes []wheel.PinChange) ([]Hole, error)
	// Since adds up the edits after the edit seq.
	Since(ctx context.Context, seq int64) (*Since, error)
	// MarkOf is the name that was last given to the state after the edit seq,
	// empty if it has none.
	MarkOf(ctx context.Context, seq int64) (string, error)
}

// Hole is what a hole holds, and which edit touched it last.
type Hole struct {
	wheel.InHole
	Seq int64  // of that edit; 0: it is as the pinning came in
	By  string // who made that edit
}

// Entry is an edit to be added to the history, and the stacks that it leaves.
// Its ID, By and At are left to whoever adds it.
type Entry struct {
	Edit
	Stacks Stacks
}

// stacksAt is what undo and redo would take after an edit, which is nothing
// before the first.
func (p *Pinning) stacksAt(ctx context.Context, seq int64) (Stacks, error) {
	if seq == 0 {
		return Stacks{}, nil
	}
	return p.Log.Stacks(ctx, seq)
}

// push puts an edit, if it changes anything, on top of what undo takes back.
// Nothing is left to redo then.
func (p *Pinning) push(e Edit) *Entry {
	entry := &Entry{e, p.Stacks}
	if !e.Empty() {
		entry.Stacks = Stacks{Undo: p.Seq + 1}
	}
	return entry
}

// seal gives an entry its number and refuses it if the pinning could not be
// as it would leave it.
func (p *Pinning) seal(entry *Entry) (*Entry, error) {
	entry.Seq = p.Seq + 1
	if entry.Head != nil {
		file := *p.File
		file.SetHead(entry.Head.Now)
		if err := file.CheckOn(p.Machine).Err(); err != nil {
			return nil, wheel.RefuseFor(wheel.ErrInvalid, err, "the pinning %s would not fit %s: %s", file.Title, p.Machine.Name, err)
		}
		if err := file.Check().Err(); err != nil {
			return nil, err
		}
	}
	if pins := p.Pins + entry.Driven(); pins > wheel.MaxPins {
		return nil, wheel.Refuse(wheel.ErrTooLarge, "the pinning would have %d pins; %d at most", pins, wheel.MaxPins)
	}
	return entry, nil
}
