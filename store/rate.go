package store

import (
	"context"
	"encoding/json"
	"slices"

	"pinwright/wheel/place"
)

// rateTaps is how many taps the crew's rate is taken from, the latest.
const rateTaps = 20_000

// PinsPerMin is how many pins this machine's crew has pulled and driven in a
// minute, see [place.Rate].
func (s *Store) PinsPerMin(ctx context.Context, machineID int64) (rate float64, known bool, err error) {
	kinds, err := json.Marshal(place.WorkKinds)
	if err != nil {
		return 0, false, err
	}
	taps, err := list(ctx, s.reader, "reading the crew's past work", func(row scanner) (place.WorkTap, error) {
		var t place.WorkTap
		var at int64
		err := row.Scan(&t.Job, &t.ID, &t.Kind, &t.Of, &at, &t.Pins)
		t.At = timeOf(at)
		return t, err
	}, `
		SELECT job_id, coalesce(tap_id, ''), kind, of_tap, at_us, json_array_length(changes) FROM wheel_taps
		WHERE machine_id = ? AND kind IN (SELECT value FROM json_each(?)) ORDER BY seq DESC LIMIT ?`, machineID, string(kinds), rateTaps)
	if err != nil {
		return 0, false, err
	}
	slices.Reverse(taps)
	rate, known = place.Rate(place.DoneSteps(taps))
	return rate, known, nil
}
