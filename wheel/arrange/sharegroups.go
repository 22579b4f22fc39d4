package arrange

import (
	"cmp"
	"slices"
	"sort"

	"pinwright/wheel/internal/disjoint"
)

// sharings are the sets of channels that share notes, in the order of the
// machine file. A channel whose notes have no other choice is in none.
func sharings(mech Mechanics, notes []placedNote, periodS float64) []*sharing {
	m := mech.Description()
	lists, listOf := choiceLists(notes)
	set := disjoint.New(len(m.Channels))
	shared := make([]bool, len(set))
	for _, list := range lists {
		for _, c := range list[1:] {
			shared[c], shared[list[0]] = true, true
			set.Join(list[0], c)
		}
	}
	var all []*sharing
	of := make([]*sharing, len(set))
	for i := range set {
		if c := int32(i); shared[c] {
			r := set.Root(c)
			if of[r] == nil {
				of[r] = &sharing{turn: int32(m.Wheel.Steps), periodS: periodS}
				all = append(all, of[r])
			}
			of[c] = of[r]
			of[c].channels = append(of[c].channels, sharer{channel: c, needS: mech.Rest(i, periodS), hold: mech.Hold(i)})
		}
	}
	place := make([]int32, len(set))
	for _, g := range all {
		g.sortChannels(lists, place)
	}
	local := make([][]int32, len(lists))
	for i, list := range lists {
		for _, c := range list {
			local[i] = append(local[i], place[c])
		}
	}
	for i, n := range notes {
		if g := of[n.channel]; g != nil {
			g.notes = append(g.notes, sharedNote{i, n.aim, local[listOf[i]]})
		}
	}
	for _, g := range all {
		g.cut()
		g.given = make([]int32, len(g.notes))
		for i, n := range g.notes {
			g.given[i] = place[notes[n.index].channel]
		}
	}
	return all
}

// choiceLists are the different lists of choices, and which one each note has.
// Notes that may go to the same channels mostly have the same list in memory.
func choiceLists(notes []placedNote) (lists [][]int32, of []int32) {
	type place struct {
		first *int32
		n     int
	}
	index := map[place]int32{}
	of = make([]int32, len(notes))
	for i, n := range notes {
		at := place{&n.choices[0], len(n.choices)}
		list, ok := index[at]
		if !ok {
			list = int32(slices.IndexFunc(lists, func(l []int32) bool { return slices.Equal(l, n.choices) }))
			if list < 0 {
				list = int32(len(lists))
				lists = append(lists, n.choices)
			}
			index[at] = list
		}
		of[i] = list
	}
	return lists, of
}

// sortChannels puts channels alike next to each other and writes down the place
// of each.
func (g *sharing) sortChannels(lists [][]int32, place []int32) {
	at := map[int32]int{}
	for i, c := range g.channels {
		at[c.channel] = i
	}
	for n, list := range lists {
		for _, c := range list {
			if i, ok := at[c]; ok {
				g.channels[i].lists = append(g.channels[i].lists, n)
			}
		}
	}
	slices.SortStableFunc(g.channels, sharer.compare)
	for i, c := range g.channels {
		place[c.channel] = int32(i)
	}
}

// compare is 0 for channels alike.
func (c sharer) compare(d sharer) int {
	return cmp.Or(slices.Compare(c.lists, d.lists), cmp.Compare(c.needS, d.needS), cmp.Compare(c.hold, d.hold))
}

// cut puts the notes in order, from the end of their longest rest.
func (g *sharing) cut() {
	byAim := func(a, b sharedNote) int { return cmp.Compare(a.aim, b.aim) }
	slices.SortStableFunc(g.notes, byAim)
	first, longest := 0, int32(0)
	for i, n := range g.notes {
		prev := g.notes[(i+len(g.notes)-1)%len(g.notes)]
		rest := n.aim - prev.aim
		if i == 0 {
			rest += g.turn
		}
		if rest > longest {
			first, longest = i, rest
		}
	}
	zero := g.notes[first].aim
	for i := range g.notes {
		if g.notes[i].aim -= zero; g.notes[i].aim < 0 {
			g.notes[i].aim += g.turn
		}
	}
	slices.SortStableFunc(g.notes, byAim)
}

// steps is the fewest steps, at least 1, after which a note has a slack on a
// channel; more than a turn where none has.
func (g *sharing) steps(c int32, slackS float64) int32 {
	return 1 + int32(sort.Search(int(g.turn), func(i int) bool { return g.slack(c, int32(i)+1) >= slackS }))
}
