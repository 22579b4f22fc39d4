package programme

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Arc is a part of the turn: a number of steps from a step on, across the seam if
// necessary.
type Arc struct{ From, Steps int }

// UsedArc is the shortest part of the turn that has all pins of a pinning in it,
// the longest silence left out: as the turn comes round again, so does the song,
// and it may begin after any of its silences. It has no steps where there are no pins.
func UsedArc(n int, p *wheel.Pinning) Arc {
	if len(p.Pins) == 0 {
		return Arc{}
	}
	steps := make([]int, len(p.Pins))
	for i, pin := range p.Pins {
		steps[i] = pin.Step
	}
	slices.Sort(steps)
	steps = slices.Compact(steps)
	best := Arc{0, n + 1}
	for i, s := range steps {
		before := steps[(i+len(steps)-1)%len(steps)]
		if used := (before-s+n)%n + 1; used < best.Steps { // from this pin to the one before it
			best = Arc{s, used}
		}
	}
	return best
}

// Shared is which pinnings could stand on one wheel, one after the other round
// the turn, each turned as a whole to where there is room for it.
type Shared struct {
	Used  []int    // by pinning, steps of its arc
	Pairs [][2]int // of pinnings that fit one turn together
	Most  []int    // the most that fit one turn, and of those the shortest
}

// Share says which of some pinnings fit one turn of n steps together, their
// used arcs one after the other. Whether tempos and rests at the joints suit is
// for the whole check of the joined pinning.
func Share(n int, pinnings []*wheel.Pinning) Shared {
	s := Shared{Used: make([]int, len(pinnings))}
	order := make([]int, len(pinnings))
	for i, p := range pinnings {
		s.Used[i], order[i] = UsedArc(n, p).Steps, i
		for j := range i {
			if s.Used[i]+s.Used[j] <= n {
				s.Pairs = append(s.Pairs, [2]int{j, i})
			}
		}
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(s.Used[a]-s.Used[b], a-b) })
	left := n
	for _, i := range order {
		if s.Used[i] > left {
			break
		}
		left -= s.Used[i]
		s.Most = append(s.Most, i)
	}
	slices.Sort(s.Most)
	return s
}

// shownPairs is how many pairs are listed.
const shownPairs = 24

// Groups are the sets of pinnings to offer to be joined: the most that fit one
// turn, where those are more than two, and pairs.
func (s Shared) Groups() (groups [][]int) {
	if len(s.Most) > 2 {
		groups = append(groups, s.Most)
	}
	for _, pair := range s.Pairs[:min(len(s.Pairs), shownPairs)] {
		groups = append(groups, pair[:])
	}
	return groups
}

// Sentences say how much of a turn of n steps each of the pinnings uses, by their
// titles, and which fit one turn together.
func (s Shared) Sentences(n int, titles []string) (says []string) {
	for i, title := range titles {
		says = append(says, fmt.Sprintf("%s uses %d of %d steps.", title, s.Used[i], n))
	}
	for _, group := range s.Groups() {
		sum := 0
		for _, i := range group {
			sum += s.Used[i]
		}
		says = append(says, fmt.Sprintf("%s fit one turn together: %d of %d steps.", say.List(TitlesOf(group, titles)), sum, n))
	}
	if more := len(s.Pairs) - shownPairs; more > 0 {
		says = append(says, say.Count(more, "more pair fits", "more pairs fit")+" one turn together.")
	}
	if len(s.Pairs) == 0 {
		says = append(says, "No two of them fit one turn together, so each change of song is a changeover.")
	}
	return says
}

// TitlesOf are the titles of a group of pinnings.
func TitlesOf(group []int, titles []string) []string {
	of := make([]string, len(group))
	for i, at := range group {
		of[i] = titles[at]
	}
	return of
}

// Join is a pinning with several on it, one after the other round the
// turn: each is turned as a whole, aims and all, so that its used arc begins
// where the one before it ends, on the next bar line where all have room for
// that, and nothing of it is changed within. It has the advances of the first;
// pins of the others keep their own distance from their aims. The error says what
// does not fit.
func Join(m *wheel.Machine, title string, pinnings []*wheel.Pinning) (*wheel.Pinning, error) {
	n := m.Wheel.Steps
	arcs, total, bars := make([]Arc, len(pinnings)), 0, 0
	bar := m.Wheel.StepsPerBar()
	for i, p := range pinnings {
		if err := p.CheckOn(m).Err(); err != nil {
			return nil, err
		}
		arcs[i] = UsedArc(n, p)
		total += arcs[i].Steps
		lead := arcs[i].From % bar // from the bar line before its first pin
		bars += (lead + arcs[i].Steps + bar - 1) / bar * bar
	}
	if total > n {
		return nil, fmt.Errorf("together they take %d steps of the turn; the wheel has %d", total, n)
	}
	onBars := bars <= n && n%bar == 0
	joined := &wheel.Pinning{Format: wheel.PinningFormat, Title: title, Machine: m.Name}
	at := 0
	for i, p := range pinnings {
		by := at - arcs[i].From
		took := arcs[i].Steps
		if onBars {
			lead := arcs[i].From % bar
			by += lead
			took = (lead + took + bar - 1) / bar * bar
		}
		if i == 0 {
			joined.TempoBPM, joined.Advance = p.TempoBPM, p.Clone().Advance
		}
		for _, pin := range p.Pins {
			joined.Pins = append(joined.Pins, wheel.Pin{
				Channel: pin.Channel, Step: m.Wheel.Wrap(pin.Step + by),
				Aim: wheel.AimAt(wrapped(p.AimOf(pin)+float64(by), n)),
			})
		}
		at += took
	}
	joined.Sort()
	return joined, nil
}

func wrapped(aim float64, n int) float64 {
	aim = math.Mod(aim, float64(n))
	if aim < 0 {
		aim += float64(n)
	}
	return aim
}
