package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"hash/fnv"
	"slices"
	"time"

	"pinwright/wheel"
)

// TapKind is what someone at the wheel says.
type TapKind string

const (
	TapDone    TapKind = "done"    // pulls and drives of one step are done
	TapBack    TapKind = "back"    // what a tap said is done is not
	TapRead    TapKind = "read"    // a step was read aloud, and compared
	TapFound   TapKind = "found"   // a hole has a pin, or has none
	TapTrouble TapKind = "trouble" // something is wrong there

	tapSaid   TapKind = "said"
	tapBegin  TapKind = "begin"
	tapStop   TapKind = "stop"
	tapResume TapKind = "resume"
)

// Tap is what someone at the wheel says, as it is sent.
type Tap struct {
	ID       string // the sender's own, at most 64 bytes: the same for the same tap sent again
	Kind     TapKind
	Step     int
	Channels []string      // of done: whose pulls and drives
	Channel  string        // of found; of trouble, empty for the whole step
	There    bool          // of found: the hole has a pin
	Of       string        // of back: the id of the tap that said so
	Trouble  TroubleKind   // of trouble
	Note     string        // of trouble
	Ago      time.Duration `json:"-"` // how long ago it was made: taps are sent later where the program was away
}

// maxAgo is the longest that a tap may have been on its way.
const maxAgo = 7 * 24 * time.Hour

// Tap keeps a tap of a job. When it returns, the tap is on disk, and the pins
// on the wheel are as it says. Nothing happens where they were so already.
//
// A tap with the id of one that is kept already is not kept again; if it says
// something else it is refused ([wheel.ErrConflict]). So is one of a job after which
// other work on the wheel was begun: what it says may no longer be so. A job
// that was merely stopped takes taps that come late.
func (s *Store) Tap(ctx context.Context, jobID int64, t Tap) error {
	if err := t.check(); err != nil {
		return err
	}
	return s.change(ctx, "keeping what was done", func(tx *sql.Tx) error {
		j, err := job(ctx, tx, jobID)
		if err != nil {
			return err
		}
		asked, err := t.fingerprint(jobID)
		if err != nil {
			return err
		}
		var was int64
		err = tx.QueryRowContext(ctx, `SELECT asked FROM wheel_taps WHERE machine_id = ? AND tap_id = ?`, j.MachineID, t.ID).Scan(&was)
		switch {
		case err == nil && was == asked:
			return nil
		case err == nil:
			return wheel.Refuse(wheel.ErrConflict, "another tap with the id %s is kept already, and this one was not", t.ID)
		case !errors.Is(err, sql.ErrNoRows):
			return err
		}
		last, err := lastJob(ctx, tx, j.MachineID)
		if err != nil {
			return err
		}
		if last != j.ID && t.Kind != TapTrouble {
			return wheel.Refuse(wheel.ErrConflict, "other work on the wheel was begun since this tap; it was not kept. Look at step %d on the wheel, and proofread it if in doubt", t.Step)
		}
		if t.Step < 0 || t.Step >= j.Steps {
			return wheel.Refuse(wheel.ErrInvalid, "the tap is for step %d; the wheel has steps 0 to %d", t.Step, j.Steps-1)
		}
		now := s.nowUS()
		kept := keptTap{id: t.ID, asked: asked, kind: t.Kind, step: t.Step, of: t.Of}
		kept.at = max(now-min(max(t.Ago, 0), maxAgo).Microseconds(), j.Begun.UnixMicro())
		if t.Kind == TapBack {
			if kept.of, err = doneBy(ctx, tx, j, t.Of); err != nil {
				return err
			}
		}
		if kept.changes, err = s.changesOf(ctx, tx, j, t, kept); err != nil {
			return err
		}
		for _, c := range kept.changes {
			query := `DELETE FROM wheel_pins WHERE machine_id = ? AND step = ? AND channel = ?`
			if c.Now.Pin {
				query = `INSERT INTO wheel_pins (machine_id, step, channel) VALUES (?, ?, ?)`
			}
			if _, err := tx.ExecContext(ctx, query, j.MachineID, c.Step, c.Channel); err != nil {
				return err
			}
		}
		if err := addTap(ctx, tx, j, kept); err != nil {
			return err
		}
		return s.settle(ctx, tx, j)
	})
}

