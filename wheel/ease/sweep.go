package ease

import (
	"context"
	"math"
)

// sweeper goes through the notes of a model in their order and keeps, after
// each of them, the states that are left: a state is the set of later candidates
// that the notes so far exclude, with the least cost of getting there. Notes
// that are far apart do not exclude each other, so the states of a model in
// the order of the wheel stay few, however many notes there are.
//
// The notes at the end of the turn may be excluded by those at its beginning:
// their bits are carried along from start to end, so the seam is no special
// case.
//
// It keeps its working memory and is not for use by two goroutines at once.
type sweeper struct {
	m       *model
	noteBit []int32 // where the bits of a note begin; one more at the end
	stepBit []int32 // of a full step: its first bit; as many as it has room for
	last    []int32 // of a full step: the last note with a candidate there
	tail    int32   // the first note whose bits are carried from the start
	window  int32   // words of the window, before those of the tail
	stride  int32   // words of a state
	base    []int32 // by note: the word of the window's first bits

	maskAt   []int32 // by candidate: what it excludes of later notes
	maskWord []int32
	maskBits []uint64

	now, next layer
	table     []int32 // of next, by hash
	stamp     []uint32
	round     uint32
	order     []int32
	scratch   []uint64
	trail     []link
	trailAt   []int32 // by note
	ahead     []float64
	taken     answer
}

// layer is the states after some notes.
type layer struct {
	words []uint64
	cost  []float64
	link  []link
}

// link is how a state came to be: from which state, by which candidate.
type link struct{ state, candidate int32 }

// sweep is how to sweep.
type sweep struct {
	width  int       // most states after a note
	merge  bool      // what is too many is merged into one that excludes less, for a lower bound; else it is dropped
	under  float64   // only answers that cost less are looked for
	rest   []float64 // a lower bound on the cost of the notes from i on; empty where there is none
	effort int       // most states tried; 0 is any number
}

// swept is what a sweep found. Its slices are good until the next one.
type swept struct {
	cost  float64 // of taken; +Inf where there is no answer under the bound. Of a merging sweep, a lower bound
	taken answer
	exact bool      // nothing was dropped or merged: there is no better answer under the bound
	ahead []float64 // of a merging sweep: a lower bound on the cost of the first i notes, of answers under the bound
	tried int       // states
}

// sweep goes through the notes of a model once.
func (s *sweeper) sweep(ctx context.Context, m *model, how sweep) swept {
	s.prepare(m)
	r := swept{exact: true, cost: math.Inf(1)}
	s.now.reset()
	s.now.words = append(s.now.words, s.scratch[:s.stride]...)
	s.now.cost = append(s.now.cost, 0)
	s.now.link = append(s.now.link, link{})
	s.trail, s.trailAt = s.trail[:0], s.trailAt[:0]
	s.ahead = append(s.ahead[:0], 0)
	for n := range int32(m.notes()) {
		rest := 0.0
		if len(how.rest) > 0 {
			rest = how.rest[n+1]
		}
		r.tried += s.step(n, how.under-rest-sameCost)
		if !s.choose(how.width, how.merge) {
			r.exact = false
		}
		s.trailAt = append(s.trailAt, int32(len(s.trail)))
		s.trail = append(s.trail, s.now.link...)
		if len(s.now.cost) == 0 {
			return r
		}
		s.ahead = append(s.ahead, s.now.cost[0])
		if how.effort > 0 && r.tried > how.effort || ctx.Err() != nil {
			r.exact = false
			return r
		}
	}
	r.cost, r.ahead = s.now.cost[0], s.ahead
	r.taken = s.trace()
	return r
}

// step makes the states after note n of those before it, short of a cost.
func (s *sweeper) step(n int32, under float64) (tried int) {
	s.next.reset()
	s.startTable()
	from, to := s.m.candidates(n)
	for state := range int32(len(s.now.cost)) {
		words := s.now.words[state*s.stride : (state+1)*s.stride]
		if cost := s.now.cost[state] + s.m.out[n]; cost < under {
			s.shift(words, n)
			s.keep(cost, link{state, LeftOut})
			tried++
		}
		for o := from; o < to; o++ {
			if cost := s.now.cost[state] + s.m.cost[o]; cost < under && s.free(words, n, o) {
				s.shift(words, n)
				s.take(words, n, o)
				s.keep(cost, link{state, o})
				tried++
			}
		}
	}
	return tried
}

func (l *layer) reset() {
	l.words, l.cost, l.link = l.words[:0], l.cost[:0], l.link[:0]
}

// trace is the answer that led to the cheapest state.
func (s *sweeper) trace() answer {
	n := s.m.notes()
	s.taken = append(s.taken[:0], make(answer, n)...)
	state := int32(0)
	for i := n - 1; i >= 0; i-- {
		l := s.trail[s.trailAt[i]+state]
		s.taken[i], state = l.candidate, l.state
	}
	return s.taken
}
