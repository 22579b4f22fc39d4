package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"pinwright/wheel"
)

// Undo takes back the latest edit that is not taken back, whoever made it. It
// is an edit itself, so that nothing is ever lost. Where of is not 0, it is the
// edit that is meant: if another one is to be taken back by now, because
// someone has edited the pinning meanwhile, Undo is refused ([wheel.ErrConflict]),
// as it is where there is nothing to undo.
func (s *Store) Undo(ctx context.Context, pinningID, of int64, editID, by string) (Edit, error) {
	n := NewEdit{ID: editID, By: by, Kind: KindUndo}
	if err := checkSender("edit", editID, by); err != nil {
		return Edit{}, err
	}
	return s.keepEdit(ctx, pinningID, "undoing", n, of, func(p *edited, e *Edit) error {
		if p.undo == 0 {
			return wheel.Refuse(wheel.ErrConflict, "there is nothing to undo: %s is as it came in", p.file.Title)
		}
		back, err := p.edit(ctx, p.undo)
		if err != nil {
			return err
		}
		if of != 0 && of != back.Seq {
			return wheel.Refuse(wheel.ErrConflict, "%s was edited meanwhile, and nothing was undone: undo would now take back “%s”; look at it first", p.file.Title, back.Words)
		}
		e.Of, e.Words = back.Seq, back.Words
		e.Changes = wheel.Inverse(back.Changes)
		if back.Head != nil {
			c := back.Head.Inverse()
			e.Head = &c
		}
		if p.undo, _, err = p.tops(ctx, back.Seq-1); err != nil {
			return err
		}
		p.redo = p.seq + 1
		return p.follows(ctx, e)
	})
}

// Redo brings again what the latest undo took back, unless there was another
// edit since. Where of is not 0, it is the edit that is meant, as for
// [Store.Undo].
func (s *Store) Redo(ctx context.Context, pinningID, of int64, editID, by string) (Edit, error) {
	n := NewEdit{ID: editID, By: by, Kind: KindRedo}
	if err := checkSender("edit", editID, by); err != nil {
		return Edit{}, err
	}
	return s.keepEdit(ctx, pinningID, "redoing", n, of, func(p *edited, e *Edit) error {
		if p.redo == 0 {
			return wheel.Refuse(wheel.ErrConflict, "there is nothing to redo in %s: redo brings again what undo took back, until the next edit", p.file.Title)
		}
		undo, err := p.edit(ctx, p.redo)
		if err != nil {
			return err
		}
		again, err := p.edit(ctx, undo.Of)
		if err != nil {
			return err
		}
		if of != 0 && of != again.Seq {
			return wheel.Refuse(wheel.ErrConflict, "%s was edited meanwhile, and nothing was redone: redo would now bring again “%s”; look at it first", p.file.Title, again.Words)
		}
		e.Of, e.Words = again.Seq, again.Words
		e.Changes, e.Head = again.Changes, again.Head
		if _, p.redo, err = p.tops(ctx, undo.Seq-1); err != nil {
			return err
		}
		p.undo = again.Seq
		return p.follows(ctx, e)
	})
}

// ReturnTo brings a pinning back to what it was after the edit seq, or, for 0,
// to what came in. It is one edit, which undo takes back. An edit that is not
// there is refused ([wheel.ErrNotFound]).
func (s *Store) ReturnTo(ctx context.Context, pinningID, seq int64, editID, by string) (Edit, error) {
	n := NewEdit{ID: editID, By: by, Kind: KindReturn}
	if err := checkSender("edit", editID, by); err != nil {
		return Edit{}, err
	}
	return s.keepEdit(ctx, pinningID, "returning to what it was", n, seq, func(p *edited, e *Edit) error {
		if seq < 0 || seq > p.seq {
			return noEdit(p.file.Title, seq, p.seq)
		}
		since, err := sumSince(ctx, p.tx, pinningID, seq)
		if err != nil {
			return err
		}
		e.Of = seq
		if e.Words, err = p.returnWords(ctx, seq); err != nil {
			return err
		}
		e.Changes = wheel.Inverse(since.Changes())
		if is := p.file.Head(); since.head != nil && !since.head.Equal(is) {
			e.Head = &wheel.HeadChange{Was: is, Now: *since.head}
		}
		p.pushed(e)
		return p.follows(ctx, e)
	})
}

