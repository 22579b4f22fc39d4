package timing

import "pinwright/wheel"

// firstBroken is the lowest tempo above which the pins on the wheel break a
// rule, whatever else stands on their steps, as [Turn.MaxSafe] has it.
func (t *Turn) firstBroken() (bpm float64, ok bool) {
	t.cover.reset()
	t.first = t.first[:0]
	t.scanFollowing()
	for q := range t.pairs {
		t.scanPair(q)
	}
	for _, r := range t.works.rules.lone {
		if !r.kind().ofStep {
			r.scan(t)
		}
	}
	if !t.isKnown() {
		return 0, false
	}
	return maxSafe(t.bands(), t.works.Machine.Limits.TempoMinBPM)
}

// LeastGaps is, for each of the channels, the fewest steps that two of its
// pins may be apart so that the channel by itself breaks no rule at any tempo
// from the machine's lowest to toBPM. Each rule between two pins of one channel
// asks for a time between them, so where a gap is safe every longer one is.
//
// It is 1 … N/2, or N where only a lone pin is safe, which follows itself one
// turn later, or N + 1 where no pin is: a lone one comes too soon, or the
// channel is resting.
//
// toBPM may be above the machine's highest tempo: whoever leaves room for spread
// and doubt asks for more than the wheel is to be turned at.
func (w *Works) LeastGaps(channels []int, toBPM float64) []int {
	t := w.upTo(toBPM).NewTurn()
	n := w.Machine.Wheel.Steps
	gaps := make([]int, len(channels))
	for i, c := range channels {
		safe := func() bool {
			bpm, ok := t.firstBroken()
			return ok && bpm >= toBPM*(1-wheel.TempoSlack)
		}
		t.Drive(c, 0)
		switch {
		case !safe():
			gaps[i] = n + 1
		default:
			from, to := 1, n/2+1 // the least lies in here, or is none below to
			for from < to {
				gap := (from + to) / 2
				t.Drive(c, gap)
				if safe() {
					to = gap
				} else {
					from = gap + 1
				}
				t.Pull(c, gap)
			}
			if gaps[i] = from; from > n/2 {
				gaps[i] = n
			}
		}
		t.Pull(c, 0)
	}
	return gaps
}

// upTo is the machine worked out, with a highest tempo of toBPM where its own is
// lower.
func (w *Works) upTo(toBPM float64) *Works {
	if toBPM <= w.Machine.Limits.TempoMaxBPM {
		return w
	}
	faster, m := *w, *w.Machine
	m.Limits.TempoMaxBPM = toBPM
	faster.Machine = &m
	return &faster
}

// EasingTempo is the tempo that a pinning has to be safe to, in beats per
// minute, so that its highest safe tempo is at least bpm: no lower than makes
// a band that is reported, no higher than the machine's highest.
func (w *Works) EasingTempo(bpm float64) float64 {
	l := w.Machine.Limits
	return min(max(bpm, l.TempoMinBPM+leastBand*(1+1e-6)), l.TempoMaxBPM)
}
