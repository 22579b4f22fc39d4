package timing

import "math/bits"

// row is one channel's pins on a wheel of n steps as bits, written twice over
// so that a turn read from any step is one run of words.
type row struct {
	words []uint64
	n     int
	pins  int
}

func newRow(n int) row { return row{words: make([]uint64, 2*n/64+2), n: n} }

func (r *row) has(step int) bool { return r.words[step>>6]>>(step&63)&1 == 1 }

func (r *row) flip(step int) {
	r.words[step>>6] ^= 1 << (step & 63)
	step += r.n
	r.words[step>>6] ^= 1 << (step & 63)
}

func (r *row) clear() {
	clear(r.words)
	r.pins = 0
}

// word is the 64 steps of the turn from step 64 i + d, d in 0 … n−1.
func (r *row) word(i, d int) uint64 {
	at := i + d>>6
	lo := r.words[at] >> (d & 63)
	if d&63 == 0 {
		return lo
	}
	return lo | r.words[at+1]<<(64-d&63)
}

// own is the 64 steps from 64 i without the second writing of the turn.
func (r *row) own(i int) uint64 {
	w := r.words[i]
	if over := (i+1)*64 - r.n; over > 0 {
		w &= ^uint64(0) >> over
	}
	return w
}

func (r *row) size() int { return (r.n + 63) / 64 }

// differ reports whether some step of r has a pin and so has, in other, the
// step d later, d in 0 … n−1.
func (r *row) differ(other *row, d int) bool {
	for i := range r.size() {
		if w := r.own(i); w != 0 && w&other.word(i, d) != 0 {
			return true
		}
	}
	return false
}

// next is the first pin at or after step, counted past the seam into the
// second turn, or −1. step is in 0 … n.
func (r *row) next(step int) int {
	i := step >> 6
	w := r.words[i] &^ (1<<(step&63) - 1)
	for w == 0 {
		if i++; i == len(r.words) {
			return -1
		}
		w = r.words[i]
	}
	return i<<6 + bits.TrailingZeros64(w)
}

// leastGap is the fewest steps between two pins that follow each other, the
// last followed by the first one turn later; 0 where there are no pins.
func (r *row) leastGap() int {
	if r.pins == 0 {
		return 0
	}
	least := r.n
	for at := r.next(0); at < r.n; {
		after := r.next(at + 1)
		least = min(least, after-at)
		at = after
	}
	return least
}
