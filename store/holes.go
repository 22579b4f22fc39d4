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

// heldHole is what a hole holds and which edit touched it last, by whom.
type heldHole struct {
	wheel.InHole
	seq int64
	by  string
}

// held reads what the holes of changes hold now, in the order of changes.
func (p *edited) held(ctx context.Context, changes []wheel.PinChange) ([]heldHole, error) {
	places, err := changesText(changes)
	if err != nil {
		return nil, err
	}
	rows, err := p.tx.StmtContext(ctx, p.do.held).QueryContext(ctx, places, p.id)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	all := make([]heldHole, len(changes))
	for rows.Next() {
		var i int
		var is heldHole
		var aim sql.NullString
		if err := rows.Scan(&i, &is.Pin, &aim, &is.seq, &is.by); err != nil {
			return nil, err
		}
		if aim.Valid {
			if is.Aim, err = aimOf(aim.String); err != nil {
				return nil, err
			}
		}
		all[i] = is
	}
	return all, rows.Err()
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

// writable refuses a pinning with more pins than a pinning may have or, where
// that may be, a file larger than is read.
func writable(ctx context.Context, tx *sql.Tx, id int64, pins int) error {
	if pins > wheel.MaxPins {
		return wheel.Refuse(wheel.ErrTooLarge, "the pinning would have %d pins; %d at most", pins, wheel.MaxPins)
	}
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

// misfit says that the history and the pins disagree.
func misfit(title string, err error) error {
	return wheel.RefuseFor(wheel.ErrDamaged, err, "the history of %s does not fit its pins (%s); the database is damaged: go back to a copy of it", title, err)
}
