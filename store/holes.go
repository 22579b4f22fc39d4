package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"strconv"

	"pinwright/wheel"
	"pinwright/wheel/file"
)

// pinsOf reads the pins of a pinning as the wheel turns.
func pinsOf(ctx context.Context, q querier, id int64, pins int) ([]wheel.Pin, error) {
	rows, err := q.QueryContext(ctx,
		`SELECT step, channel, aim FROM holes WHERE pinning_id = ? AND pinned ORDER BY step, channel`, id)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	all := make([]wheel.Pin, 0, min(max(pins, 0), wheel.MaxPins))
	names := map[string]string{} // one text for all pins of a channel
	var channel, aim sql.RawBytes
	for rows.Next() {
		var pin wheel.Pin
		if err := rows.Scan(&pin.Step, &channel, &aim); err != nil {
			return nil, err
		}
		name, known := names[string(channel)]
		if !known {
			name = string(channel)
			names[name] = name
		}
		pin.Channel = name
		if aim != nil {
			if pin.Aim, err = aimOf(string(aim)); err != nil {
				return nil, err
			}
		}
		all = append(all, pin)
	}
	return all, rows.Err()
}

func aimOf(digits string) (wheel.Aim, error) {
	step, err := strconv.ParseFloat(digits, 64)
	if err != nil {
		return wheel.Aim{}, wheel.RefuseFor(wheel.ErrDamaged, err, "an aim of the pinning is %.40q; the database is damaged: go back to a copy of it", digits)
	}
	return wheel.AimAt(step), nil
}

// changesText is changes as they are kept.
func changesText(changes []wheel.PinChange) (string, error) {
	if len(changes) == 0 {
		return "[]", nil
	}
	text, err := json.Marshal(changes)
	return string(text), err
}

// drives is the changes that drive pins.
func drives(pins []wheel.Pin) []wheel.PinChange {
	changes := make([]wheel.PinChange, len(pins))
	for i, pin := range pins {
		changes[i] = wheel.Drive(pin)
	}
	return changes
}

// mostPinBytes is more than any pin takes in a file: an id of 64 bytes, each
// of which may be written as two, a step, an aim of 17 digits, and what stands
// around them.
const mostPinBytes = 256

// writable refuses a pinning whose file would be larger than is read. It writes
// the file only if there are pins enough for that.
func writable(ctx context.Context, tx *sql.Tx, id int64, pins int) error {
	if (pins+wheel.MaxChannels)*mostPinBytes <= file.MaxBytes {
		return nil
	}
	p, err := pinning(ctx, tx, id)
	if err != nil {
		return err
	}
	_, err = pinningText(p.File)
	return err
}