func (p *edited) returnWords(ctx context.Context, seq int64) (string, error) {
	if seq == 0 {
		return "return to the beginning", nil
	}
	var name string
	err := p.tx.QueryRowContext(ctx, `SELECT name FROM marks WHERE pinning_id = ? AND seq = ? ORDER BY id DESC`, p.id, seq).Scan(&name)
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Sprintf("return to edit %d", seq), nil
	}
	return fmt.Sprintf("return to “%s”", name), err
}

func noEdit(title string, seq, last int64) error {
	return wheel.Refuse(wheel.ErrNotFound, "there is no edit %d of %s; the last one is %d", seq, title, last)
}

// tops is what undo and redo would take back after an edit; nothing before
// the first.
func (p *edited) tops(ctx context.Context, seq int64) (undo, redo int64, err error) {
	if seq == 0 {
		return 0, 0, nil
	}
	err = p.tx.QueryRowContext(ctx,
		`SELECT undo_seq, redo_seq FROM edits WHERE pinning_id = ? AND seq = ?`, p.id, seq).Scan(&undo, &redo)
	return undo, redo, err
}

func (p *edited) edit(ctx context.Context, seq int64) (Edit, error) {
	return oneEdit(ctx, p.tx, p.id, seq)
}

// follows holds the changes of an edit that the history gave against the pins
// and the machine as they are now.
func (p *edited) follows(ctx context.Context, e *Edit) error {
	holds, err := p.held(ctx, e.Changes)
	if err != nil {
		return err
	}
	var drives []wheel.PinChange
	for i, c := range e.Changes {
		if holds[i].InHole != c.Was {
			return misfit(p.file.Title, fmt.Errorf("step %d of %s has %s, not %s", c.Step, c.Channel, holds[i].InHole, c.Was))
		}
		if c.Now.Pin {
			drives = append(drives, c)
		}
	}
	if err := p.machine.CheckChanges(drives).Err(); err != nil {
		return wheel.RefuseFor(wheel.ErrInvalid, err, "%s has been changed since, and has no hole for some of the pins that would come back; nothing was changed: %s", p.machine.Name, err)
	}
	return nil
}

// EditState is where the history of a pinning stands.
type EditState struct {
	Seq  int64 // of the last edit, 0 for none
	Undo *Edit // what undo would take back, nil for nothing
	Redo *Edit // what redo would bring again, nil for nothing
}

// EditState tells what undo would take back and what redo would bring again.
func (s *Store) EditState(ctx context.Context, pinningID int64) (EditState, error) {
	var state EditState
	err := s.view(ctx, "reading the history", func(tx *sql.Tx) error {
		var undo, redo int64
		err := tx.QueryRowContext(ctx, `
			SELECT coalesce(e.seq, 0), coalesce(e.undo_seq, 0), coalesce(u.of_seq, 0)
			FROM pinnings AS p
			LEFT JOIN edits AS e ON e.pinning_id = p.id AND e.seq = (SELECT max(seq) FROM edits WHERE pinning_id = p.id)
			LEFT JOIN edits AS u ON u.pinning_id = p.id AND u.seq = e.redo_seq
			WHERE p.id = ?`, pinningID).Scan(&state.Seq, &undo, &redo)
		if errors.Is(err, sql.ErrNoRows) {
			return noPinning(pinningID)
		}
		if err != nil {
			return err
		}
		for _, of := range []struct {
			seq int64
			to  **Edit
		}{{undo, &state.Undo}, {redo, &state.Redo}} {
			if of.seq == 0 {
				continue
			}
			e, err := oneEdit(ctx, tx, pinningID, of.seq)
			if err != nil {
				return err
			}
			*of.to = &e
		}
		return nil
	})
	return state, err
}
