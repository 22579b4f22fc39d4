package arrange

import (
	"math"
	"slices"
)

// search is how far the search for a better answer to a tangle has come.
type search struct {
	stage int // of searchSizes, then of channels
	done  bool
}

// searchSizes are how many notes at a time are answered anew.
var searchSizes = [...]int{12, 24, 48}

const (
	pieceWidth  = 256
	pieceEffort = 300_000
)

// searchOn goes once through a tangle and answers a few notes of it anew at a
// time, the others as they are: those of a stretch of the wheel, those about a
// note that costs something, and those of a few channels. It reports whether
// going on may find more.
func (s *solver) searchOn(p *puzzle, t *tangle) (more bool) {
	if t.search.done {
		return false
	}
	before := t.cost
	if t.search.stage < len(searchSizes) {
		size := searchSizes[t.search.stage]
		s.searchStretches(p, t, size)
		s.searchBalls(p, t, size)
	} else {
		s.searchChannels(p, t)
	}
	if t.cost >= before-sameCost {
		t.search.stage++
		t.search.done = t.search.stage > len(searchSizes)
	} else if t.search.stage == len(searchSizes) {
		t.search.stage = 0
	}
	return !t.search.done
}

// again answers the notes in s.notes anew, the others as they are.
func (s *solver) again(p *puzzle, t *tangle) {
	have := 0.0
	for _, n := range s.notes {
		have += p.costOf(n, t.answer[n])
	}
	if have < sameCost || s.ctx.Err() != nil {
		return
	}
	part := s.piece.cut(p, s.notes, t.answer, allFoes)
	r := s.sweeper.sweep(s.ctx, part, sweep{width: pieceWidth, under: have, effort: pieceEffort})
	if r.taken == nil {
		return
	}
	for i, o := range r.taken {
		if o != leftOut {
			o = part.from[o]
		}
		t.answer[s.notes[i]] = o
	}
	t.cost = p.sum(t.answer)
}

func (s *solver) searchStretches(p *puzzle, t *tangle, size int) {
	n := p.notes()
	for from := 0; from < n; from += (size + 1) / 2 {
		s.notes = s.notes[:0]
		for i := range min(size, n) {
			s.notes = append(s.notes, int32((from+i)%n))
		}
		s.again(p, t)
	}
}

// searchBalls takes, about each note that costs something, those that exclude
// it and those that exclude them.
func (s *solver) searchBalls(p *puzzle, t *tangle, size int) {
	for len(s.stamp) < p.notes() {
		s.stamp = append(s.stamp, 0)
	}
	for seed := range int32(p.notes()) {
		if p.costOf(seed, t.answer[seed]) < sameCost {
			continue
		}
		s.ball++
		s.stamp[seed] = s.ball
		s.notes = append(s.notes[:0], seed)
		for k := 0; k < len(s.notes) && len(s.notes) < size; k++ {
			for o, to := p.options(s.notes[k]); o < to; o++ {
				for _, f := range p.excludes(o) {
					if n := p.note[f]; s.stamp[n] != s.ball && len(s.notes) < size {
						s.stamp[n] = s.ball
						s.notes = append(s.notes, n)
					}
				}
			}
		}
		slices.Sort(s.notes)
		s.again(p, t)
	}
}

// searchChannels takes all notes of two channels that are near in the file.
func (s *solver) searchChannels(p *puzzle, t *tangle) {
	last := int32(-1)
	least := int32(math.MaxInt32)
	for _, c := range p.channel {
		last, least = max(last, c), min(least, c)
	}
	for c := least; c <= last; c++ {
		for d := range int32(4) {
			s.notes = s.notes[:0]
			for n := range int32(p.notes()) {
				for o, to := p.options(n); o < to; o++ {
					if p.channel[o] == c || p.channel[o] == c+d {
						s.notes = append(s.notes, n)
						break
					}
				}
			}
			s.again(p, t)
		}
	}
}
