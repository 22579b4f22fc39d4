package timing

import (
	"cmp"
	"math"
	"slices"
)

// Strike is one sound of a turn: what one pin asks for, or what comes of it.
type Strike struct {
	Channel, Step int     // the pin
	AtS           float64 // seconds after step 0 passes; below 0 or beyond the turn where it sounds that early or late
	Missed        bool    // the machine does not sound it; it would sound at AtS
	Why           Kind    // of a missed one: the rule that its drop breaks
}

// AsWritten appends to dst every note of the pinning last loaded as it should
// sound at a tempo: at p·a, p the step period and a the pin's aim brought to
// the turn, 0 ≤ a < N. They are in order of time, those of one time in the
// order of the machine file. At a tempo outside 1 … [wheel.MaxTempoBPM] no
// wheel turns, and dst stays as it is.
func (t *Turn) AsWritten(tempoBPM float64, dst []Strike) []Strike {
	return t.strikes(tempoBPM, dst, false)
}

// AsPlayed is [Turn.AsWritten] as the machine plays it: each strike at
//
//	p·a + error,  error = strike − p·aim
//
// with the aim of the error read on the turn on which the pin serves it, as
// for [Turn.Chords]. So a note of the turn's start whose pin stands before the
// seam, for it is set early, still sounds at the start.
//
// Drops that fail are Missed. The wheel has turned for long, so the first pin
// of the turn follows the last. A pin is missed as
//
//   - Silent on a resting channel;
//   - Crowded where a finding says so: the pin before it still holds the
//     lever, or the lever has not fallen back. Every pin moves the lever,
//     whether a marble came or not. One that meets it held, or falling, takes
//     it over: it lets no marble go and holds the lever for its own hold arc;
//   - Unready where the gate has not reloaded since its last marble. Pins that
//     let none go do not count, so of two findings in a row only one may cost
//     a note.
//
// A gate may skip other pins on one turn than on the next. What it does comes
// to repeat, after at most as many drops as the channel has pins; how, may
// depend on the start, which is taken to be a gate ready at the first pin after
// the seam that is not crowded. Where what repeats takes several turns, the
// strikes are those of the turn that misses the most; of several such, of the
// one that sounds earliest. So if drops go on failing, some are Missed.
//
// A bound met within a nanosecond is met. Unclear, meeting and overload silence
// nothing here: a plate struck again while its marble bounces sounds, marbles
// that touch are late by what nobody can work out, and how a crank stalls under
// too many pins is up to the hand.
func (t *Turn) AsPlayed(tempoBPM float64, dst []Strike) []Strike {
	return t.strikes(tempoBPM, dst, true)
}

func (t *Turn) strikes(tempoBPM float64, dst []Strike, played bool) []Strike {
	if checkTempo(tempoBPM) != nil || t.pinning == nil {
		return dst
	}
	t.loadChords()
	p, n := t.works.Machine.Wheel.StepPeriod(tempoBPM), t.works.Machine.Wheel.Steps
	dst = slices.Grow(dst, len(t.members))
	from := len(dst)
	for i, m := range t.members {
		if m.mute {
			continue
		}
		s := Strike{Channel: m.channel, Step: m.step, AtS: p * inTurn(t.pinning.AimOf(t.pinning.Pins[i]), n)}
		if played {
			s.AtS += m.late(p)
		}
		dst = append(dst, s)
	}
	if played {
		t.miss(dst[from:], p)
	}
	slices.SortFunc(dst[from:], func(a, b Strike) int {
		return cmp.Or(cmp.Compare(a.AtS, b.AtS), a.Channel-b.Channel, a.Step-b.Step)
	})
	return dst
}

// inTurn brings an aim to the turn, 0 ≤ aim < n. An aim less than half a grain
// before the seam is one with those at it, as it is in a chord.
func inTurn(aim float64, n int) float64 {
	turn := float64(n)
	if aim = math.Mod(aim, turn); aim < 0 {
		aim += turn
	}
	if turn-aim < aimGrain/2 {
		return 0
	}
	return aim
}

