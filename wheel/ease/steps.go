package ease

import (
	"cmp"
	"slices"
)

// withSteps is a model with some of its full steps only. Its costs are its own.
func (m *model) withSteps(active []bool) *model {
	q := *m
	q.cost, q.step = slices.Clone(m.cost), slices.Clone(m.step)
	for o, s := range q.step {
		if s >= 0 && !active[s] {
			q.step[o] = -1
		}
	}
	return &q
}

// overfull returns the steps on which an answer takes more candidates than they
// have room for.
func (m *model) overfull(a answer) (steps []int32) {
	taken := make([]int32, len(m.room))
	for _, o := range a {
		if o != LeftOut && m.step[o] >= 0 {
			if s := m.step[o]; taken[s] == m.room[s] && !slices.Contains(steps, s) {
				steps = append(steps, s)
			} else {
				taken[s]++
			}
		}
	}
	return steps
}

// makeRoom leaves notes out of an answer, those first that cost the least when
// left out, until no step is overfull.
func (m *model) makeRoom(r *solution) {
	over := m.overfull(r.answer)
	for _, s := range over {
		var on []int32
		for n, o := range r.answer {
			if o != LeftOut && m.step[o] == s {
				on = append(on, int32(n))
			}
		}
		more := func(n int32) float64 { return m.out[n] - m.cost[r.answer[n]] }
		slices.SortStableFunc(on, func(a, b int32) int { return cmp.Compare(more(a), more(b)) })
		for _, n := range on[:len(on)-int(m.room[s])] {
			r.cost += more(n)
			r.answer[n] = LeftOut
		}
	}
}
