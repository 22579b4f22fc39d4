package store

import (
	"context"
	"database/sql"
	"time"

	"pinwright/wheel"
)

// ChangeMachine changes figures of a machine and notes when and why. It
// refuses what [Store.ReplaceMachine] refuses, a change without a reason, and
// one that leaves every figure as it is ([wheel.ErrInvalid]).
func (s *Store) ChangeMachine(ctx context.Context, id int64, revision int, reason string, sets []wheel.Set) error {
	reason, err := wheel.ChangeReason(reason)
	if err != nil {
		return err
	}
	return s.change(ctx, "changing the machine", func(tx *sql.Tx) error {
		before, err := machine(ctx, tx, id)
		if err != nil {
			return err
		}
		if err := wheel.CheckRevision(before.Name, before.Revision, revision); err != nil {
			return err
		}
		after, figures, err := before.File.Change(sets...)
		if err != nil {
			return err
		}
		text, err := machineText(after)
		if err != nil {
			return err
		}
		if err := pinningsFit(ctx, tx, id, after); err != nil {
			return err
		}
		if err := wheelStays(ctx, tx, id, after); err != nil {
			return err
		}
		now := s.nowUS()
		if _, err := tx.ExecContext(ctx,
			`UPDATE machines SET file = ?, revision = revision + 1, changed_us = ? WHERE id = ?`, text, now, id); err != nil {
			return err
		}
		return addChange(ctx, tx, id, now, reason, figures)
	})
}

// addChange keeps the entry of a change.
func addChange(ctx context.Context, tx *sql.Tx, machineID, nowUS int64, reason string, figures []wheel.ChangedFigure) error {
	var change int64
	if err := tx.QueryRowContext(ctx,
		`INSERT INTO machine_changes (machine_id, at_us, reason) VALUES (?, ?, ?) RETURNING id`, machineID, nowUS, reason).Scan(&change); err != nil {
		return err
	}
	for _, f := range figures {
		if _, err := tx.ExecContext(ctx,
			`INSERT INTO changed_figures (change_id, path, from_value, to_value) VALUES (?, ?, ?, ?)`, change, f.Path, columnOf(f.From), columnOf(f.To)); err != nil {
			return err
		}
	}
	return nil
}

// columnOf keeps a figure that the file leaves out as NULL.
func columnOf(v wheel.Maybe) sql.NullFloat64 {
	value, known := v.Get()
	return sql.NullFloat64{Float64: value, Valid: known}
}

func maybeOf(v sql.NullFloat64) wheel.Maybe {
	if !v.Valid {
		return wheel.Maybe{}
	}
	return wheel.Known(v.Float64)
}

// MachineChanges lists a machine's changes, the latest first.
func (s *Store) MachineChanges(ctx context.Context, id int64) ([]wheel.MachineChange, error) {
	rows, err := s.reader.QueryContext(ctx, `
		SELECT c.id, c.at_us, c.reason, f.path, f.from_value, f.to_value
		FROM machine_changes c JOIN changed_figures f ON f.change_id = c.id
		WHERE c.machine_id = ? ORDER BY c.id DESC, f.path`, id)
	if err != nil {
		return nil, failed("reading the machine's changes", err)
	}
	defer rows.Close()
	var changes []wheel.MachineChange
	for rows.Next() {
		var c wheel.MachineChange
		var f wheel.ChangedFigure
		var at int64
		var from, to sql.NullFloat64
		if err := rows.Scan(&c.ID, &at, &c.Reason, &f.Path, &from, &to); err != nil {
			return nil, failed("reading the machine's changes", err)
		}
		f.From, f.To = maybeOf(from), maybeOf(to)
		if n := len(changes); n == 0 || changes[n-1].ID != c.ID {
			c.At = time.UnixMicro(at).UTC()
			changes = append(changes, c)
		}
		last := &changes[len(changes)-1]
		last.Figures = append(last.Figures, f)
	}
	return changes, failed("reading the machine's changes", rows.Err())
}
