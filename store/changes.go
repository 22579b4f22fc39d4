package store

import (
	"context"
	"database/sql"
	"strings"
	"time"

	"pinwright/wheel"
)

// maxReason is how long the reason for a change may be, in characters.
const maxReason = 500

// MachineChange is a dated change of a machine's figures.
type MachineChange struct {
	ID      int64
	At      time.Time
	Reason  string
	Figures []ChangedFigure // by path
}

// ChangedFigure is one figure of a change, before and after.
type ChangedFigure struct {
	Path     string // as wheel.Figure has it
	From, To float64
}

// ChangeMachine changes figures of a machine and notes when and why. It
// refuses what [Store.ReplaceMachine] refuses, a change without a reason, and
// one that leaves every figure as it is ([wheel.ErrInvalid]).
func (s *Store) ChangeMachine(ctx context.Context, id int64, revision int, reason string, sets []wheel.Set) error {
	reason = strings.TrimSpace(reason)
	if reason == "" {
		return wheel.Refuse(wheel.ErrInvalid, "the change has no reason; say in a few words why, and who did it")
	}
	if err := wheel.CheckLine("the reason", reason, maxReason); err != nil {
		return err
	}
	return s.change(ctx, "changing the machine", func(tx *sql.Tx) error {
		before, err := machine(ctx, tx, id)
		if err != nil {
			return err
		}
		if before.Revision != revision {
			return wheel.ChangedMeanwhile(before.Name)
		}
		after, err := before.File.WithSets(sets...)
		if err != nil {
			return wheel.RefuseFor(wheel.ErrInvalid, err, "the change cannot be kept: %s", err)
		}
		figures, err := changedFigures(before.File, after, sets)
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
func addChange(ctx context.Context, tx *sql.Tx, machineID, nowUS int64, reason string, figures []ChangedFigure) error {
	var change int64
	if err := tx.QueryRowContext(ctx,
		`INSERT INTO machine_changes (machine_id, at_us, reason) VALUES (?, ?, ?) RETURNING id`, machineID, nowUS, reason).Scan(&change); err != nil {
		return err
	}
	for _, f := range figures {
		if _, err := tx.ExecContext(ctx,
			`INSERT INTO changed_figures (change_id, path, from_value, to_value) VALUES (?, ?, ?, ?)`, change, f.Path, f.From, f.To); err != nil {
			return err
		}
	}
	return nil
}

// figuresApart are the figures that two states of a machine both have and that
// differ.
func figuresApart(before, after *wheel.Machine) []ChangedFigure {
	var figures []ChangedFigure
	for _, was := range before.Figures() {
		if is, err := after.Figure(was.Path); err == nil && is.Value != was.Value {
			figures = append(figures, ChangedFigure{was.Path, was.Value, is.Value})
		}
	}
	return figures
}

func changedFigures(before, after *wheel.Machine, sets []wheel.Set) ([]ChangedFigure, error) {
	var figures []ChangedFigure
	seen := map[string]bool{}
	for _, set := range sets {
		was, err := before.Figure(set.Path)
		if err != nil {
			return nil, err
		}
		is, err := after.Figure(set.Path)
		if err != nil {
			return nil, err
		}
		if was.Value != is.Value && !seen[was.Path] {
			seen[was.Path] = true
			figures = append(figures, ChangedFigure{was.Path, was.Value, is.Value})
		}
	}
	if len(figures) == 0 {
		return nil, wheel.Refuse(wheel.ErrInvalid, "the change leaves every figure as it is; nothing was kept")
	}
	return figures, nil
}

// MachineChanges lists a machine's changes, the latest first.
func (s *Store) MachineChanges(ctx context.Context, id int64) ([]MachineChange, error) {
	rows, err := s.reader.QueryContext(ctx, `
		SELECT c.id, c.at_us, c.reason, f.path, f.from_value, f.to_value
		FROM machine_changes c JOIN changed_figures f ON f.change_id = c.id
		WHERE c.machine_id = ? ORDER BY c.id DESC, f.path`, id)
	if err != nil {
		return nil, failed("reading the machine's changes", err)
	}
	defer rows.Close()
	var changes []MachineChange
	for rows.Next() {
		var c MachineChange
		var f ChangedFigure
		var at int64
		if err := rows.Scan(&c.ID, &at, &c.Reason, &f.Path, &f.From, &f.To); err != nil {
			return nil, failed("reading the machine's changes", err)
		}
		if n := len(changes); n == 0 || changes[n-1].ID != c.ID {
			c.At = time.UnixMicro(at).UTC()
			changes = append(changes, c)
		}
		last := &changes[len(changes)-1]
		last.Figures = append(last.Figures, f)
	}
	return changes, failed("reading the machine's changes", rows.Err())
}
