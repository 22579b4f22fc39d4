package store

import (
	"context"
	"database/sql"

	"pinwright/wheel"
)

// wheelStays refuses a change of a machine that would put the record of its
// wheel wrong ([wheel.ErrConflict]): a pin is known by channel and step, and is in a
// row at an angle. While work on the wheel is under way, rows and steps stay as
// they are; else those of the pins that are on it do.
func wheelStays(ctx context.Context, tx *sql.Tx, id int64, after *wheel.Machine) error {
	before, err := machine(ctx, tx, id)
	if err != nil {
		return err
	}
	row := make(map[string]int, len(after.Channels))
	for i := range after.Channels {
		row[after.Channels[i].ID] = after.Channels[i].Row
	}
	moved := func(c *wheel.Channel) bool {
		now, there := row[c.ID]
		return !there || now != c.Row
	}
	steps := before.File.Wheel.Steps != after.Wheel.Steps
	var working bool
	if err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM wheel_jobs WHERE machine_id = ? AND ended_us IS NULL)`, id).Scan(&working); err != nil {
		return err
	}
	if working {
		same := len(before.File.Channels) == len(after.Channels) && !steps
		for i := range before.File.Channels {
			same = same && !moved(&before.File.Channels[i])
		}
		if !same {
			return wheel.Refuse(wheel.ErrConflict, "work on the wheel of %s is under way, and the change gives it other rows or steps; finish or stop that work first", before.Name)
		}
		return nil
	}
	pins := map[string]int{}
	all := 0
	rows, err := tx.QueryContext(ctx, `SELECT channel, count(*) FROM wheel_pins WHERE machine_id = ? GROUP BY channel`, id)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var channel string
		var n int
		if err := rows.Scan(&channel, &n); err != nil {
			return err
		}
		pins[channel] = n
		all += n
	}
	if err := rows.Err(); err != nil || all == 0 {
		return err
	}
	if steps {
		return wheel.Refuse(wheel.ErrConflict, "the wheel of %s has %d pins on it and would get %d steps in place of %d, so nobody could say where they are; note first that nothing is on it",
			before.Name, all, after.Wheel.Steps, before.File.Wheel.Steps)
	}
	for i := range before.File.Channels {
		if c := &before.File.Channels[i]; pins[c.ID] > 0 && moved(c) {
			return wheel.Refuse(wheel.ErrConflict, "%s has pins on the wheel of %s (%d), and the change would take its row %d away from under them; note first what is on the wheel",
				c.Name, before.Name, pins[c.ID], c.Row)
		}
	}
	return nil
}

// wheelIsBare refuses to lose the record of a wheel that has pins on it, or on
// which work is under way ([wheel.ErrConflict]).
func wheelIsBare(ctx context.Context, tx *sql.Tx, id int64, name string) error {
	var pins int
	var working bool
	err := tx.QueryRowContext(ctx, `
		SELECT (SELECT count(*) FROM wheel_pins WHERE machine_id = ?1),
			EXISTS (SELECT 1 FROM wheel_jobs WHERE machine_id = ?1 AND ended_us IS NULL)`, id).Scan(&pins, &working)
	switch {
	case err != nil:
		return err
	case working:
		return wheel.Refuse(wheel.ErrConflict, "work on the wheel of %s is under way; finish or stop it first", name)
	case pins > 0:
		return wheel.Refuse(wheel.ErrConflict, "%s has %d pins on its wheel, which nobody would know of; note first that nothing is on it", name, pins)
	}
	return nil
}
