package arrange

import (
	"math"
)

// ways is a lower bound on the cost of a tangle that is looked at several times
// over, each time as pieces that do not care for each other: stretches of the
// wheel, other stretches, and channels without their lanes. The cost of each
// option is shared out among these ways of looking, so that the sum of their
// least costs is no more than the least cost of the tangle, however it is
// shared out; shares are moved to where the ways disagree, which makes the sum
// grow.
//
// This is Lagrangean decomposition (Guignard and Kim, Mathematical Programming
// 39, 1987), by subgradients.
type ways struct {
	climb
	list []way
}

// climb is how far a search for multipliers has come.
type climb struct {
	step float64 // part of Polyak's step, (cost known − bound) ÷ |subgradient|²
	best float64 // bound so far
	idle int     // rounds since it grew
	left int     // rounds
	done bool
}

const (
	climbAtOnce = 5
	climbIdle   = 10 // rounds without gain until the step is halved
	climbLeast  = 0.02
)

func newClimb(rounds int) climb { return climb{step: 1, best: math.Inf(-1), left: rounds} }

// reached notes a bound and reports whether to go on.
func (c *climb) reached(sum float64, t *tangle) bool {
	if sum > c.best+1e-4*math.Abs(sum) {
		c.idle = 0
	} else if c.idle++; c.idle >= climbIdle {
		c.step, c.idle = c.step/2, 0
	}
	c.best = max(c.best, sum)
	t.lower = max(t.lower, sum)
	c.left--
	c.done = c.left <= 0 || c.step < climbLeast || t.exact()
	return !c.done
}

// way is one way of looking at a tangle.
type way struct {
	pieces []*puzzle
	notes  [][]int32 // of the pieces
	cost   []float64 // its share, by option
	out    []float64
	taken  []float64 // by option, 1 where its answer takes it
	left   []float64
}

const (
	stretchNotes = 24
	stretchWidth = 48
)

func (b *ways) raise(s *solver, p *puzzle, t *tangle) (more bool) {
	for k := 0; k < climbAtOnce && !b.done; k++ {
		sum, ok := b.round(s)
		if !ok || !b.reached(sum, t) {
			return false
		}
		b.done = !b.move(t.cost - sum)
	}
	return !b.done
}

// newWays cuts a tangle in its pieces, with equal shares.
func newWays(s *solver, p *puzzle) *ways {
	b := &ways{climb: newClimb(s.pains.climb)}
	n := int32(p.notes())
	for _, shift := range []int32{0, stretchNotes / 2} {
		var w way
		for from := -shift; from < n; from += stretchNotes {
			var notes []int32
			for i := max(from, 0); i < min(from+stretchNotes, n); i++ {
				notes = append(notes, i)
			}
			w.add(s, p, notes, allFoes)
		}
		b.list = append(b.list, w)
	}
	var w way
	for _, notes := range byChannels(p) {
		w.add(s, p, notes, ownFoes)
	}
	b.list = append(b.list, w)
	for i := range b.list {
		w := &b.list[i]
		w.cost, w.taken = make([]float64, len(p.cost)), make([]float64, len(p.cost))
		w.out, w.left = make([]float64, n), make([]float64, n)
		for o, c := range p.cost {
			w.cost[o] = c / float64(len(b.list))
		}
		for k, c := range p.out {
			w.out[k] = c / float64(len(b.list))
		}
	}
	return b
}

func (w *way) add(s *solver, p *puzzle, notes []int32, k keep) {
	if len(notes) == 0 {
		return
	}
	w.notes = append(w.notes, notes)
	w.pieces = append(w.pieces, s.piece.cut(p, notes, nil, k).clone())
}

// byChannels is the notes of each channel, and of channels with notes between
// which they may choose, in their order.
func byChannels(p *puzzle) [][]int32 {
	highest := int32(-1)
	for _, c := range p.channel {
		highest = max(highest, c)
	}
	channels := newForest(int(highest) + 1)
	notes := make([]int32, p.notes())
	for n := range notes {
		notes[n] = int32(n)
		from, to := p.options(int32(n))
		for o := from; o < to; o++ {
			channels.join(p.channel[from], p.channel[o])
		}
	}
	return channels.groups(notes, func(n int32) int32 {
		from, to := p.options(n)
		if from == to {
			return -1
		}
		return p.channel[from]
	})
}

// round is the sum of the ways' least costs.
func (b *ways) round(s *solver) (sum float64, ok bool) {
	for i := range b.list {
		w := &b.list[i]
		clear(w.taken)
		clear(w.left)
		for k, piece := range w.pieces {
			for o, from := range piece.from {
				piece.cost[o] = w.cost[from]
			}
			for j, n := range w.notes[k] {
				piece.out[j] = w.out[n]
			}
			r := s.sweeper.sweep(s.ctx, piece, sweep{width: stretchWidth, merge: true, under: math.Inf(1)})
			if r.taken == nil {
				return 0, false
			}
			sum += r.cost
			for j, o := range r.taken {
				if o == leftOut {
					w.left[w.notes[k][j]] = 1
				} else {
					w.taken[piece.from[o]] = 1
				}
			}
		}
	}
	return sum, true
}

// move moves shares: a way's share grows where it takes what others do not.
func (b *ways) move(gap float64) (differ bool) {
	norm := 0.0
	each := func(do func(mean float64, took, share *float64)) {
		for o := range b.list[0].taken {
			mean := 0.0
			for i := range b.list {
				mean += b.list[i].taken[o]
			}
			mean /= float64(len(b.list))
			for i := range b.list {
				do(mean, &b.list[i].taken[o], &b.list[i].cost[o])
			}
		}
		for n := range b.list[0].left {
			mean := 0.0
			for i := range b.list {
				mean += b.list[i].left[n]
			}
			mean /= float64(len(b.list))
			for i := range b.list {
				do(mean, &b.list[i].left[n], &b.list[i].out[n])
			}
		}
	}
	each(func(mean float64, took, _ *float64) { norm += (*took - mean) * (*took - mean) })
	if norm == 0 {
		return false
	}
	step := b.step * gap / norm
	each(func(mean float64, took, share *float64) { *share += step * (*took - mean) })
	return true
}
