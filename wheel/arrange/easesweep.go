package arrange

import (
	"context"
	"math"
	"math/bits"
	"slices"
)

// sweeper goes through the notes of a puzzle in their order and keeps, after
// each of them, the states that are left: a state is the set of later options
// that the notes so far exclude, with the least cost of getting there. Notes
// that are far apart do not exclude each other, so the states of a puzzle in
// the order of the wheel stay few, however many notes there are.
//
// The notes at the end of the turn may be excluded by those at its beginning:
// their bits are carried along from start to end, so the seam is no special
// case.
//
// It keeps its working memory and is not for use by two goroutines at once.
type sweeper struct {
	p       *puzzle
	noteBit []int32 // where the bits of a note begin; one more at the end
	stepBit []int32 // of a full step: its first bit; as many as it has room for
	last    []int32 // of a full step: the last note with an option there
	tail    int32   // the first note whose bits are carried from the start
	window  int32   // words of the window, before those of the tail
	stride  int32   // words of a state
	base    []int32 // by note: the word of the window's first bits

	maskAt   []int32 // by option: what it excludes of later notes
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

// link is how a state came to be: from which state, by which option.
type link struct{ state, option int32 }

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

// sameCost is how near two costs count as equal: far above rounding, far below
// what any change costs.
const sameCost = 1e-10

func (s *sweeper) sweep(ctx context.Context, p *puzzle, how sweep) swept {
	s.prepare(p)
	r := swept{exact: true, cost: math.Inf(1)}
	s.now.reset()
	s.now.words = append(s.now.words, s.scratch[:s.stride]...)
	s.now.cost = append(s.now.cost, 0)
	s.now.link = append(s.now.link, link{})
	s.trail, s.trailAt = s.trail[:0], s.trailAt[:0]
	s.ahead = append(s.ahead[:0], 0)
	for n := range int32(p.notes()) {
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

// prepare lays out the bits of a puzzle.
func (s *sweeper) prepare(p *puzzle) {
	s.p = p
	n := int32(p.notes())
	s.last = s.last[:0]
	for range p.room {
		s.last = append(s.last, -1)
	}
	for o, step := range p.step {
		if step >= 0 {
			s.last[step] = max(s.last[step], p.note[o])
		}
	}
	s.stepBit = append(s.stepBit[:0], p.room...)
	s.noteBit = s.noteBit[:0]
	bit := int32(0)
	for i := range n {
		s.noteBit = append(s.noteBit, bit)
		from, to := p.options(i)
		bit += to - from
		for o := from; o < to; o++ { // steps of which this is the last note
			if step := p.step[o]; step >= 0 && s.last[step] == i && !slices.Contains(p.step[from:o], step) {
				s.stepBit[step] = bit
				bit += p.room[step]
			}
		}
	}
	s.noteBit = append(s.noteBit, bit)
	s.layOut()
	s.base = s.base[:0]
	for i := range n + 1 {
		s.base = append(s.base, s.noteBit[min(i, s.tail)]>>6)
	}
	s.maskAt, s.maskWord, s.maskBits = s.maskAt[:0], s.maskWord[:0], s.maskBits[:0]
	for o := range int32(len(p.cost)) {
		s.mask(o)
	}
	s.maskAt = append(s.maskAt, int32(len(s.maskWord)))
	s.scratch = s.scratch[:0]
	for range s.stride {
		s.scratch = append(s.scratch, 0)
	}
}

func (s *sweeper) bitOf(o int32) int32 {
	n := s.p.note[o]
	return s.noteBit[n] + o - s.p.first[n]
}

// layOut chooses from where on bits are carried from the start, so that a
// state has the fewest words.
func (s *sweeper) layOut() {
	n := int32(s.p.notes())
	s.tail, s.stride = n, math.MaxInt32
	for back := int32(0); ; back = max(2*back, 1) {
		tail := max(n-back, 0)
		window := s.windowFor(tail)
		words := window + (s.noteBit[n]-s.noteBit[tail]+63)>>6
		if words < s.stride {
			s.tail, s.window, s.stride = tail, window, words
		}
		if tail == 0 {
			return
		}
	}
}

// windowFor is the words from a note's first bit to the furthest bit that the
// notes before it have set, short of the tail.
func (s *sweeper) windowFor(tail int32) int32 {
	far, words := int32(-1), int32(0)
	for i := range tail {
		for o, to := s.p.options(i); o < to; o++ {
			foes := s.p.excludes(o)
			for k := len(foes) - 1; k >= 0 && s.bitOf(foes[k]) > far; k-- {
				if s.p.note[foes[k]] < tail {
					far = s.bitOf(foes[k])
					break
				}
			}
			if step := s.p.step[o]; step >= 0 && s.last[step] < tail {
				far = max(far, s.stepBit[step]+s.p.room[step]-1)
			}
		}
		if next := s.noteBit[i+1] >> 6; far>>6 >= next {
			words = max(words, far>>6-next+1)
		}
	}
	return words
}

// word is where a bit stands in a state before note n.
func (s *sweeper) word(bit, n int32) (word int32, mask uint64) {
	if start := s.noteBit[s.tail]; bit >= start {
		bit -= start
		return s.window + bit>>6, 1 << (bit & 63)
	}
	return bit>>6 - s.base[n], 1 << (bit & 63)
}

func (s *sweeper) mask(o int32) {
	from := len(s.maskWord)
	s.maskAt = append(s.maskAt, int32(from))
	n := s.p.note[o]
	for _, f := range s.p.excludes(o) {
		if s.p.note[f] <= n {
			continue
		}
		word, mask := s.word(s.bitOf(f), n+1)
		if k := len(s.maskWord); k > from && s.maskWord[k-1] == word {
			s.maskBits[k-1] |= mask
		} else {
			s.maskWord, s.maskBits = append(s.maskWord, word), append(s.maskBits, mask)
		}
	}
}

// step makes the states after note n of those before it, short of a cost.
func (s *sweeper) step(n int32, under float64) (tried int) {
	s.next.reset()
	s.startTable()
	from, to := s.p.options(n)
	for state := range int32(len(s.now.cost)) {
		words := s.now.words[state*s.stride : (state+1)*s.stride]
		if cost := s.now.cost[state] + s.p.out[n]; cost < under {
			s.shift(words, n)
			s.keep(cost, link{state, leftOut})
			tried++
		}
		for o := from; o < to; o++ {
			if cost := s.now.cost[state] + s.p.cost[o]; cost < under && s.free(words, n, o) {
				s.shift(words, n)
				s.take(words, n, o)
				s.keep(cost, link{state, o})
				tried++
			}
		}
	}
	return tried
}

// free reports whether a state before note n leaves an option open.
func (s *sweeper) free(words []uint64, n, o int32) bool {
	if s.has(words, s.bitOf(o), n) {
		return false
	}
	step := s.p.step[o]
	return step < 0 || s.p.room[step] > 0 && !s.has(words, s.stepBit[step]+s.p.room[step]-1, n)
}

func (s *sweeper) has(words []uint64, bit, n int32) bool {
	word, mask := s.word(bit, n)
	if bit < s.noteBit[s.tail] && word >= s.window {
		return false
	}
	return words[word]&mask != 0
}

// shift writes to scratch a state as it is after note n was left out.
func (s *sweeper) shift(words []uint64, n int32) {
	by := s.base[n+1] - s.base[n]
	out := s.scratch
	for k := range s.window {
		out[k] = 0
		if k+by < s.window {
			out[k] = words[k+by]
		}
	}
	copy(out[s.window:], words[s.window:])
	if n+1 <= s.tail {
		if s.window > 0 {
			out[0] &= ^uint64(0) << (s.noteBit[n+1] & 63)
		}
		return
	}
	done := s.noteBit[n+1] - s.noteBit[s.tail]
	for k := s.window; k < s.window+done>>6; k++ {
		out[k] = 0
	}
	if k := s.window + done>>6; k < s.stride {
		out[k] &= ^uint64(0) << (done & 63)
	}
}

// take adds to scratch, a state after note n, what an option excludes.
func (s *sweeper) take(words []uint64, n, o int32) {
	for k := s.maskAt[o]; k < s.maskAt[o+1]; k++ {
		s.scratch[s.maskWord[k]] |= s.maskBits[k]
	}
	step := s.p.step[o]
	if step < 0 || s.last[step] == n {
		return
	}
	for bit := s.stepBit[step]; ; bit++ { // one more bit for each that is taken
		if !s.has(words, bit, n) {
			word, mask := s.word(bit, n+1)
			s.scratch[word] |= mask
			return
		}
	}
}

func (l *layer) reset() {
	l.words, l.cost, l.link = l.words[:0], l.cost[:0], l.link[:0]
}

func (s *sweeper) startTable() {
	if s.table == nil {
		s.table, s.stamp = make([]int32, 1<<10), make([]uint32, 1<<10)
	}
	if s.round++; s.round == 0 {
		clear(s.stamp)
		s.round = 1
	}
}

// keep puts the state in scratch among the next ones, unless it is there at
// no higher cost.
func (s *sweeper) keep(cost float64, l link) {
	if 2*len(s.next.cost) >= len(s.table) {
		s.growTable()
	}
	at := s.find(s.scratch)
	if s.stamp[at] == s.round {
		if i := s.table[at]; cost < s.next.cost[i] {
			s.next.cost[i], s.next.link[i] = cost, l
		}
		return
	}
	s.stamp[at], s.table[at] = s.round, int32(len(s.next.cost))
	s.next.words = append(s.next.words, s.scratch...)
	s.next.cost = append(s.next.cost, cost)
	s.next.link = append(s.next.link, l)
}

// find is the place in the table of a state, or the empty one where it goes.
func (s *sweeper) find(words []uint64) int {
	h := uint64(0x9e3779b97f4a7c15)
	for _, w := range words {
		h = bits.RotateLeft64((h^w)*0xff51afd7ed558ccd, 31)
	}
	h ^= h >> 32
	for at := int(h) & (len(s.table) - 1); ; at = (at + 1) & (len(s.table) - 1) {
		if s.stamp[at] != s.round {
			return at
		}
		i := s.table[at]
		if slices.Equal(s.next.words[i*s.stride:(i+1)*s.stride], words) {
			return at
		}
	}
}

func (s *sweeper) growTable() {
	size := 2 * len(s.table)
	s.table, s.stamp, s.round = make([]int32, size), make([]uint32, size), 1
	for i := range int32(len(s.next.cost)) {
		at := s.find(s.next.words[i*s.stride : (i+1)*s.stride])
		s.stamp[at], s.table[at] = s.round, i
	}
}

// mostCompared is how many cheaper states one is compared with: the cheapest
// are those that most often make it needless.
const mostCompared = 96

// choose keeps the next states that none at most as dear excludes a subset of,
// cheapest first, and of them as many as may be. It reports whether all could
// be kept.
func (s *sweeper) choose(width int, merge bool) (all bool) {
	s.order = s.order[:0]
	for i := range int32(len(s.next.cost)) {
		s.order = append(s.order, i)
	}
	cost := s.next.cost
	slices.SortFunc(s.order, func(a, b int32) int {
		switch {
		case cost[a] < cost[b]:
			return -1
		case cost[a] > cost[b]:
			return 1
		}
		return int(a - b)
	})
	s.now.reset()
	merged := int32(-1)
	for _, i := range s.order {
		words := s.next.words[i*s.stride : (i+1)*s.stride]
		switch {
		case s.needless(words):
			continue
		case len(s.now.cost) < width:
			s.now.words = append(s.now.words, words...)
			s.now.cost = append(s.now.cost, cost[i])
			s.now.link = append(s.now.link, s.next.link[i])
			continue
		case !merge:
			return false
		case merged < 0:
			merged = int32(width - 1)
		}
		into := s.now.words[merged*s.stride:]
		for k, w := range words {
			into[k] &= w
		}
	}
	return merged < 0
}

func (s *sweeper) needless(words []uint64) bool {
	for k := range min(int32(len(s.now.cost)), mostCompared) {
		kept := s.now.words[k*s.stride : (k+1)*s.stride]
		more := false
		for j, w := range kept {
			if w&^words[j] != 0 {
				more = true
				break
			}
		}
		if !more {
			return true
		}
	}
	return false
}

// trace is the answer that led to the cheapest state.
func (s *sweeper) trace() answer {
	n := s.p.notes()
	s.taken = append(s.taken[:0], make(answer, n)...)
	state := int32(0)
	for i := n - 1; i >= 0; i-- {
		l := s.trail[s.trailAt[i]+state]
		s.taken[i], state = l.option, l.state
	}
	return s.taken
}
