package ease

import (
	"math"

	"pinwright/wheel/internal/disjoint"
)

// decomposition is a lower bound on the cost of a component. It looks at the
// component in several ways, each time as pieces that do not care for each
// other: stretches of the wheel, other stretches, and channels without their
// lanes. The cost of each candidate is shared out among these views, so that the
// sum of their least costs is no more than the least cost of the component,
// however it is shared out; shares are moved to where the views disagree, which
// makes the sum grow.
//
// This is Lagrangean decomposition (Guignard and Kim, Mathematical Programming
// 39, 1987), by subgradients.
type decomposition struct {
	ascent
	views []view
}

// view is one way of looking at a component.
type view struct {
	pieces []*model
	notes  [][]int32 // of the pieces
	cost   []float64 // its share, by candidate
	out    []float64
	taken  []float64 // by candidate, 1 where its answer takes it
	left   []float64
}

const (
	stretchNotes = 24
	stretchWidth = 48
)

func (b *decomposition) raise(s *solver, m *model, comp *component) (more bool) {
	for k := 0; k < roundsAtOnce && !b.done; k++ {
		sum, ok := b.round(s)
		if !ok || !b.reached(sum, comp) {
			return false
		}
		b.done = !b.move(comp.cost - sum)
	}
	return !b.done
}

// newDecomposition cuts a component into its pieces, with equal shares.
func newDecomposition(s *solver, m *model) *decomposition {
	b := &decomposition{ascent: newAscent(s.effort.rounds)}
	n := int32(m.notes())
	for _, shift := range []int32{0, stretchNotes / 2} {
		var v view
		for from := -shift; from < n; from += stretchNotes {
			var notes []int32
			for i := max(from, 0); i < min(from+stretchNotes, n); i++ {
				notes = append(notes, i)
			}
			v.add(s, m, notes, allConflicts)
		}
		b.views = append(b.views, v)
	}
	var v view
	for _, notes := range byChannels(m) {
		v.add(s, m, notes, channelConflicts)
	}
	b.views = append(b.views, v)
	for i := range b.views {
		v := &b.views[i]
		v.cost, v.taken = make([]float64, len(m.cost)), make([]float64, len(m.cost))
		v.out, v.left = make([]float64, n), make([]float64, n)
		for o, c := range m.cost {
			v.cost[o] = c / float64(len(b.views))
		}
		for k, c := range m.out {
			v.out[k] = c / float64(len(b.views))
		}
	}
	return b
}

func (v *view) add(s *solver, m *model, notes []int32, k keep) {
	if len(notes) == 0 {
		return
	}
	v.notes = append(v.notes, notes)
	v.pieces = append(v.pieces, s.piece.cut(m, notes, nil, k).clone())
}

// byChannels is the notes of each channel, and of channels with notes between
// which they may choose, in their order.
func byChannels(m *model) [][]int32 {
	highest := int32(-1)
	for _, c := range m.channel {
		highest = max(highest, c)
	}
	channels := disjoint.New(int(highest) + 1)
	notes := make([]int32, m.notes())
	for n := range notes {
		notes[n] = int32(n)
		from, to := m.candidates(int32(n))
		for o := from; o < to; o++ {
			channels.Join(m.channel[from], m.channel[o])
		}
	}
	return channels.Groups(notes, func(n int32) int32 {
		from, to := m.candidates(n)
		if from == to {
			return -1
		}
		return m.channel[from]
	})
}

// round is the sum of the views' least costs.
func (b *decomposition) round(s *solver) (sum float64, ok bool) {
	for i := range b.views {
		v := &b.views[i]
		clear(v.taken)
		clear(v.left)
		for k, piece := range v.pieces {
			for o, from := range piece.from {
				piece.cost[o] = v.cost[from]
			}
			for j, n := range v.notes[k] {
				piece.out[j] = v.out[n]
			}
			r := s.sweeper.sweep(s.ctx, piece, sweep{width: stretchWidth, merge: true, under: math.Inf(1)})
			if r.taken == nil {
				return 0, false
			}
			sum += r.cost
			for j, o := range r.taken {
				if o == LeftOut {
					v.left[v.notes[k][j]] = 1
				} else {
					v.taken[piece.from[o]] = 1
				}
			}
		}
	}
	return sum, true
}

// move moves shares: a view's share grows where it takes what others do not.
func (b *decomposition) move(gap float64) (differ bool) {
	norm := 0.0
	each := func(do func(mean float64, took, share *float64)) {
		for o := range b.views[0].taken {
			mean := 0.0
			for i := range b.views {
				mean += b.views[i].taken[o]
			}
			mean /= float64(len(b.views))
			for i := range b.views {
				do(mean, &b.views[i].taken[o], &b.views[i].cost[o])
			}
		}
		for n := range b.views[0].left {
			mean := 0.0
			for i := range b.views {
				mean += b.views[i].left[n]
			}
			mean /= float64(len(b.views))
			for i := range b.views {
				do(mean, &b.views[i].left[n], &b.views[i].out[n])
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
