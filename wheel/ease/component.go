package ease

import (
	"encoding/binary"
	"math"
	"slices"

	"pinwright/wheel/internal/disjoint"
)

// component is notes that have to do with each other and with no others, in the
// order of the wheel.
type component struct {
	notes  []int32
	from   []int32 // its candidates in the whole model
	search search
	bound  bounder // nil while none is needed
	solution
}

// bounder raises the lower bound on the cost of a component, a bit at a time. It
// reports whether going on may raise it more.
type bounder interface {
	raise(s *solver, m *model, comp *component) (more bool)
}

// decompose answers the notes that are settled by themselves and a first time,
// exactly where it can, the components that the others fall into. Components
// that are known from another round are not answered again.
func (s *solver) decompose(m *model, known map[string]*component) (settled solution, components []*component) {
	a, open := presolve(m)
	settled.answer = a
	isOpen := make([]bool, len(a))
	for _, n := range open {
		isOpen[n] = true
	}
	for n, o := range a {
		if !isOpen[n] {
			settled.cost += m.costOf(int32(n), o)
		}
	}
	settled.lower = settled.cost
	for _, notes := range connected(m, open) {
		notes = inWheelOrder(m, notes)
		part := s.cutter.cut(m, notes, nil, allConflicts)
		key := part.key(m)
		comp := known[key]
		if comp == nil {
			comp = &component{notes: notes, from: slices.Clone(part.from)}
			switch {
			case part.isChain():
				comp.solution = newChain(part).solve()
			case len(part.room) == 0:
				comp.solution = s.sweepAll(part)
			default:
				s.relaxSteps(part, comp)
			}
			known[key] = comp
		}
		components = append(components, comp)
	}
	return settled, components
}

// key is the same for two parts of a model only where they are alike: the same
// candidates and the same full steps.
func (m *model) key(whole *model) string {
	key := make([]byte, 0, 8*len(m.from))
	for k, o := range m.from {
		step := int32(-1)
		if m.step[k] >= 0 {
			step = whole.step[o]
		}
		key = binary.LittleEndian.AppendUint32(key, uint32(o))
		key = binary.LittleEndian.AppendUint32(key, uint32(step))
	}
	return string(key)
}

// with is an answer with those of components in it.
func (r *solution) with(components []*component) solution {
	all := *r
	for _, comp := range components {
		for i, o := range comp.answer {
			if o != LeftOut {
				o = comp.from[o]
			}
			all.answer[comp.notes[i]] = o
		}
		all.cost += comp.cost
		all.lower += comp.lower
	}
	return all
}

// connected is the notes that, over others, have to do with each other, each
// list in the order of open.
func connected(m *model, open []int32) [][]int32 {
	notes := disjoint.New(m.notes())
	at := make([]int32, len(m.room)) // a note with a candidate on a full step, plus 1
	for _, n := range open {
		for o, to := m.candidates(n); o < to; o++ {
			if math.IsInf(m.cost[o], 1) {
				continue
			}
			for _, f := range m.excluded(o) {
				if !math.IsInf(m.cost[f], 1) {
					notes.Join(m.note[f], n)
				}
			}
			if s := m.step[o]; s >= 0 {
				if at[s] > 0 {
					notes.Join(at[s]-1, n)
				}
				at[s] = n + 1
			}
		}
	}
	return notes.Groups(open, func(n int32) int32 { return n })
}

// inWheelOrder sorts notes in the order of the wheel. It begins where the fewest
// notes exclude any of those before them, so that the fewest bits have to be
// carried round the seam.
func inWheelOrder(m *model, notes []int32) []int32 {
	aims, turn := m.aim, m.turn
	notes = slices.Clone(notes)
	slices.SortStableFunc(notes, func(a, b int32) int { return int(aims[a] - aims[b]) })
	reach := int32(0)
	for _, n := range notes {
		for o, to := m.candidates(n); o < to; o++ {
			if math.IsInf(m.cost[o], 1) {
				continue
			}
			for _, f := range m.excluded(o) {
				if !math.IsInf(m.cost[f], 1) {
					d := (aims[m.note[f]] - aims[n] + turn) % turn
					reach = max(reach, min(d, turn-d))
				}
			}
		}
	}
	start, fewest := 0, len(notes)+1
	for i, k := 0, 0; i < len(notes); i++ { // k notes from i on are within reach before it
		for k = max(k, i); k < i+len(notes); k++ {
			ahead := aims[notes[k%len(notes)]] - aims[notes[i]]
			if k >= len(notes) {
				ahead += turn
			}
			before := aims[notes[i]] - aims[notes[(i+len(notes)-1)%len(notes)]]
			if i == 0 {
				before += turn
			}
			if ahead+before > reach {
				break
			}
		}
		if k-i < fewest {
			start, fewest = i, k-i
		}
	}
	return slices.Concat(notes[start:], notes[:start])
}
