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
	return s.changeFile(ctx, id, revision, reason, func(m *wheel.Machine) (*wheel.Machine, error) {
		after, _, err := m.Change(sets...)
		return after, err
	})
}

// SetHouse sets, changes or takes away a machine's house limit, see
// [wheel.Machine.WithHouse], and notes when and why. It refuses what
// [Store.ReplaceMachine] and WithHouse refuse, and a change without a reason.
func (s *Store) SetHouse(ctx context.Context, id int64, revision int, reason string, bpm wheel.Maybe, why string) error {
	reason, err := wheel.ChangeReason(reason)
	if err != nil {
		return err
	}
	return s.changeFile(ctx, id, revision, reason, func(m *wheel.Machine) (*wheel.Machine, error) {
		return m.WithHouse(bpm, why)
	})
}

// changeFile keeps a machine as a change makes it, and the entry of the change.
func (s *Store) changeFile(ctx context.Context, id int64, revision int, reason string, change func(*wheel.Machine) (*wheel.Machine, error)) error {
	return s.change(ctx, "changing the machine", func(tx *sql.Tx) error {
		before, err := machine(ctx, tx, id)
		if err != nil {
			return err
		}
		if err := wheel.CheckRevision(before.Name, before.Revision, revision); err != nil {
			return err
		}
		after, err := change(before.File)
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
		return addChange(ctx, tx, id, now, reason, before.File, after)
	})
}

// addChange keeps the entry of a change that made one state of a machine's file
// into another. Where nothing differs there is no entry.
func addChange(ctx context.Context, tx *sql.Tx, machineID, nowUS int64, reason string, before, after *wheel.Machine) error {
	figures, texts := before.ChangedFigures(after), before.ChangedTexts(after)
	if len(figures)+len(texts) == 0 {
		return nil
	}
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
	for _, t := range texts {
		if _, err := tx.ExecContext(ctx,
			`INSERT INTO changed_texts (change_id, path, from_text, to_text) VALUES (?, ?, ?, ?)`, change, t.Path, t.From, t.To); err != nil {
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
	const reading = "reading the machine's changes"
	changes, err := list(ctx, s.reader, reading, func(row scanner) (c wheel.MachineChange, err error) {
		var at int64
		err = row.Scan(&c.ID, &at, &c.Reason)
		c.At = time.UnixMicro(at).UTC()
		return c, err
	}, `SELECT id, at_us, reason FROM machine_changes WHERE machine_id = ? ORDER BY id DESC`, id)
	if err != nil {
		return nil, err
	}
	byID := make(map[int64]*wheel.MachineChange, len(changes))
	for i := range changes {
		byID[changes[i].ID] = &changes[i]
	}
	// Changes are never edited: those that came since the first query are left out.
	_, err = list(ctx, s.reader, reading, func(row scanner) (f wheel.ChangedFigure, err error) {
		var of int64
		var from, to sql.NullFloat64
		err = row.Scan(&of, &f.Path, &from, &to)
		f.From, f.To = maybeOf(from), maybeOf(to)
		if c := byID[of]; c != nil {
			c.Figures = append(c.Figures, f)
		}
		return f, err
	}, `SELECT change_id, path, from_value, to_value FROM changed_figures
		WHERE change_id IN (SELECT id FROM machine_changes WHERE machine_id = ?) ORDER BY change_id, path`, id)
	if err != nil {
		return nil, err
	}
	_, err = list(ctx, s.reader, reading, func(row scanner) (t wheel.ChangedText, err error) {
		var of int64
		err = row.Scan(&of, &t.Path, &t.From, &t.To)
		if c := byID[of]; c != nil {
			c.Texts = append(c.Texts, t)
		}
		return t, err
	}, `SELECT change_id, path, from_text, to_text FROM changed_texts
		WHERE change_id IN (SELECT id FROM machine_changes WHERE machine_id = ?) ORDER BY change_id, path`, id)
	return changes, err
}
