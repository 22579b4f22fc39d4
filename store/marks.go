package store

import (
	"context"
	"database/sql"
	"errors"
	"strings"
	"time"

	"pinwright/wheel"
)

// maxMarks is how many marks a pinning may have.
const maxMarks = 1000

// Mark is a name for a pinning as an edit left it.
type Mark struct {
	ID        int64
	PinningID int64
	Seq       int64 // of that edit; 0: as the pinning came in
	Name      string
	At        time.Time // when it was set
}

const markColumns = `id, pinning_id, seq, name, at_us`

func scanMark(row scanner) (Mark, error) {
	var m Mark
	var at int64
	err := row.Scan(&m.ID, &m.PinningID, &m.Seq, &m.Name, &at)
	m.At = timeOf(at)
	return m, err
}

// SetMark names a pinning as it is now. A name that another mark of the
// pinning has is refused ([wheel.ErrConflict]), unless nothing was edited since that
// one was set: then it is the one.
func (s *Store) SetMark(ctx context.Context, pinningID int64, name string) (Mark, error) {
	name = strings.TrimSpace(name)
	if name == "" {
		return Mark{}, wheel.Refuse(wheel.ErrInvalid, "the mark has no name; give it one, such as “before the school visit”")
	}
	if err := wheel.CheckLine("the mark's name", name, wheel.MaxName); err != nil {
		return Mark{}, err
	}
	var mark Mark
	err := s.change(ctx, "setting the mark", func(tx *sql.Tx) error {
		p, err := pinningRow(ctx, tx, pinningID)
		if err != nil {
			return err
		}
		mark, err = scanMark(tx.QueryRowContext(ctx,
			`SELECT `+markColumns+` FROM marks WHERE pinning_id = ? AND name = ?`, pinningID, name))
		switch {
		case err == nil && mark.Seq == p.Seq:
			return nil
		case err == nil:
			return wheel.Refuse(wheel.ErrConflict, "%s has a mark called %s already; give this one another name, or remove that one first", p.Title, name)
		case !errors.Is(err, sql.ErrNoRows):
			return err
		}
		var marks int
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM marks WHERE pinning_id = ?`, pinningID).Scan(&marks); err != nil {
			return err
		}
		if marks >= maxMarks {
			return wheel.Refuse(wheel.ErrConflict, "%s has %d marks; %d at most, so remove some first", p.Title, marks, maxMarks)
		}
		mark, err = scanMark(tx.QueryRowContext(ctx,
			`INSERT INTO marks (pinning_id, seq, name, at_us) VALUES (?, ?, ?, ?) RETURNING `+markColumns,
			pinningID, p.Seq, name, s.nowUS()))
		return err
	})
	if err != nil {
		return Mark{}, err
	}
	return mark, nil
}

// Marks lists the marks of a pinning, those of the latest edits first.
func (s *Store) Marks(ctx context.Context, pinningID int64) ([]Mark, error) {
	return list(ctx, s.reader, "listing the marks", scanMark,
		`SELECT `+markColumns+` FROM marks WHERE pinning_id = ? ORDER BY seq DESC, id DESC`, pinningID)
}

// RemoveMark removes a mark of a pinning. The edits stay.
func (s *Store) RemoveMark(ctx context.Context, pinningID, markID int64) error {
	return s.change(ctx, "removing the mark", func(tx *sql.Tx) error {
		return removed(ctx, tx, markID, "mark", `DELETE FROM marks WHERE id = ? AND pinning_id = ?`, pinningID)
	})
}
