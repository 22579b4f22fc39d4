package arrange

import (
	"cmp"
	"slices"
)

// minding is a puzzle with some of its full steps only. Its costs are its own.
func (p *puzzle) minding(minded []bool) *puzzle {
	q := *p
	q.cost, q.step = slices.Clone(p.cost), slices.Clone(p.step)
	for o, s := range q.step {
		if s >= 0 && !minded[s] {
			q.step[o] = -1
		}
	}
	return &q
}

// overfull is the steps of which an answer takes more options than there is
// room for.
func (p *puzzle) overfull(a answer) (steps []int32) {
	taken := make([]int32, len(p.room))
	for _, o := range a {
		if o != leftOut && p.step[o] >= 0 {
			if s := p.step[o]; taken[s] == p.room[s] && !slices.Contains(steps, s) {
				steps = append(steps, s)
			} else {
				taken[s]++
			}
		}
	}
	return steps
}

// makeRoom leaves out of an answer the notes that cost the least more, until
// no step is overfull.
func (p *puzzle) makeRoom(r *solved) {
	over := p.overfull(r.answer)
	for _, s := range over {
		var on []int32
		for n, o := range r.answer {
			if o != leftOut && p.step[o] == s {
				on = append(on, int32(n))
			}
		}
		more := func(n int32) float64 { return p.out[n] - p.cost[r.answer[n]] }
		slices.SortStableFunc(on, func(a, b int32) int { return cmp.Compare(more(a), more(b)) })
		for _, n := range on[:len(on)-int(p.room[s])] {
			r.cost += more(n)
			r.answer[n] = leftOut
		}
	}
}