// check refuses what cannot be kept of any job.
func (t *Tap) check() error {
	if err := wheel.CheckSent("tap", t.ID, ""); err != nil {
		return err
	}
	switch t.Kind {
	case TapDone:
		if len(t.Channels) == 0 || len(t.Channels) > wheel.MaxChannels {
			return wheel.Refuse(wheel.ErrInvalid, "the tap says that a step is done and names %d channels; it should be 1 to %d", len(t.Channels), wheel.MaxChannels)
		}
	case TapBack:
		if t.Of == "" || len(t.Of) > wheel.MaxSentID {
			return wheel.Refuse(wheel.ErrInvalid, "the tap takes another back and does not say which")
		}
	case TapTrouble:
		return t.checkTrouble()
	case TapRead, TapFound:
	default:
		return wheel.Refuse(wheel.ErrInvalid, "the tap says %.20q, which is nothing that can be said at the wheel", string(t.Kind))
	}
	return nil
}

func (t *Tap) fingerprint(jobID int64) (int64, error) {
	h := fnv.New64a()
	if err := json.NewEncoder(h).Encode([]any{jobID, t}); err != nil {
		return 0, wheel.RefuseFor(wheel.ErrInvalid, err, "the tap cannot be kept: %s", err)
	}
	return int64(h.Sum64()), nil
}

// changesOf is what a tap changes of the pins.
func (s *Store) changesOf(ctx context.Context, tx *sql.Tx, j Job, t Tap, kept keptTap) ([]wheel.PinChange, error) {
	working := j.Kind == Changeover || j.Kind == PutRight
	switch {
	case t.Kind == TapDone && working:
		return doneChanges(ctx, tx, j, t)
	case t.Kind == TapBack && working:
		return backChanges(ctx, tx, j, kept.of)
	case t.Kind == TapRead && j.Kind == Proof:
		return nil, nil
	case t.Kind == TapFound && j.Kind == Proof:
		return s.foundChanges(ctx, tx, j, t)
	case t.Kind == TapTrouble:
		return nil, s.addTrouble(ctx, tx, j, t, kept.at)
	}
	return nil, wheel.Refuse(wheel.ErrInvalid, "a tap that says %q does not belong to this work on the wheel", string(t.Kind))
}

// doneChanges are the pulls and drives that a tap says are done and that are
// left. Those of its channels that another tap did already are done; a channel
// with nothing to do there is refused, as hands may be at another place than the
// page says.
func doneChanges(ctx context.Context, tx *sql.Tx, j Job, t Tap) ([]wheel.PinChange, error) {
	drives := map[string]bool{}
	rows, err := tx.QueryContext(ctx, `SELECT channel, drive FROM (`+apart+`) WHERE step = ?3`, j.ID, j.MachineID, t.Step)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var channel string
		var drive bool
		if err := rows.Scan(&channel, &drive); err != nil {
			return nil, err
		}
		drives[channel] = drive
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	var changes []wheel.PinChange
	asked := slices.Compact(slices.Sorted(slices.Values(t.Channels)))
	for _, channel := range asked {
		pin := wheel.Pin{Channel: channel, Step: t.Step}
		drive, left := drives[channel]
		switch {
		case left && drive:
			changes = append(changes, wheel.Drive(pin))
		case left:
			changes = append(changes, wheel.Pull(pin))
		default:
			done, err := wasMoved(ctx, tx, j, pin)
			if err != nil {
				return nil, err
			}
			if !done {
				return nil, wheel.Refuse(wheel.ErrConflict, "there is nothing to pull or drive at step %d on %.60s, and there was not; load the page anew and look at the wheel", t.Step, channel)
			}
		}
	}
	return changes, nil
}

// wasMoved reports whether some tap of a job pulled or drove a pin in a hole.
func wasMoved(ctx context.Context, q querier, j Job, pin wheel.Pin) (was bool, err error) {
	err = q.QueryRowContext(ctx, `
		SELECT EXISTS (SELECT 1 FROM wheel_taps AS t, json_each(t.changes) AS c
		WHERE t.job_id = ? AND t.step = ? AND t.kind = 'done' AND c.value ->> 'channel' = ?)`, j.ID, pin.Step, pin.Channel).Scan(&was)
	return was, err
}

