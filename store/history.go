package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

// maxEdits is how many edits are read at once.
const maxEdits = 1000

const editColumns = `seq, coalesce(edit_id, ''), at_us, by_whom, kind, of_seq, words, changes, held, head`

func scanEdit(row scanner, more ...any) (history.Edit, error) {
	var e history.Edit
	var at int64
	var changes, heldBack, head []byte
	err := row.Scan(append([]any{&e.Seq, &e.ID, &at, &e.By, &e.Kind, &e.Of, &e.Words, &changes, &heldBack, &head}, more...)...)
	if err != nil {
		return e, err
	}
	e.At = timeOf(at)
	for _, part := range []struct {
		text []byte
		to   any
	}{{changes, &e.Changes}, {heldBack, &e.Held}, {head, &e.Head}} {
		if len(part.text) == 0 {
			continue
		}
		if err := json.Unmarshal(part.text, part.to); err != nil {
			return e, unreadableEdit(e.Seq, err)
		}
	}
	if len(e.Changes) == 0 {
		e.Changes = nil
	}
	return e, nil
}

func unreadableEdit(seq int64, err error) error {
	return wheel.RefuseFor(wheel.ErrDamaged, err, "edit %d cannot be read (%s); the database is damaged: go back to a copy of it", seq, err)
}

// Edits lists the edits of a pinning that follow the edit after, in order, at
// most limit of them and at most 1,000.
func (s *Store) Edits(ctx context.Context, pinningID, after int64, limit int) ([]history.Edit, error) {
	return list(ctx, s.reader, "reading the history", func(row scanner) (history.Edit, error) { return scanEdit(row) },
		`SELECT `+editColumns+` FROM edits WHERE pinning_id = ? AND seq > ? ORDER BY seq LIMIT ?`,
		pinningID, after, between(0, limit, maxEdits))
}

func between(least, n, most int) int { return max(least, min(n, most)) }

// PinningAt is a pinning as it was after the edit seq, or, for 0, as it came
// in. The machine has the name that it has now. An edit that is not there is
// refused ([wheel.ErrNotFound]).
func (s *Store) PinningAt(ctx context.Context, id, seq int64) (*wheel.Pinning, error) {
	var file *wheel.Pinning
	err := s.view(ctx, "reading the pinning", func(tx *sql.Tx) error {
		p, err := pinning(ctx, tx, id)
		if err != nil {
			return err
		}
		if err := history.CheckSeq(p.Title, seq, p.Seq); err != nil {
			return err
		}
		since, err := since(ctx, tx, id, seq)
		if err != nil {
			return err
		}
		file = p.File
		return since.TakeBack(file)
	})
	if err != nil {
		return nil, err
	}
	return file, nil
}

// EditState is where the history of a pinning stands.
type EditState struct {
	Seq  int64         // of the last edit, 0 for none
	Undo *history.Line // what undo would take back, nil for nothing
	Redo *history.Line // what redo would make again, nil for nothing
}

// EditState reads what undo would take back and what redo would make again.
func (s *Store) EditState(ctx context.Context, pinningID int64) (EditState, error) {
	var state EditState
	err := s.view(ctx, "reading the history", func(tx *sql.Tx) error {
		var stacks history.Stacks
		err := tx.QueryRowContext(ctx, `
			SELECT coalesce(e.seq, 0), coalesce(e.undo_seq, 0), coalesce(e.redo_seq, 0)
			FROM pinnings AS p
			LEFT JOIN edits AS e ON e.pinning_id = p.id AND e.seq = (SELECT max(seq) FROM edits WHERE pinning_id = p.id)
			WHERE p.id = ?`, pinningID).Scan(&state.Seq, &stacks.Undo, &stacks.Redo)
		if errors.Is(err, sql.ErrNoRows) {
			return noPinning(pinningID)
		}
		if err != nil {
			return err
		}
		state.Undo, state.Redo, err = stacks.Next(func(seq int64) (history.Line, error) {
			line := history.Line{Seq: seq}
			err := tx.QueryRowContext(ctx, `SELECT of_seq, words FROM edits WHERE pinning_id = ? AND seq = ?`, pinningID, seq).Scan(&line.Of, &line.Words)
			return line, err
		})
		return err
	})
	return state, err
}

// keptEdit is the edit that is kept under its sender's id, and the fingerprint
// of what was sent, or nil.
func (s *Store) keptEdit(ctx context.Context, tx *sql.Tx, pinningID int64, editID string) (*history.Edit, int64, error) {
	var asked int64
	e, err := scanEdit(tx.StmtContext(ctx, s.edit.kept).QueryRowContext(ctx, pinningID, editID), &asked)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, 0, nil
	}
	return &e, asked, err
}

// editLog is the [history.Log] of a pinning, read within a transaction.
type editLog struct {
	tx *sql.Tx
	do *editStatements
	id int64
}

func (l editLog) Edit(ctx context.Context, seq int64) (history.Edit, error) {
	return scanEdit(l.tx.QueryRowContext(ctx, `SELECT `+editColumns+` FROM edits WHERE pinning_id = ? AND seq = ?`, l.id, seq))
}

func (l editLog) Stacks(ctx context.Context, seq int64) (s history.Stacks, err error) {
	err = l.tx.QueryRowContext(ctx,
		`SELECT undo_seq, redo_seq FROM edits WHERE pinning_id = ? AND seq = ?`, l.id, seq).Scan(&s.Undo, &s.Redo)
	return s, err
}

func (l editLog) Holes(ctx context.Context, changes []wheel.PinChange) ([]history.Hole, error) {
	places, err := changesText(changes)
	if err != nil {
		return nil, err
	}
	rows, err := l.tx.StmtContext(ctx, l.do.holes).QueryContext(ctx, places, l.id)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	all := make([]history.Hole, len(changes))
	for rows.Next() {
		var i int
		var is history.Hole
		var aim sql.NullString
		if err := rows.Scan(&i, &is.Pin, &aim, &is.Seq, &is.By); err != nil {
			return nil, err
		}
		if aim.Valid {
			if is.Aim, err = aimOf(aim.String); err != nil {
				return nil, err
			}
		}
		all[i] = is
	}
	return all, rows.Err()
}

func (l editLog) Since(ctx context.Context, seq int64) (*history.Since, error) {
	return since(ctx, l.tx, l.id, seq)
}

func (l editLog) MarkOf(ctx context.Context, seq int64) (name string, err error) {
	err = l.tx.QueryRowContext(ctx, `SELECT name FROM marks WHERE pinning_id = ? AND seq = ? ORDER BY id DESC LIMIT 1`, l.id, seq).Scan(&name)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return name, err
}

// since adds up the edits that follow the edit seq.
func since(ctx context.Context, q querier, pinningID, seq int64) (*history.Since, error) {
	rows, err := q.QueryContext(ctx,
		`SELECT seq, changes, head FROM edits WHERE pinning_id = ? AND seq > ? ORDER BY seq`, pinningID, seq)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var sum history.Since
	var changesText, headText sql.RawBytes
	for rows.Next() {
		if err := rows.Scan(&seq, &changesText, &headText); err != nil {
			return nil, err
		}
		var changes []wheel.PinChange // a new one each time: JSON leaves alone what it does not name
		if err := json.Unmarshal(changesText, &changes); err != nil {
			return nil, unreadableEdit(seq, err)
		}
		var head *history.HeadChange
		if headText != nil {
			if err := json.Unmarshal(headText, &head); err != nil {
				return nil, unreadableEdit(seq, err)
			}
		}
		sum.Add(changes, head)
	}
	return &sum, rows.Err()
}
