package timing

import (
	"cmp"
	"slices"
)

// strikeAt is when a pin's marble strikes, and the step of the pin, in the turn
// that its strike falls into.
type strikeAt struct {
	at            float64
	channel, step int
}

// plateRisk is what the strikes of two channels on one plate risk. one < two.
func (k *risks) plateRisk(t *Turn, one, two int) (risk, lead, variance) {
	sc := k.sc
	a, b := &t.works.Channels[one], &t.works.Channels[two]
	l := lead{rho: b.Reach - a.Reach, offset: b.Strike - a.Strike, ahead: a.Clear, behind: b.Clear}
	f := risk{
		odds: odds{
			offset: l.offset, ahead: l.ahead, behind: l.behind, eitherWay: true,
			aheadClear: sc.own[one].clear.both(), behindClear: sc.own[two].clear.both(),
		},
		cause: cause{Unclear.order, int32(one), int32(two), -1}, ask: -1, a: int32(sc.strike(one)), b: int32(sc.strike(two)),
	}
	return f, l, variance{sc.apart(int(f.a), int(f.b)), sc.reaches(one, two)}
}

// findPlate lists what strikes of different channels on one plate risk, at step
// periods from shortest to longest. It takes all of them, not only those that
// follow each other at some period: one that has others between is hardly ever
// near enough to count.
func (k *risks) findPlate(t *Turn, channels []int, shortest, longest float64) {
	for i, one := range channels {
		for _, two := range channels[i+1:] {
			if k.drops(t, one) && k.drops(t, two) {
				f, l, v := k.plateRisk(t, one, two)
				k.findApart(f, l, v, &t.rows[one], &t.rows[two], shortest, longest)
			}
		}
	}
}

// findStrikes lists what strikes risk that follow each other on one plate, at a
// step period.
func (k *risks) findStrikes(t *Turn, channels []int, p float64) {
	n := t.works.Machine.Wheel.Steps
	turn := p * float64(n)
	k.strikes = k.strikes[:0]
	for _, i := range channels {
		if !k.drops(t, i) {
			continue
		}
		r, c := &t.rows[i], &t.works.Channels[i]
		for step := r.next(0); step < n; step = r.next(step + 1) {
			s := strikeAt{p*(float64(step)+c.Reach) + c.Strike, i, step}
			for s.at >= turn {
				s.at, s.step = s.at-turn, s.step-n
			}
			k.strikes = append(k.strikes, s)
		}
	}
	slices.SortFunc(k.strikes, func(a, b strikeAt) int {
		return cmp.Or(cmp.Compare(a.at, b.at), a.channel-b.channel)
	})
	for i, s := range k.strikes {
		next := k.strikes[(i+1)%len(k.strikes)]
		if i+1 == len(k.strikes) {
			next.step += n
		}
		if s.channel == next.channel {
			continue
		}
		if s.channel > next.channel {
			s, next = next, s
		}
		f, l, v := k.plateRisk(t, s.channel, next.channel)
		f.rise, f.apart, f.count = float64(next.step-s.step)+l.rho, int32(next.step-s.step), 1
		f.variance = variance{v.fixed, v.perP2 + 2*k.sc.pin*k.sc.pin}
		k.add(f, p, p)
	}
}