// doneBy is the tap that did what a tap says was done: itself or, where it found
// all done already, the last one that did something at its step and was not
// taken back.
func doneBy(ctx context.Context, q querier, j Job, id string) (string, error) {
	err := q.QueryRowContext(ctx, `
		SELECT coalesce(iif(t.changes <> '[]', t.tap_id, NULL), (
			SELECT d.tap_id FROM wheel_taps AS d
			WHERE d.job_id = t.job_id AND d.kind = 'done' AND d.step = t.step AND d.changes <> '[]' AND NOT EXISTS
				(SELECT 1 FROM wheel_taps AS b WHERE b.job_id = d.job_id AND b.kind = 'back' AND b.of_tap = d.tap_id)
			ORDER BY d.seq DESC LIMIT 1), t.tap_id)
		FROM wheel_taps AS t WHERE t.machine_id = ? AND t.tap_id = ? AND t.job_id = ? AND t.kind = 'done'`, j.MachineID, id, j.ID).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return "", wheel.Refuse(wheel.ErrConflict, "there is no such step to take back; look at what is left")
	}
	return id, err
}

// backChanges are what takes a tap back, where its holes are still as it left
// them and no other tap has taken it back.
func backChanges(ctx context.Context, tx *sql.Tx, j Job, of string) ([]wheel.PinChange, error) {
	var text []byte
	var again bool
	err := tx.QueryRowContext(ctx, `
		SELECT changes, EXISTS (SELECT 1 FROM wheel_taps WHERE job_id = ?2 AND kind = 'back' AND of_tap = ?3)
		FROM wheel_taps WHERE machine_id = ?1 AND tap_id = ?3`, j.MachineID, j.ID, of).Scan(&text, &again)
	if err != nil || again {
		return nil, err
	}
	var was []wheel.PinChange
	if err := json.Unmarshal(text, &was); err != nil {
		return nil, wheel.RefuseFor(wheel.ErrDamaged, err, "a tap cannot be read (%s); the database is damaged: go back to a copy of it", err)
	}
	var changes []wheel.PinChange
	for _, c := range wheel.Inverse(was) {
		is, err := hasPin(ctx, tx, j.MachineID, c.Step, c.Channel)
		if err != nil {
			return nil, err
		}
		if is == c.Was.Pin {
			changes = append(changes, c)
		}
	}
	return changes, nil
}

func (s *Store) foundChanges(ctx context.Context, tx *sql.Tx, j Job, t Tap) ([]wheel.PinChange, error) {
	m, err := machine(ctx, tx, j.MachineID)
	if err != nil {
		return nil, err
	}
	pin := wheel.Pin{Channel: t.Channel, Step: t.Step}
	change := wheel.Pull(pin)
	if t.There {
		change = wheel.Drive(pin)
	}
	if err := m.File.CheckChanges([]wheel.PinChange{change}).Err(); err != nil {
		return nil, wheel.RefuseFor(wheel.ErrInvalid, err, "what was found does not fit %s, and nothing was changed: %s", m.Name, err)
	}
	is, err := hasPin(ctx, tx, j.MachineID, t.Step, t.Channel)
	if err != nil || is == t.There {
		return nil, err
	}
	return []wheel.PinChange{change}, nil
}

func hasPin(ctx context.Context, q querier, machineID int64, step int, channel string) (is bool, err error) {
	err = q.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM wheel_pins WHERE machine_id = ? AND step = ? AND channel = ?)`, machineID, step, channel).Scan(&is)
	return is, err
}

// keptTap is a tap as it is kept.
type keptTap struct {
	id      string
	asked   int64
	at      int64
	kind    TapKind
	step    int
	of      string
	changes []wheel.PinChange
}

// addTap adds a tap to those of its wheel.
func addTap(ctx context.Context, tx *sql.Tx, j Job, t keptTap) error {
	changes, err := changesText(t.changes)
	if err != nil {
		return err
	}
	var seq int64
	if err := tx.QueryRowContext(ctx, `UPDATE wheels SET seq = seq + 1 WHERE machine_id = ? RETURNING seq`, j.MachineID).Scan(&seq); err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `
		INSERT INTO wheel_taps (machine_id, seq, job_id, tap_id, asked, at_us, kind, step, of_tap, changes)
		VALUES (?, ?, ?, nullif(?, ''), ?, ?, ?, ?, ?, ?)`,
		j.MachineID, seq, j.ID, t.id, t.asked, t.at, t.kind, t.step, t.of, changes)
	return err
}
