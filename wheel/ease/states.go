package ease

import (
	"math/bits"
	"slices"
)

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

// choose keeps the cheapest of the next states, up to a width, and none that is
// needless. It reports whether all could be kept; the others are merged into the
// last that is kept, or dropped.
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

// needless reports whether a state that is kept, and so costs no more, excludes
// nothing that this one does not: whatever follows this one may follow that.
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
