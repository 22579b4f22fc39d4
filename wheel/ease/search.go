package ease

import (
	"math"
	"slices"
)

// search is how far the search for a better answer to a component has come.
type search struct {
	stage int // of searchSizes, then of channels
	done  bool
}

// searchSizes are how many notes are answered again at a time.
var searchSizes = [...]int{12, 24, 48}

const (
	pieceWidth  = 256
	pieceStates = 300_000
)

// localSearch goes once through a component and answers a few notes of it again
// at a time, the others as they are: those of a stretch of the wheel, those in
// the neighbourhood of a note that costs something, and those of two channels.
// It reports whether going on may find more.
func (s *solver) localSearch(m *model, comp *component) (more bool) {
	if comp.search.done {
		return false
	}
	before := comp.cost
	if comp.search.stage < len(searchSizes) {
		size := searchSizes[comp.search.stage]
		s.searchStretches(m, comp, size)
		s.searchNeighbourhoods(m, comp, size)
	} else {
		s.searchChannels(m, comp)
	}
	if comp.cost >= before-sameCost {
		comp.search.stage++
		comp.search.done = comp.search.stage > len(searchSizes)
	} else if comp.search.stage == len(searchSizes) {
		comp.search.stage = 0
	}
	return !comp.search.done
}

// reoptimize answers the notes in s.notes again, the others as they are.
func (s *solver) reoptimize(m *model, comp *component) {
	have := 0.0
	for _, n := range s.notes {
		have += m.costOf(n, comp.answer[n])
	}
	if have < sameCost || s.ctx.Err() != nil {
		return
	}
	part := s.piece.cut(m, s.notes, comp.answer, allConflicts)
	r := s.sweeper.sweep(s.ctx, part, sweep{width: pieceWidth, under: have, effort: pieceStates})
	if r.taken == nil {
		return
	}
	for i, o := range r.taken {
		if o != LeftOut {
			o = part.from[o]
		}
		comp.answer[s.notes[i]] = o
	}
	comp.cost = m.sum(comp.answer)
}

// searchStretches takes so many notes that follow each other, all round.
func (s *solver) searchStretches(m *model, comp *component, size int) {
	n := m.notes()
	for from := 0; from < n; from += (size + 1) / 2 {
		s.notes = s.notes[:0]
		for i := range min(size, n) {
			s.notes = append(s.notes, int32((from+i)%n))
		}
		s.reoptimize(m, comp)
	}
}

// searchNeighbourhoods takes, for each note that costs something, the notes that
// exclude it, those that exclude them, and so on.
func (s *solver) searchNeighbourhoods(m *model, comp *component, size int) {
	for len(s.stamp) < m.notes() {
		s.stamp = append(s.stamp, 0)
	}
	for seed := range int32(m.notes()) {
		if m.costOf(seed, comp.answer[seed]) < sameCost {
			continue
		}
		s.round++
		s.stamp[seed] = s.round
		s.notes = append(s.notes[:0], seed)
		for k := 0; k < len(s.notes) && len(s.notes) < size; k++ {
			for o, to := m.candidates(s.notes[k]); o < to; o++ {
				for _, f := range m.excluded(o) {
					if n := m.note[f]; s.stamp[n] != s.round && len(s.notes) < size {
						s.stamp[n] = s.round
						s.notes = append(s.notes, n)
					}
				}
			}
		}
		slices.Sort(s.notes)
		s.reoptimize(m, comp)
	}
}

// searchChannels takes all notes of two channels of which the indices are near.
func (s *solver) searchChannels(m *model, comp *component) {
	last := int32(-1)
	least := int32(math.MaxInt32)
	for _, c := range m.channel {
		last, least = max(last, c), min(least, c)
	}
	for c := least; c <= last; c++ {
		for d := range int32(4) {
			s.notes = s.notes[:0]
			for n := range int32(m.notes()) {
				for o, to := m.candidates(n); o < to; o++ {
					if m.channel[o] == c || m.channel[o] == c+d {
						s.notes = append(s.notes, n)
						break
					}
				}
			}
			s.reoptimize(m, comp)
		}
	}
}
