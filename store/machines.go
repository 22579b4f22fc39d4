package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/place"
)

// MachineRow is a machine as a listing shows it.
type MachineRow struct {
	ID       int64
	Name     string
	Channels int
	Pinnings int // how many are set on it
	Revision int // 1 when added, one more with every change
	Added    time.Time
	Changed  time.Time
}

// Machine is a machine with its file.
type Machine struct {
	MachineRow
	File *wheel.Machine
}

// kept is the machine as its work on the wheel asks for it.
func (m *Machine) kept() place.KeptMachine {
	return place.KeptMachine{ID: m.ID, Revision: m.Revision, File: m.File}
}

const machineColumns = `id, name, channels, revision, added_us, changed_us,
	(SELECT count(*) FROM pinnings WHERE machine_id = machines.id)`

func scanMachine(row scanner, more ...any) (MachineRow, error) {
	var m MachineRow
	var added, changed int64
	err := row.Scan(append([]any{&m.ID, &m.Name, &m.Channels, &m.Revision, &added, &changed, &m.Pinnings}, more...)...)
	m.Added, m.Changed = timeOf(added), timeOf(changed)
	return m, err
}

// Machines lists all machines by name.
func (s *Store) Machines(ctx context.Context) ([]MachineRow, error) {
	return list(ctx, s.reader, "listing the machines",
		func(row scanner) (MachineRow, error) { return scanMachine(row) },
		`SELECT `+machineColumns+` FROM machines ORDER BY name COLLATE NOCASE, id`)
}

// Machine is one machine with its file, or [wheel.ErrNotFound].
func (s *Store) Machine(ctx context.Context, id int64) (*Machine, error) {
	m, err := machine(ctx, s.reader, id)
	return m, failed("reading the machine", err)
}

func machine(ctx context.Context, q querier, id int64) (*Machine, error) {
	var m Machine
	var text []byte
	var err error
	m.MachineRow, err = scanMachine(q.QueryRowContext(ctx,
		`SELECT `+machineColumns+`, file FROM machines WHERE id = ?`, id), &text)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, wheel.Refuse(wheel.ErrNotFound, "there is no machine %d; it may have been removed", id)
	}
	if err != nil {
		return nil, err
	}
	if m.File, err = file.ReadMachine(text); err != nil {
		return nil, wheel.RefuseFor(wheel.ErrInvalid, err, "the file kept for machine %s cannot be read by this version of the program: %s", m.Name, err)
	}
	return &m, nil
}

// AddMachine keeps a machine and returns its id. It refuses a second one of
// the same name ([wheel.ErrConflict]), since a pinning file names its machine so.
func (s *Store) AddMachine(ctx context.Context, file *wheel.Machine) (id int64, err error) {
	text, err := machineText(file)
	if err != nil {
		return 0, err
	}
	err = s.change(ctx, "adding the machine", func(tx *sql.Tx) error {
		if err := freeName(ctx, tx, file.Name, 0); err != nil {
			return err
		}
		now := s.nowUS()
		return tx.QueryRowContext(ctx,
			`INSERT INTO machines (file, added_us, changed_us) VALUES (?, ?, ?) RETURNING id`,
			text, now, now).Scan(&id)
	})
	return id, err
}

// ReplaceMachine keeps a new file for a machine. The revision is the one that
// the change started from: if the machine has been changed since, it is
// refused ([wheel.ErrConflict]), so that nobody's work is overwritten unseen. So is
// a file onto which a pinning of the machine no longer fits. What differs is kept
// as a change of the machine.
func (s *Store) ReplaceMachine(ctx context.Context, id int64, revision int, file *wheel.Machine) error {
	text, err := machineText(file)
	if err != nil {
		return err
	}
	return s.change(ctx, "changing the machine", func(tx *sql.Tx) error {
		var name string
		var current int
		err := tx.QueryRowContext(ctx, `SELECT name, revision FROM machines WHERE id = ?`, id).Scan(&name, &current)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return wheel.Refuse(wheel.ErrNotFound, "there is no machine %d; it may have been removed", id)
		case err != nil:
			return err
		}
		if err := wheel.CheckRevision(name, current, revision); err != nil {
			return err
		}
		if err := freeName(ctx, tx, file.Name, id); err != nil {
			return err
		}
		if err := pinningsFit(ctx, tx, id, file); err != nil {
			return err
		}
		if err := wheelStays(ctx, tx, id, file); err != nil {
			return err
		}
		before, unreadable := machine(ctx, tx, id) // one that cannot be read is well replaced
		now := s.nowUS()
		if _, err := tx.ExecContext(ctx,
			`UPDATE machines SET file = ?, revision = revision + 1, changed_us = ? WHERE id = ?`, text, now, id); err != nil {
			return err
		}
		if unreadable != nil {
			return nil
		}
		return addChange(ctx, tx, id, now, wheel.NewFileReason, before.File, file)
	})
}

// RemoveMachine removes a machine that has no pinnings and nothing on its wheel
// ([wheel.ErrConflict] if it has).
func (s *Store) RemoveMachine(ctx context.Context, id int64) error {
	return s.change(ctx, "removing the machine", func(tx *sql.Tx) error {
		m, err := scanMachine(tx.QueryRowContext(ctx, `SELECT `+machineColumns+` FROM machines WHERE id = ?`, id))
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return wheel.Refuse(wheel.ErrNotFound, "there is no machine %d; it may have been removed already", id)
		case err != nil:
			return err
		}
		if err := wheel.CheckUnused(m.Name, m.Pinnings); err != nil {
			return err
		}
		if err := wheelIsBare(ctx, tx, id, m.Name); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `DELETE FROM machines WHERE id = ?`, id)
		return err
	})
}

// freeName refuses a name that another machine has, see [wheel.CheckName].
func freeName(ctx context.Context, tx *sql.Tx, name string, id int64) error {
	var owner int64
	err := tx.QueryRowContext(ctx, `SELECT coalesce(max(id), 0) FROM machines WHERE name = ?`, name).Scan(&owner)
	if err != nil {
		return err
	}
	return wheel.CheckName(name, id, owner)
}

// pinningsFit refuses a machine file that leaves a pinning of the machine
// with channels or steps that are no longer there.
func pinningsFit(ctx context.Context, tx *sql.Tx, id int64, file *wheel.Machine) error {
	rows, err := tx.QueryContext(ctx, `SELECT id FROM pinnings WHERE machine_id = ? ORDER BY id`, id)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var pinningID int64
		if err := rows.Scan(&pinningID); err != nil {
			return err
		}
		p, err := pinning(ctx, tx, pinningID)
		if err != nil {
			return err
		}
		if err := p.File.CheckStillFits(file); err != nil {
			return err
		}
	}
	return rows.Err()
}
