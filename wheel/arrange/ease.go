package arrange

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/ease"
)

// EaseLimit is how long an easing may take where nothing else is asked for.
const EaseLimit = 2 * time.Second

// EaseOptions is what is asked of an easing besides the tempo.
type EaseOptions struct {
	Limit     time.Duration // 0 is [EaseLimit]
	Decisions []Decision
}

// Eased is what became of notes so that a tempo asked for, and every slower one
// from the machine's lowest, can be trusted.
type Eased struct {
	Changes       []EaseChange // by step; in the report with what else was changed
	Cost          float64      // of all changes
	LowerBound    float64      // no way to the bare limit EasedToBPM that keeps to the decisions costs less
	Exact         bool         // Cost is the least for that bare limit
	EasedToBPM    *float64     // the bare limit that the solver was given to reach; nil where nothing was eased
	BeforeBPM     *float64     // the bare limit before; nil where there was none
	BeforeKeepBPM *float64     // keep-below before
	LeftOut       int          // notes of the song that no longer sound
	MaxSafeBPM    *float64     // the bare limit; nil where the machine's lowest tempo is not safe
	KeepBelowBPM  *float64     // the tempo up to which it can be trusted; nil where there is none
	Cannot        []string     // sentences on what of the request cannot be; then Cost and LowerBound are those of the best that can
}

// easeNotes changes notes so that the keep-below tempo of their pinning is at
// least a tempo. The solver is given a bare limit to reach, at the least cost: the
// tempo, raised in steps until keep-below suffices, see [easing.climb]. Leaving a
// note out costs its weight, moving it by one or two steps 0.2 × steps × weight,
// moving it to another of its choices nothing. The notes of one channel keep
// their order.
//
// advance is by channel, in steps. left is the notes that are left, where they
// are now, in the order they came in. The error is a sentence on what cannot be
// worked out at all; it is that of ctx where it was cancelled. When ctx or the
// limit runs out the answer is the best found, with what is proved of it.
func easeNotes(ctx context.Context, mech Mechanics, notes []placedNote, advance []int, tempoBPM float64, o EaseOptions) (left []placedNote, eased *Eased, err error) {
	if !(tempoBPM >= 1 && tempoBPM <= wheel.MaxTempoBPM) {
		return nil, nil, fmt.Errorf("the tempo to be trusted is %s BPM; it should be 1 to %d BPM", wheel.Number(tempoBPM), wheel.MaxTempoBPM)
	}
	m := mech.Description()
	if err := checkPlaced(m, notes, advance); err != nil {
		return nil, nil, err
	}
	wishes, err := wishes(m, notes, o.Decisions)
	if err != nil {
		return nil, nil, err
	}
	limit := o.Limit
	if limit <= 0 {
		limit = EaseLimit
	}
	asked := ctx
	ctx, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	e := &easing{mech: mech, machine: m, notes: notes, advance: advance, wishes: wishes}
	e.keep = min(max(tempoBPM, m.Limits.TempoMinBPM), m.Limits.TempoMaxBPM)
	if refusal := e.refuses(tempoBPM); refusal != "" {
		return notes, &Eased{Changes: []EaseChange{}, Exact: true, Cannot: []string{refusal}}, nil
	}
	r, cannot := e.reach(ctx, limit, tempoBPM)
	if err := asked.Err(); errors.Is(err, context.Canceled) {
		return nil, nil, err
	}
	left, eased = e.write(r)
	eased.Cannot = cannot
	return left, eased, nil
}