// miss marks the strikes of drops that fail at step period p, and orders them
// by channel.
func (t *Turn) miss(strikes []Strike, p float64) {
	slices.SortFunc(strikes, func(a, b Strike) int { return cmp.Or(a.Channel-b.Channel, a.Step-b.Step) })
	for len(strikes) > 0 {
		channel, end := strikes[0].Channel, 1
		for end < len(strikes) && strikes[end].Channel == channel {
			end++
		}
		t.missOn(channel, strikes[:end], p)
		strikes = strikes[end:]
	}
}

// missOn is miss for the strikes of one channel, ordered by step.
func (t *Turn) missOn(channel int, own []Strike, p float64) {
	c := &t.works.Channels[channel]
	for _, r := range t.works.rules.stops {
		if r.stops(c) {
			missAll(own, r.kind())
			return
		}
	}
	t.found = t.findOnChannel(channel, p, t.found[:0])
	var busy Kind
	busyS := 0.0
	for _, f := range t.found {
		switch f.Kind.miss {
		case missBusy:
			if f.NeedS > busyS {
				busy, busyS = f.Kind, f.NeedS
			}
		case missLater:
			if i, ok := slices.BinarySearchFunc(own, f.OtherStep, byStep); ok && !own[i].Missed {
				own[i].Missed, own[i].Why = true, f.Kind
			}
		}
	}
	if busyS == 0 {
		return
	}
	slices.SortStableFunc(own, func(a, b Strike) int { return missedLast(a) - missedLast(b) })
	free := slices.IndexFunc(own, func(s Strike) bool { return s.Missed })
	if free < 0 {
		free = len(own)
	}
	missBusyOnes(own[:free], busy, t.works.Machine.Wheel.Steps, stepsOf(busyS, p))
}

func missAll(strikes []Strike, why Kind) {
	for i := range strikes {
		strikes[i].Missed, strikes[i].Why = true, why
	}
}

func byStep(s Strike, step int) int { return s.Step - step }

func missedLast(s Strike) int {
	if s.Missed {
		return 1
	}
	return 0
}

// stepsOf is the fewest steps, at least one, that take so many seconds at step
// period p.
func stepsOf(seconds, p float64) int {
	short := func(steps float64) bool { return steps*p < seconds-met } // as findings ask it
	steps := max(math.Ceil((seconds-met)/p), 1)
	for short(steps) {
		steps++
	}
	for steps > 1 && !short(steps-1) {
		steps--
	}
	return int(steps)
}

// missBusyOnes marks those of one channel's strikes, ordered by step, whose pins
// find the gate still busy with an earlier one, as why says, for so many steps
// of a wheel of n.
//
// Which pin is served after one depends on that one alone, so after as many
// drops as there are pins the drops repeat.
func missBusyOnes(own []Strike, why Kind, n, reload int) {
	if len(own) == 0 {
		return
	}
	g := gate{own, n, reload}
	at := 0
	for range own {
		at, _ = g.next(at)
	}
	for turns := 0; turns == 0; { // on to the first drop of a turn
		at, turns = g.next(at)
	}
	worst, fewest := at, len(own)+1
	for start, first, drops := at, at, 1; ; drops++ {
		var turns int
		if at, turns = g.next(at); turns == 0 {
			continue
		}
		if drops < fewest || drops == fewest && first < worst {
			worst, fewest = first, drops
		}
		if turns > 1 {
			fewest = 0 // a whole turn without a drop
		}
		if at == start {
			break
		}
		first, drops = at, 0
	}
	missAll(own, why)
	if fewest == 0 {
		return
	}
	for at, turns := worst, 0; turns == 0; at, turns = g.next(at) {
		own[at].Missed, own[at].Why = false, Kind{}
	}
}

// gate is a channel's gate and the strikes of the pins that trip it, ordered by
// step. It takes reload steps of a wheel of n to reload.
type gate struct {
	pins      []Strike
	n, reload int
}

// next is the first pin that finds the gate ready after pin i was served, and
// how often the seam passes between the two.
func (g gate) next(i int) (j, turns int) {
	ready := g.pins[i].Step + g.reload
	j, _ = slices.BinarySearchFunc(g.pins, ready%g.n, byStep)
	turns = ready / g.n
	if j == len(g.pins) {
		j, turns = 0, turns+1
	}
	return j, turns
}
