package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"pinwright/wheel"
)

// maxEdits is how many edits are read at once.
const maxEdits = 1000

const editColumns = `seq, coalesce(edit_id, ''), at_us, by_whom, kind, of_seq, words, changes, held, head`

func scanEdit(row scanner, more ...any) (Edit, error) {
	var e Edit
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

func oneEdit(ctx context.Context, q querier, pinningID, seq int64) (Edit, error) {
	return scanEdit(q.QueryRowContext(ctx, `SELECT `+editColumns+` FROM edits WHERE pinning_id = ? AND seq = ?`, pinningID, seq))
}

// keptEdit is the edit that is kept under its sender's id, and the fingerprint
// of what was sent, or nil.
func (s *Store) keptEdit(ctx context.Context, tx *sql.Tx, pinningID int64, editID string) (*Edit, int64, error) {
	var asked int64
	e, err := scanEdit(tx.StmtContext(ctx, s.edit.kept).QueryRowContext(ctx, pinningID, editID), &asked)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, 0, nil
	}
	return &e, asked, err
}

// Edits lists the edits of a pinning that follow the edit after, in order, at
// most limit of them and at most 1,000.
func (s *Store) Edits(ctx context.Context, pinningID, after int64, limit int) ([]Edit, error) {
	return list(ctx, s.reader, "reading the history", func(row scanner) (Edit, error) { return scanEdit(row) },
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
		if seq < 0 || seq > p.Seq {
			return noEdit(p.Title, seq, p.Seq)
		}
		since, err := sumSince(ctx, tx, id, seq)
		if err != nil {
			return err
		}
		if err := p.File.Apply(wheel.Inverse(since.Changes())); err != nil {
			return misfit(p.Title, err)
		}
		if since.head != nil {
			p.File.SetHead(*since.head)
		}
		p.File.Sort()
		file = p.File
		return nil
	})
	return file, err
}

// editSum is what edits that follow each other come to.
type editSum struct {
	wheel.Sum
	head *wheel.Head // before the first change of it, nil for none
}

// sumSince adds up the edits that follow the edit seq.
func sumSince(ctx context.Context, q querier, pinningID, seq int64) (*editSum, error) {
	rows, err := q.QueryContext(ctx,
		`SELECT seq, changes, head FROM edits WHERE pinning_id = ? AND seq > ? ORDER BY seq`, pinningID, seq)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var sum editSum
	var changesText, headText sql.RawBytes
	for rows.Next() {
		if err := rows.Scan(&seq, &changesText, &headText); err != nil {
			return nil, err
		}
		var changes []wheel.PinChange // anew: JSON leaves alone what it does not name
		if err := json.Unmarshal(changesText, &changes); err != nil {
			return nil, unreadableEdit(seq, err)
		}
		sum.Add(changes...)
		if headText != nil && sum.head == nil {
			var c wheel.HeadChange
			if err := json.Unmarshal(headText, &c); err != nil {
				return nil, unreadableEdit(seq, err)
			}
			sum.head = &c.Was
		}
	}
	return &sum, rows.Err()
}