// checkPlaced refuses notes that no assignment makes.
func checkPlaced(m *wheel.Machine, notes []placedNote, advance []int) error {
	if len(advance) != len(m.Channels) {
		return fmt.Errorf("there are advances of %d channels; %s has %d", len(advance), m.Name, len(m.Channels))
	}
	if len(notes) > wheel.MaxPins {
		return fmt.Errorf("there are %d notes; a pinning has %d at most", len(notes), wheel.MaxPins)
	}
	channels := int32(len(m.Channels))
	type place struct{ channel, aim int32 }
	first := make(map[place]int, len(notes))
	for i, n := range notes {
		ok := n.channel >= 0 && n.channel < channels && n.aim >= 0 && int(n.aim) < m.Wheel.Steps
		own := false
		for _, c := range n.choices {
			ok = ok && c >= 0 && c < channels
			own = own || c == n.channel
		}
		if !ok || !own {
			return fmt.Errorf("notes[%d] has no place on %s", i, m.Name)
		}
		if !(n.weight >= 0 && n.weight <= maxWeight) {
			return fmt.Errorf("notes[%d] weighs %s; a weight should be 0 to %g", i, wheel.Number(n.weight), float64(maxWeight))
		}
		if k, twice := first[place{n.channel, n.aim}]; twice {
			return fmt.Errorf("notes[%d] stands where notes[%d] does", i, k)
		}
		first[place{n.channel, n.aim}] = i
	}
	return nil
}

// maxWeight is far above that of any note, and keeps sums exact enough.
const maxWeight = 1e6

// easing is one call of easeNotes.
type easing struct {
	mech    Mechanics
	machine *wheel.Machine
	notes   []placedNote
	advance []int
	wishes  []wish
	keep    float64 // the tempo to be trusted, in beats per minute
}

// outcome is what an easing to one bare limit comes to.
type outcome struct {
	gaps   *gaps
	to     []site  // by note
	left   []bool  // by note: left out
	unmet  []int32 // notes left out that were to stay
	cost   float64
	lower  float64
	exact  bool
	proved bool    // that some note has to be left out that was to stay
	keep   float64 // the tempo up to which it can be trusted; 0 where there is none
	bare   float64 // its bare limit, at least the one that it was eased to; 0 where there is none
}

// to eases to one bare limit, in beats per minute.
func (e *easing) to(ctx context.Context, bpm float64) *outcome {
	g := newGaps(e.mech, e.notes, e.advance, e.wishes, bpm)
	g.keepBPM = e.keep
	p := g.problem()
	found := ease.Solve(ctx, p)
	r := &outcome{gaps: g, to: make([]site, len(e.notes)), left: make([]bool, len(e.notes)), exact: found.Exact, proved: found.Impossible}
	choices := 0.0
	for n, k := range found.Chosen {
		if len(e.notes[n].choices) > 1 {
			choices += channelCost
		}
		if k == ease.LeftOut {
			r.left[n] = true
		} else {
			c := p.Notes[n].Candidates[k]
			r.to[n] = site{int32(c.Channel), int32(c.Later)}
		}
	}
	r.count()
	if r.lower = r.cost; !r.exact {
		r.lower = min(max(0, found.LowerBound-choices), r.cost)
	}
	e.verify(r)
	return r
}

// count adds up what was found.
func (r *outcome) count() {
	r.unmet, r.cost = r.unmet[:0], 0
	for i := range r.left {
		n := &r.gaps.notes[i]
		switch {
		case !r.left[i]:
			r.cost += stepCost * math.Abs(float64(r.to[i].later)) * n.weight
		case !r.gaps.wishes[i].mayLeaveOut():
			r.unmet = append(r.unmet, int32(i))
			fallthrough
		default:
			r.cost += n.weight
		}
	}
}

// verify asks mechanics how fast what was found can be played.
func (e *easing) verify(r *outcome) {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Machine: e.machine.Name, Pins: make([]wheel.Pin, 0, len(e.notes))}
	for i := range e.notes {
		if !r.left[i] {
			s := r.to[i]
			p.Pins = append(p.Pins, wheel.Pin{Channel: e.machine.Channels[s.channel].ID, Step: int(r.gaps.step(int32(i), s))})
		}
	}
	r.keep, r.bare = 0, 0
	keep, bare := e.mech.HowFast(p)
	if keep != nil {
		r.keep = *keep
	}
	if bare != nil {
		r.bare = *bare
	}
}
