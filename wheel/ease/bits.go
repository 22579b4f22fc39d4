package ease

import (
	"math"
	"slices"
)

// prepare lays out the bits of a model.
func (s *sweeper) prepare(m *model) {
	s.m = m
	n := int32(m.notes())
	s.last = s.last[:0]
	for range m.room {
		s.last = append(s.last, -1)
	}
	for o, step := range m.step {
		if step >= 0 {
			s.last[step] = max(s.last[step], m.note[o])
		}
	}
	s.stepBit = append(s.stepBit[:0], m.room...)
	s.noteBit = s.noteBit[:0]
	bit := int32(0)
	for i := range n {
		s.noteBit = append(s.noteBit, bit)
		from, to := m.candidates(i)
		bit += to - from
		for o := from; o < to; o++ { // steps of which this is the last note
			if step := m.step[o]; step >= 0 && s.last[step] == i && !slices.Contains(m.step[from:o], step) {
				s.stepBit[step] = bit
				bit += m.room[step]
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
	for o := range int32(len(m.cost)) {
		s.mask(o)
	}
	s.maskAt = append(s.maskAt, int32(len(s.maskWord)))
	s.scratch = s.scratch[:0]
	for range s.stride {
		s.scratch = append(s.scratch, 0)
	}
}

func (s *sweeper) bitOf(o int32) int32 {
	n := s.m.note[o]
	return s.noteBit[n] + o - s.m.first[n]
}

// layOut chooses from where on bits are carried from the start, so that a
// state has the fewest words.
func (s *sweeper) layOut() {
	n := int32(s.m.notes())
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
		for o, to := s.m.candidates(i); o < to; o++ {
			conflicts := s.m.excluded(o)
			for k := len(conflicts) - 1; k >= 0 && s.bitOf(conflicts[k]) > far; k-- {
				if s.m.note[conflicts[k]] < tail {
					far = s.bitOf(conflicts[k])
					break
				}
			}
			if step := s.m.step[o]; step >= 0 && s.last[step] < tail {
				far = max(far, s.stepBit[step]+s.m.room[step]-1)
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
	n := s.m.note[o]
	for _, f := range s.m.excluded(o) {
		if s.m.note[f] <= n {
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

// free reports whether a state before note n leaves a candidate open.
func (s *sweeper) free(words []uint64, n, o int32) bool {
	if s.has(words, s.bitOf(o), n) {
		return false
	}
	step := s.m.step[o]
	return step < 0 || s.m.room[step] > 0 && !s.has(words, s.stepBit[step]+s.m.room[step]-1, n)
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

// take adds to scratch, a state after note n, what a candidate excludes.
func (s *sweeper) take(words []uint64, n, o int32) {
	for k := s.maskAt[o]; k < s.maskAt[o+1]; k++ {
		s.scratch[s.maskWord[k]] |= s.maskBits[k]
	}
	step := s.m.step[o]
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
