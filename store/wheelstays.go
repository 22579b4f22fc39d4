package store

import (
	"context"
	"database/sql"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

// wheelStays refuses a change of a machine that would put the record of its
// wheel wrong, see [place.CheckWheelStays].
func wheelStays(ctx context.Context, tx *sql.Tx, id int64, after *wheel.Machine) error {
	before, err := machine(ctx, tx, id)
	if err != nil {
		return err
	}
	on, err := wheelState(ctx, tx, id)
	if err != nil {
		return err
	}
	pins, err := pinsByChannel(ctx, tx, id)
	if err != nil {
		return err
	}
	return place.CheckWheelStays(before.File, after, pins, on.Working)
}

// wheelIsBare refuses to lose the record of a wheel, see [place.CheckWheelBare].
func wheelIsBare(ctx context.Context, tx *sql.Tx, id int64, name string) error {
	on, err := wheelState(ctx, tx, id)
	if err != nil {
		return err
	}
	var pins int
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM wheel_pins WHERE machine_id = ?`, id).Scan(&pins); err != nil {
		return err
	}
	return place.CheckWheelBare(name, pins, on.Working)
}

// pinsByChannel counts the pins on a wheel.
func pinsByChannel(ctx context.Context, q querier, machineID int64) (map[string]int, error) {
	rows, err := q.QueryContext(ctx, `SELECT channel, count(*) FROM wheel_pins WHERE machine_id = ? GROUP BY channel`, machineID)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	pins := map[string]int{}
	for rows.Next() {
		var channel string
		var n int
		if err := rows.Scan(&channel, &n); err != nil {
			return nil, err
		}
		pins[channel] = n
	}
	return pins, rows.Err()
}
