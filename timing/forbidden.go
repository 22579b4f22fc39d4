package timing

// Differences is a range of step differences, both ends in it, at which
// marbles meet in a lane.
type Differences struct{ Lane, From, To int }

// Forbidden appends to dst the differences in steps at which a pin of one
// channel and a pin of another, so many steps later (earlier where negative),
// send marbles that meet in a lane at some tempo from the machine's lowest to
// toBPM: one range for each lane on both routes. They are not brought to the
// turn: a pin one turn later is N steps further off.
//
// At step period p a lane forbids the differences strictly between two bounds
// that move with p without a jump, so over a range of p they are one range.
func (w *Works) Forbidden(channel, other int, toBPM float64, dst []Differences) []Differences {
	t := Turn{works: w}
	_, longest := t.periods()
	shortest := w.Machine.Wheel.StepPeriod(toBPM)
	for _, a := range w.Channels[channel].Passages {
		for _, b := range w.Channels[other].Passages {
			if a.Lane != b.Lane {
				continue
			}
			l := t.leadOf(a, b)
			meets := func(d int) bool {
				from, to, ok := l.forbidden(d)
				return ok && from < to && from < longest && to > shortest*(1+Slack)
			}
			from, to := l.differences(shortest, longest)
			for from <= to && !meets(from) {
				from++
			}
			for from < to && !meets(to) {
				to--
			}
			if from <= to {
				dst = append(dst, Differences{a.Lane, from, to})
			}
		}
	}
	return dst
}
