package store

import (
	"context"
	"slices"
	"time"
)

const (
	ratePause = 2 * time.Minute // a longer gap between taps is a pause
	ratePins  = 20              // pulls and drives before anything is said
	rateTaps  = 20_000          // that are looked at, the latest
)

// PinsPerMin is how many pins this machine's crew has pulled and driven in a
// minute, with as many hands as it had. known is false before 20 were done,
// and before a minute was worked without a pause.
//
// The times of kept steps tell it. From one step to the next of one job is
// work, in which the later one's pins were moved evenly; more than 2 minutes
// is a pause, and neither the time nor the pins count. Work is laid end to end
// and cut into whole minutes; the rate is the median of their pins. Steps that
// were taken back move no pins.
func (s *Store) PinsPerMin(ctx context.Context, machineID int64) (rate float64, known bool, err error) {
	done, err := list(ctx, s.reader, "reading the crew's past work", func(row scanner) (workDone, error) {
		var w workDone
		var at int64
		err := row.Scan(&w.job, &at, &w.pins)
		w.at = timeOf(at)
		return w, err
	}, `
		SELECT job_id, at_us, CASE WHEN EXISTS
			(SELECT 1 FROM wheel_taps AS b WHERE b.job_id = t.job_id AND b.kind = 'back' AND b.of_tap = t.tap_id)
			THEN 0 ELSE json_array_length(changes) END
		FROM (
			SELECT t.job_id, t.tap_id, t.at_us, t.changes FROM wheel_taps AS t JOIN wheel_jobs AS j ON j.id = t.job_id
			WHERE t.machine_id = ? AND t.kind = 'done' AND j.kind IN ('changeover', 'right') ORDER BY t.seq DESC LIMIT ?) AS t
		ORDER BY job_id, at_us`, machineID, rateTaps)
	if err != nil {
		return 0, false, err
	}
	rate, known = rateOf(done)
	return rate, known, nil
}

// workDone is a step that was done.
type workDone struct {
	job  int64
	at   time.Time
	pins int
}

// rateOf is the rate of steps in the order of their jobs and times, in pins a
// minute.
func rateOf(done []workDone) (rate float64, known bool) {
	var minutes []float64 // pins in each; the last one is not over
	var room time.Duration
	pins := 0
	for i, d := range done {
		pins += d.pins
		if i == 0 || done[i-1].job != d.job {
			continue
		}
		gap := d.at.Sub(done[i-1].at)
		if gap <= 0 || gap > ratePause {
			continue
		}
		for over := gap; over > 0; {
			if room == 0 {
				minutes, room = append(minutes, 0), time.Minute
			}
			part := min(over, room)
			minutes[len(minutes)-1] += float64(d.pins) * float64(part) / float64(gap)
			over, room = over-part, room-part
		}
	}
	if room > 0 {
		minutes = minutes[:len(minutes)-1]
	}
	if pins < ratePins || len(minutes) == 0 {
		return 0, false
	}
	slices.Sort(minutes)
	half := len(minutes) / 2
	rate = minutes[half]
	if len(minutes)%2 == 0 {
		rate = (minutes[half-1] + minutes[half]) / 2
	}
	return rate, rate > 0
}
