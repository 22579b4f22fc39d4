package timing

import "pinwright/wheel"

// Forbidden calls forbid with the differences in steps, both ends in the range,
// at which a pin of one channel and a pin of another, so many steps later
// (earlier where negative), send marbles that meet in a lane at some tempo from
// the machine's lowest to toBPM: one range for each lane on both routes. They
// are not brought to the turn: a pin one turn later is N steps further off.
//
// At step period p a lane forbids the differences strictly between two bounds
// that move with p without a jump, so over a range of p they are one range.
func (w *Works) Forbidden(channel, other int, toBPM float64, forbid func(lane, from, to int)) {
	t := Turn{works: w}
	_, longest := t.periods()
	shortest := w.Machine.Wheel.StepPeriod(toBPM)
	for q := range w.pairsOf(channel, other) {
		l := w.leadOf(q)
		meets := func(d int) bool {
			from, to, ok := l.forbidden(d)
			return ok && from < to && from < longest && to > shortest*(1+wheel.TempoSlack)
		}
		from, to := l.differences(shortest, longest)
		for from <= to && !meets(from) {
			from++
		}
		for from < to && !meets(to) {
			to--
		}
		if from <= to {
			forbid(q.a.Lane, from, to)
		}
	}
}
