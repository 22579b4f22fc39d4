package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/history"
)

// Edit keeps an edit of a pinning, merged with those of others as
// [history.Pinning.Merge] says. When it returns, the edit is on disk.
//
// An edit with the id of one that is kept already is not made again: the answer
// is the one that was given then. If that one asked for something else, it is
// refused ([wheel.ErrConflict]).
func (s *Store) Edit(ctx context.Context, pinningID int64, n history.NewEdit) (history.Edit, error) {
	if err := n.Check(); err != nil {
		return history.Edit{}, err
	}
	return s.keepEdit(ctx, pinningID, "keeping the edit", n, 0, func(p *edited) (*history.Entry, error) {
		return p.Merge(ctx, n)
	})
}

// Undo takes back the latest edit, see [history.Pinning.Undo].
func (s *Store) Undo(ctx context.Context, pinningID, of int64, editID, by string) (history.Edit, error) {
	return s.keepBack(ctx, pinningID, "undoing", history.KindUndo, of, editID, by, func(p *edited) (*history.Entry, error) {
		return p.Undo(ctx, of)
	})
}

// Redo makes again what the latest undo took back, see [history.Pinning.Redo].
func (s *Store) Redo(ctx context.Context, pinningID, of int64, editID, by string) (history.Edit, error) {
	return s.keepBack(ctx, pinningID, "redoing", history.KindRedo, of, editID, by, func(p *edited) (*history.Entry, error) {
		return p.Redo(ctx, of)
	})
}

// ReturnTo makes a pinning what it was after the edit seq, see
// [history.Pinning.ReturnTo].
func (s *Store) ReturnTo(ctx context.Context, pinningID, seq int64, editID, by string) (history.Edit, error) {
	return s.keepBack(ctx, pinningID, "returning to what it was", history.KindReturn, seq, editID, by, func(p *edited) (*history.Entry, error) {
		return p.ReturnTo(ctx, seq)
	})
}

// keepBack keeps an edit that goes back to the edit of.
func (s *Store) keepBack(ctx context.Context, pinningID int64, doing, kind string, of int64, editID, by string, entry func(*edited) (*history.Entry, error)) (history.Edit, error) {
	if err := history.CheckSender(editID, by); err != nil {
		return history.Edit{}, err
	}
	return s.keepEdit(ctx, pinningID, doing, history.NewEdit{ID: editID, By: by, Kind: kind}, of, entry)
}

// keepEdit keeps the edit that entry makes, unless one of its id is kept already.
func (s *Store) keepEdit(ctx context.Context, id int64, doing string, n history.NewEdit, of int64, entry func(*edited) (*history.Entry, error)) (e history.Edit, err error) {
	asked, err := n.Fingerprint(of)
	if err != nil {
		return e, err
	}
	err = s.change(ctx, doing, func(tx *sql.Tx) error {
		kept, was, err := s.keptEdit(ctx, tx, id, n.ID)
		if err != nil {
			return err
		}
		if kept != nil {
			e = *kept
			return kept.CheckRepeat(was, asked)
		}
		p, err := s.openEdited(ctx, tx, id)
		if err != nil {
			return err
		}
		added, err := entry(p)
		if err != nil {
			return err
		}
		added.ID, added.By = n.ID, n.By
		err = p.write(ctx, added, s.nowUS(), asked)
		e = added.Edit
		return err
	})
	if err != nil {
		return history.Edit{}, err
	}
	return e, nil
}

// edited is a pinning while an edit of it is kept, as it was before.
type edited struct {
	history.Pinning
	log      editLog // the same as in Pinning
	revision int
}

func (s *Store) openEdited(ctx context.Context, tx *sql.Tx, id int64) (*edited, error) {
	p := &edited{log: editLog{tx, &s.edit, id}}
	p.Log = p.log
	var machineID int64
	var revision int
	var head []byte
	err := tx.StmtContext(ctx, s.edit.opened).QueryRowContext(ctx, id).Scan(&machineID, &revision, &head, &p.Pins, &p.revision, &p.Seq, &p.Stacks.Undo, &p.Stacks.Redo)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, noPinning(id)
	}
	if err != nil {
		return nil, err
	}
	if p.File, err = file.ReadPinning(head); err != nil {
		return nil, unreadable(fmt.Sprint(id), err)
	}
	p.Machine, err = s.editedMachine(ctx, tx, machineID, revision)
	return p, err
}

// editedMachine is the machine of a pinning that is edited. It is read only if
// it is not that of the last edit or has been changed since.
func (s *Store) editedMachine(ctx context.Context, tx *sql.Tx, id int64, revision int) (*wheel.Machine, error) {
	if last := s.lastEdited.Load(); last != nil && last.ID == id && last.Revision == revision {
		return last.File, nil
	}
	m, err := machine(ctx, tx, id)
	if err != nil {
		return nil, err
	}
	s.lastEdited.Store(m)
	return m.File, nil
}

// writeOwn writes an edit of the program's own; nil changes nothing.
func (s *Store) writeOwn(ctx context.Context, p *edited, entry *history.Entry, err error) error {
	if err != nil || entry == nil {
		return err
	}
	return p.write(ctx, entry, s.nowUS(), 0)
}

// write adds an entry to the history and makes its changes.
func (p *edited) write(ctx context.Context, e *history.Entry, us, asked int64) error {
	e.At = timeOf(us)
	changes, err := changesText(e.Changes)
	if err != nil {
		return err
	}
	head, err := textOrNull(e.Head, e.Head == nil)
	if err != nil {
		return err
	}
	held, err := textOrNull(e.Held, len(e.Held) == 0)
	if err != nil {
		return err
	}
	tx, do, id := p.log.tx, p.log.do, p.log.id
	_, err = tx.StmtContext(ctx, do.add).ExecContext(ctx,
		id, e.Seq, e.ID, asked, us, e.By, e.Kind, e.Of, e.Words, e.Stacks.Undo, e.Stacks.Redo, changes, held, head)
	if err != nil || e.Empty() {
		return err
	}
	if _, err := tx.StmtContext(ctx, do.setHoles).ExecContext(ctx, id, e.Seq, changes); err != nil {
		return err
	}
	if err := p.writeHead(ctx, e.Head); err != nil {
		return err
	}
	driven := e.Driven()
	if _, err := tx.StmtContext(ctx, do.count).ExecContext(ctx, driven, us, id); err != nil {
		return err
	}
	return writable(ctx, tx, id, p.Pins+driven)
}

// textOrNull is a value as JSON, or NULL.
func textOrNull(value any, null bool) (text sql.NullString, err error) {
	if null {
		return text, nil
	}
	bytes, err := json.Marshal(value)
	return sql.NullString{String: string(bytes), Valid: true}, err
}

func (p *edited) writeHead(ctx context.Context, c *history.HeadChange) error {
	if c == nil {
		return nil
	}
	p.File.SetHead(c.Now)
	text, err := headText(p.File)
	if err != nil {
		return err
	}
	_, err = p.log.tx.ExecContext(ctx, `UPDATE pinnings SET head = ? WHERE id = ?`, text, p.log.id)
	return err
}
