package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"iter"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

// tapLog is the [place.Log] of a job.
type tapLog struct {
	q   querier
	job place.Job
}

const tapColumns = `coalesce(tap_id, ''), kind, step, of_tap, changes`

func scanTap(row scanner) (place.KeptTap, error) {
	var k place.KeptTap
	var changes []byte
	if err := row.Scan(&k.ID, &k.Kind, &k.Step, &k.Of, &changes); err != nil {
		return k, err
	}
	if err := json.Unmarshal(changes, &k.Changes); err != nil {
		return k, wheel.RefuseFor(wheel.ErrDamaged, err, "a tap cannot be read (%s); the database is damaged: go back to a copy of it", err)
	}
	return k, nil
}

func (l tapLog) Tap(ctx context.Context, id string) (k place.KeptTap, kept bool, err error) {
	k, err = scanTap(l.q.QueryRowContext(ctx,
		`SELECT `+tapColumns+` FROM wheel_taps WHERE machine_id = ? AND tap_id = ? AND job_id = ?`, l.job.MachineID, id, l.job.ID))
	if errors.Is(err, sql.ErrNoRows) {
		return k, false, nil
	}
	return k, err == nil, err
}

func (l tapLog) Kind(ctx context.Context, kind place.TapKind) ([]place.KeptTap, error) {
	return list(ctx, l.q, "reading the taps", scanTap,
		`SELECT `+tapColumns+` FROM wheel_taps WHERE job_id = ? AND kind = ? ORDER BY seq`, l.job.ID, kind)
}

func (l tapLog) KindAt(ctx context.Context, kind place.TapKind, step int) ([]place.KeptTap, error) {
	return list(ctx, l.q, "reading the taps", scanTap,
		`SELECT `+tapColumns+` FROM wheel_taps WHERE job_id = ? AND kind = ? AND step = ? ORDER BY seq`, l.job.ID, kind, step)
}

func (l tapLog) Steps(ctx context.Context, kind place.TapKind) ([]int, error) {
	return list(ctx, l.q, "reading the taps", scanInt,
		`SELECT DISTINCT step FROM wheel_taps WHERE job_id = ? AND kind = ? ORDER BY step`, l.job.ID, kind)
}

func (l tapLog) LatestFirst(ctx context.Context) (taps iter.Seq[place.KeptTap], failed func() error) {
	// The plus keeps SQLite from sorting all of the job's taps by another index.
	return each(ctx, l.q, scanTap,
		`SELECT `+tapColumns+` FROM wheel_taps WHERE machine_id = ? AND +job_id = ? ORDER BY seq DESC`, l.job.MachineID, l.job.ID)
}

// each reads rows as they are asked for. failed is what went wrong, to be asked
// once they are.
func each[T any](ctx context.Context, q querier, scan func(scanner) (T, error), query string, args ...any) (all iter.Seq[T], failed func() error) {
	var err error
	read := func(yield func(T) bool) error {
		rows, err := q.QueryContext(ctx, query, args...)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			one, err := scan(rows)
			if err != nil || !yield(one) {
				return err
			}
		}
		return rows.Err()
	}
	return func(yield func(T) bool) { err = read(yield) }, func() error { return err }
}

func scanInt(row scanner) (n int, err error) {
	err = row.Scan(&n)
	return n, err
}
