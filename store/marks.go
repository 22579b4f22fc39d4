package store

import (
	"context"
	"database/sql"

	"pinwright/wheel/history"
)

const markColumns = `id, pinning_id, seq, name, at_us`

func scanMark(row scanner) (history.Mark, error) {
	var m history.Mark
	var at int64
	err := row.Scan(&m.ID, &m.PinningID, &m.Seq, &m.Name, &at)
	m.At = timeOf(at)
	return m, err
}

// SetMark names a pinning as it is now. A name that a different state of the
// pinning has is refused ([wheel.ErrConflict]); see [history.FindMark].
func (s *Store) SetMark(ctx context.Context, pinningID int64, name string) (history.Mark, error) {
	name, err := history.MarkName(name)
	if err != nil {
		return history.Mark{}, err
	}
	var mark history.Mark
	err = s.change(ctx, "setting the mark", func(tx *sql.Tx) error {
		p, err := pinningRow(ctx, tx, pinningID)
		if err != nil {
			return err
		}
		all, err := marks(ctx, tx, pinningID)
		if err != nil {
			return err
		}
		same, err := history.FindMark(all, p.Title, p.Seq, name)
		if err != nil {
			return err
		}
		if same != nil {
			mark = *same
			return nil
		}
		mark, err = scanMark(tx.QueryRowContext(ctx,
			`INSERT INTO marks (pinning_id, seq, name, at_us) VALUES (?, ?, ?, ?) RETURNING `+markColumns,
			pinningID, p.Seq, name, s.nowUS()))
		return err
	})
	if err != nil {
		return history.Mark{}, err
	}
	return mark, nil
}

// Marks lists the marks of a pinning, those of the latest edits first.
func (s *Store) Marks(ctx context.Context, pinningID int64) ([]history.Mark, error) {
	return marks(ctx, s.reader, pinningID)
}

func marks(ctx context.Context, q querier, pinningID int64) ([]history.Mark, error) {
	return list(ctx, q, "listing the marks", scanMark,
		`SELECT `+markColumns+` FROM marks WHERE pinning_id = ? ORDER BY seq DESC, id DESC`, pinningID)
}

// RemoveMark removes a mark of a pinning. The edits stay.
func (s *Store) RemoveMark(ctx context.Context, pinningID, markID int64) error {
	return s.change(ctx, "removing the mark", func(tx *sql.Tx) error {
		return removed(ctx, tx, markID, "mark", `DELETE FROM marks WHERE id = ? AND pinning_id = ?`, pinningID)
	})
}
