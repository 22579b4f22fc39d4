package place

import (
	"cmp"
	"slices"
	"time"
)

const (
	ratePause = 2 * time.Minute // a longer gap between taps is a pause
	ratePins  = 20              // pulls and drives before a rate is known
)

// WorkTap is a tap that says that a step was done, or that it was not.
type WorkTap struct {
	Job  int64
	ID   string
	Kind TapKind // one of [WorkKinds]
	Of   string  // of back: the id of the tap that it takes back
	At   time.Time
	Pins int // pulled and driven
}

// WorkKinds are the kinds of taps that tell how fast a crew works.
var WorkKinds = []TapKind{TapDone, TapBack}

// DoneSteps are the steps that taps say were done, in the order of their jobs and
// times. The taps are in the order in which they came.
func DoneSteps(taps []WorkTap) []DoneStep {
	type tap struct {
		job int64
		id  string
	}
	back := map[tap]bool{}
	for _, t := range taps {
		if t.Kind == TapBack {
			back[tap{t.Job, t.Of}] = true
		}
	}
	var done []DoneStep
	for _, t := range taps {
		if t.Kind == TapDone {
			done = append(done, DoneStep{Job: t.Job, At: t.At, Pins: t.Pins, Back: back[tap{t.Job, t.ID}]})
		}
	}
	slices.SortStableFunc(done, func(a, b DoneStep) int { return cmp.Or(cmp.Compare(a.Job, b.Job), a.At.Compare(b.At)) })
	return done
}

// DoneStep is a step that was done at a wheel.
type DoneStep struct {
	Job  int64
	At   time.Time
	Pins int  // pulled and driven
	Back bool // it was taken back: no pins were moved
}

// Rate is how many pins a crew has pulled and driven in a minute, with as many
// hands as it had, from the steps it has done in the order of their jobs and
// times. known is false before 20 were moved, and before a minute was worked
// without a pause.
//
// From one step to the next of one job is work, in which the later one's pins
// were moved evenly; more than 2 minutes is a pause, and neither the time nor
// the pins count. Work is joined end to end and cut into whole minutes; the rate
// is the median of their pins, within [MinPinsPerMin] and [MaxPinsPerMin].
func Rate(done []DoneStep) (pinsPerMin float64, known bool) {
	var minutes []float64 // pins in each; the last one is not over
	var room time.Duration
	all := 0
	for i, d := range done {
		pins := d.Pins
		if d.Back {
			pins = 0
		}
		all += pins
		if i == 0 || done[i-1].Job != d.Job {
			continue
		}
		gap := d.At.Sub(done[i-1].At)
		if gap <= 0 || gap > ratePause {
			continue
		}
		for over := gap; over > 0; {
			if room == 0 {
				minutes, room = append(minutes, 0), time.Minute
			}
			part := min(over, room)
			minutes[len(minutes)-1] += float64(pins) * float64(part) / float64(gap)
			over, room = over-part, room-part
		}
	}
	if room > 0 {
		minutes = minutes[:len(minutes)-1]
	}
	if all < ratePins || len(minutes) == 0 {
		return 0, false
	}
	slices.Sort(minutes)
	half := len(minutes) / 2
	rate := minutes[half]
	if len(minutes)%2 == 0 {
		rate = (minutes[half-1] + minutes[half]) / 2
	}
	return min(max(rate, MinPinsPerMin), MaxPinsPerMin), rate > 0
}
