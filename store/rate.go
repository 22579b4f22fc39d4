package store

import (
	"context"

	"pinwright/wheel/place"
)

// rateTaps is how many taps the crew's rate is taken from, the latest.
const rateTaps = 20_000

// PinsPerMin is how many pins this machine's crew has pulled and driven in a
// minute, see [place.Rate].
func (s *Store) PinsPerMin(ctx context.Context, machineID int64) (rate float64, known bool, err error) {
	done, err := list(ctx, s.reader, "reading the crew's past work", func(row scanner) (place.DoneStep, error) {
		var d place.DoneStep
		var at int64
		err := row.Scan(&d.Job, &at, &d.Pins, &d.Back)
		d.At = timeOf(at)
		return d, err
	}, `
		SELECT job_id, at_us, json_array_length(changes), EXISTS
			(SELECT 1 FROM wheel_taps AS b WHERE b.job_id = t.job_id AND b.kind = 'back' AND b.of_tap = t.tap_id)
		FROM (SELECT job_id, tap_id, at_us, changes FROM wheel_taps
			WHERE machine_id = ? AND kind = 'done' ORDER BY seq DESC LIMIT ?) AS t
		ORDER BY job_id, at_us`, machineID, rateTaps)
	if err != nil {
		return 0, false, err
	}
	rate, known = place.Rate(done)
	return rate, known, nil
}
