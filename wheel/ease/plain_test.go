package ease_test

import (
	"cmp"
	"math"
	"slices"

	"pinwright/wheel/ease"
)

// plain finds the best answer to a small problem by trying all there are. It
// takes the rules from the documentation of Problem and shares no code with the
// solver.
type plain struct {
	p      ease.Problem
	chosen []int
	best   plainAnswer
}

// plainAnswer is what an answer comes to: first the notes that stay count that
// are left out, then the cost of all others.
type plainAnswer struct {
	unkept int
	cost   float64
}

func (a plainAnswer) compare(b plainAnswer) int {
	return cmp.Or(a.unkept-b.unkept, cmp.Compare(a.cost, b.cost))
}

func plainly(p ease.Problem) plainAnswer {
	s := plain{p: p, chosen: make([]int, len(p.Notes)), best: plainAnswer{math.MaxInt, 0}}
	s.from(0)
	return s.best
}

func (s *plain) from(n int) {
	a := weigh(s.p, s.chosen[:n])
	if a.compare(s.best) >= 0 {
		return // the others cannot make it better
	}
	if n == len(s.p.Notes) {
		if broken(s.p, s.chosen) == "" {
			s.best = a
		}
		return
	}
	for k := len(s.p.Notes[n].Candidates) - 1; k >= ease.LeftOut; k-- { // ease.LeftOut is −1
		s.chosen[n] = k
		s.from(n + 1)
	}
}

func weigh(p ease.Problem, chosen []int) (a plainAnswer) {
	for i, k := range chosen {
		switch n := p.Notes[i]; {
		case k != ease.LeftOut:
			a.cost += n.Candidates[k].Cost
		case n.Stays:
			a.unkept++
		default:
			a.cost += n.LeaveOut
		}
	}
	return a
}

// broken is a rule that an answer breaks, or nothing.
func broken(p ease.Problem, chosen []int) string {
	type kept struct{ channel, aim, sound, pin int }
	var all []kept
	for i, k := range chosen {
		if k == ease.LeftOut {
			continue
		}
		n := p.Notes[i]
		c := n.Candidates[k]
		sound := n.Aim + c.Later
		all = append(all, kept{c.Channel, n.Aim, sound, sound - p.Channels[c.Channel].Advance})
	}
	for channel, c := range p.Channels {
		own := slices.DeleteFunc(slices.Clone(all), func(k kept) bool { return k.channel != channel })
		slices.SortFunc(own, func(a, b kept) int { return cmp.Or(a.aim-b.aim, a.sound-b.sound) })
		for i, k := range own {
			next := own[0].sound + p.Turn
			if i+1 < len(own) {
				next = own[i+1].sound
			}
			if next-k.sound < c.Gap {
				return "gap"
			}
		}
	}
	for _, g := range p.Meetings {
		for _, a := range all {
			for _, b := range all {
				for turns := -9; turns <= 9 && a.channel == g.Channel && b.channel == g.Other; turns++ {
					if d := b.pin - a.pin + turns*p.Turn; d >= g.From && d <= g.To {
						return "meeting"
					}
				}
			}
		}
	}
	trips := map[int]int{}
	for _, k := range all {
		step := ((k.pin % p.Turn) + p.Turn) % p.Turn
		if trips[step]++; p.TripsAtOnce > 0 && trips[step] > p.TripsAtOnce {
			return "trips at once"
		}
	}
	return ""
}
