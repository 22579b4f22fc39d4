package history

import (
	"context"

	"pinwright/wheel"
)

// Merge makes an edit, which has passed [NewEdit.Check], of a pinning that
// others may have edited since the edit's base.
//
// For each hole it changes:
//   - if the hole already holds what it should, nothing is done;
//   - if nobody has touched the hole since the base, or it holds what the sender
//     thought it did, it is changed;
//   - otherwise this change, and no other, is held back ([Conflict]).
//
// A head that two people have changed in the same place is refused as a whole
// ([wheel.ErrConflict]). Changes that the machine, as it is now, has no holes
// for are refused as [wheel.ErrInvalid].
func (p *Pinning) Merge(ctx context.Context, n NewEdit) (*Entry, error) {
	if n.Base < 0 || n.Base > p.Seq {
		return nil, wheel.Refuse(wheel.ErrInvalid, "the edit starts from edit %d of %s, and the last one kept is %d; load the page again and repeat the edit", n.Base, p.File.Title, p.Seq)
	}
	if err := p.Machine.CheckChanges(n.Changes).Err(); err != nil {
		return nil, wheel.RefuseFor(wheel.ErrInvalid, err, "the edit does not fit %s, and nothing was changed: %s", p.Machine.Name, err)
	}
	holes, err := p.Log.Holes(ctx, n.Changes)
	if err != nil {
		return nil, err
	}
	e := Edit{Kind: n.Kind, Words: n.Words}
	e.Changes, e.Held = merge(n.Base, n.Changes, holes)
	if n.Head != nil {
		if e.Head, err = p.mergeHead(*n.Head); err != nil {
			return nil, err
		}
	}
	return p.seal(p.push(e))
}

// merge parts changes that were made on a base into those that are made, with
// what their holes hold now, and those that are held back.
func merge(base int64, changes []wheel.PinChange, holes []Hole) (made []wheel.PinChange, held []Conflict) {
	for i, c := range changes {
		is := holes[i]
		switch {
		case is.InHole == c.Now:
		case is.Seq <= base || is.InHole == c.Was:
			c.Was = is.InHole
			made = append(made, c)
		default:
			held = append(held, Conflict{c, is.InHole, is.Seq, is.By})
		}
	}
	return made, held
}

// mergeHead is what a change of the head comes to, nil for nothing.
func (p *Pinning) mergeHead(c HeadChange) (*HeadChange, error) {
	is := p.File.Head()
	now, err := c.Onto(is)
	if err != nil {
		return nil, wheel.RefuseFor(wheel.ErrConflict, err, "%s was changed by someone else meanwhile, and nothing was overwritten: %s", p.File.Title, err)
	}
	if now.Equal(is) {
		return nil, nil
	}
	return &HeadChange{Was: is, Now: now}, nil
}

// Bring replaces the whole pinning, which is as is says, by a file. It returns
// nil if the file says the same.
func (p *Pinning) Bring(is, file *wheel.Pinning) (*Entry, error) {
	return p.own(Edit{Kind: KindBring, Words: "bring in another file", Changes: wheel.Differences(is, file)}, file.Head())
}

// Rename gives the pinning a new title. It returns nil if that is its title
// already.
func (p *Pinning) Rename(title string) (*Entry, error) {
	head := p.File.Head()
	head.Title = title
	return p.own(Edit{Kind: KindRename, Words: "change the title"}, head)
}

// CountBars gives the pinning another number of beats in a bar. It returns nil if
// it has that already.
func (p *Pinning) CountBars(beats int) (*Entry, error) {
	head := p.File.Head()
	if head.BeatsPerBar = wheel.Count(beats); beats == p.Machine.CountedFor(p.File).Wheel.BeatsPerBar {
		return nil, nil
	}
	return p.own(Edit{Kind: KindBars, Words: "change the beats in a bar"}, head)
}

// own makes an edit that was made of the pinning as it is.
func (p *Pinning) own(e Edit, now wheel.Head) (*Entry, error) {
	if was := p.File.Head(); !was.Equal(now) {
		e.Head = &HeadChange{Was: was, Now: now}
	}
	if e.Empty() {
		return nil, nil
	}
	return p.seal(p.push(e))
}
