package ease

import "slices"

// model is a problem, or a part of one, in the form in which it is solved: flat
// lists, and for each candidate those that it excludes. Every note takes one of
// its candidates at a cost or is left out at a cost; candidates of different
// notes may exclude each other, and a full step has room for only some of those
// that want it.
type model struct {
	// By note.
	first []int32   // note i has the candidates first[i] … first[i+1] − 1
	out   []float64 // what leaving it out costs
	aim   []int32   // the step at which it should sound

	// By candidate.
	cost      []float64 // +Inf for one that is gone
	note      []int32
	channel   []int32
	later     []int32 // steps from the note's aim to where it sounds
	step      []int32 // which full step it is on, or −1
	at        []int32 // candidate k excludes conflicts[at[k]:at[k+1]]
	candidate []int32 // of the problem: its index in its note
	from      []int32 // of a part: the candidate of the whole

	conflicts []int32 // candidates, ascending for each that excludes them
	room      []int32 // by full step: how many of its candidates may be taken
	gap       []int32 // by channel: least steps from one of its notes to the next
	turn      int32   // steps of the wheel
}

// answer is the candidate that each note takes, or LeftOut.
type answer []int32

func (m *model) notes() int { return len(m.out) }

func (m *model) candidates(note int32) (from, to int32) { return m.first[note], m.first[note+1] }

// excluded is the candidates that one excludes, ascending.
func (m *model) excluded(o int32) []int32 { return m.conflicts[m.at[o]:m.at[o+1]] }

// costOf is what a note costs that takes a candidate.
func (m *model) costOf(note, candidate int32) float64 {
	if candidate == LeftOut {
		return m.out[note]
	}
	return m.cost[candidate]
}

// sum is what an answer costs.
func (m *model) sum(a answer) float64 {
	sum := 0.0
	for n, o := range a {
		sum += m.costOf(int32(n), o)
	}
	return sum
}

// allowed reports whether no candidates of an answer exclude each other and no
// step is overfull.
func (m *model) allowed(a answer) bool {
	for _, o := range a {
		if o == LeftOut {
			continue
		}
		for _, f := range m.excluded(o) {
			if a[m.note[f]] == f {
				return false
			}
		}
	}
	return len(m.overfull(a)) == 0
}

// clone is a copy that shares nothing with m.
func (m *model) clone() *model {
	return &model{
		first: slices.Clone(m.first), out: slices.Clone(m.out), aim: slices.Clone(m.aim), cost: slices.Clone(m.cost),
		note: slices.Clone(m.note), channel: slices.Clone(m.channel), later: slices.Clone(m.later), step: slices.Clone(m.step),
		room: slices.Clone(m.room), at: slices.Clone(m.at), conflicts: slices.Clone(m.conflicts), from: slices.Clone(m.from),
		gap: m.gap, turn: m.turn,
	}
}
