package arrange

import (
	"math"
	"slices"
	"sort"
)

// mostShareWork bounds the search of [share] over all its notes, in numbers
// looked at, and mostDeadlines what it keeps, in numbers.
const (
	mostShareWork = 1 << 25
	mostDeadlines = 1 << 23
)

// shareSearch finds out whether the notes of a sharing can keep so many steps apart
// on each channel.
//
// It goes through the notes backward and keeps, before each, the deadlines that
// allow all that follow to be placed: for every channel the step by which it has
// to be free, never where it is not wanted before its rest is over anyway. Later
// deadlines are better, so only sets of deadlines are kept that no other beats
// on every channel. Channels alike in their notes, needs and last deadlines
// change places freely, so theirs are kept in order.
type shareSearch struct {
	gaps   []int32 // per channel
	layers []span  // of deadlines, before each note and after the last
	kept   []int32 // the deadlines of all layers
	runs   []span  // of channels that are alike
	set    []int32 // for one set of deadlines
}

// span is from … to − 1.
type span struct{ from, to int }

const never = math.MaxInt32

// widest returns an assignment of which the least slack is the largest there
// is, or the largest found. ok is false where the search is beyond its bound
// before it has found any.
func (g *sharing) widest() (assigned []int32, ok bool) {
	least := math.Inf(1)
	for c, ring := range g.rings(g.given) {
		for i, n := range ring {
			least = min(least, g.slack(int32(c), g.gap(n, ring[(i+1)%len(ring)])))
		}
	}
	if assigned, ok = g.keeping(least); !ok {
		return nil, false
	}
	// The least slack is D p − l(c) for some whole D and channel c.
	for i := range g.channels {
		c := int32(i)
		if slices.ContainsFunc(g.channels[:i], func(d sharer) bool {
			return d.needS == g.channels[i].needS && d.hold == g.channels[i].hold
		}) {
			continue
		}
		reach := func(d int32) bool {
			better, ok := g.keeping(g.slack(c, d))
			if ok {
				assigned, least = better, g.slack(c, d)
			}
			return ok
		}
		d := 1 + int32(sort.Search(int(g.turn), func(i int) bool { return g.slack(c, int32(i)+1) > least }))
		if d > g.turn || !reach(d) {
			continue
		}
		far, stride := g.turn+1, int32(1)
		for d+stride < far {
			if !reach(d + stride) {
				far = d + stride
				break
			}
			d, stride = d+stride, 2*stride
		}
		for far-d > 1 {
			if mid := d + (far-d)/2; reach(mid) {
				d = mid
			} else {
				far = mid
			}
		}
	}
	return assigned, true
}

// keeping returns an assignment in which no slack is smaller than one. ok is
// false where there is none or the search is beyond its bound.
//
// The turn closes where every channel's last note leaves its first one of the
// next turn enough rest. It supposes the steps of the first notes, at first no
// bound at all, and looks which the notes then allow; where they do not allow
// what was supposed, it supposes the sooner of the two, for each way that they
// allow. Every answer has its first notes no later than some supposed ones, so
// none is missed, and steps get sooner only so often.
func (g *sharing) keeping(slackS float64) (assigned []int32, ok bool) {
	se := &g.search
	se.gaps = se.gaps[:0]
	for c := range g.channels {
		se.gaps = append(se.gaps, g.steps(int32(c), slackS))
	}
	k := len(g.channels)
	supposed := [][]int32{slices.Repeat([]int32{never}, k)}
	tried := slices.Clone(supposed)
	for len(supposed) > 0 && g.work > 0 {
		first := supposed[len(supposed)-1]
		supposed = supposed[:len(supposed)-1]
		if !g.allow(first) {
			continue
		}
		allowed := se.layers[0]
		if g.meets(first, allowed) {
			return g.walk(first), true
		}
		for at := allowed.to - k; at >= allowed.from; at -= k {
			sooner := slices.Clone(first)
			for c := range sooner {
				sooner[c] = min(sooner[c], se.kept[at+c])
			}
			g.work -= k * len(tried)
			if !slices.ContainsFunc(tried, func(v []int32) bool { return slices.Equal(v, sooner) }) {
				tried, supposed = append(tried, sooner), append(supposed, sooner)
			}
		}
	}
	return nil, false
}

// allow works out the deadlines before every note, given the steps of the first
// notes of the next turn. It is false where there are none.
func (g *sharing) allow(first []int32) bool {
	se, k, n := &g.search, len(first), len(g.notes)
	g.findRuns(first)
	se.kept = append(se.kept[:0], first...)
	for c := range se.kept {
		if se.kept[c] != never {
			se.kept[c] += g.turn
		}
	}
	se.layers = slices.Grow(se.layers[:0], n+1)[:n+1]
	se.layers[n] = span{0, k}
	for i := n - 1; i >= 0; i-- {
		note, before := &g.notes[i], g.notes[(i+n-1)%n].aim
		if i == 0 {
			before -= g.turn
		}
		layer := span{len(se.kept), len(se.kept)}
		for at := se.layers[i+1].from; at < se.layers[i+1].to; at += k {
			for _, c := range note.choices {
				if se.gaps[c] > g.turn || se.kept[at+int(c)] < note.aim+se.gaps[c] {
					continue
				}
				se.kept = append(se.kept, se.kept[at:at+k]...)
				v := se.kept[layer.to:]
				v[c] = note.aim
				for j := range v {
					if v[j] >= before+se.gaps[j] {
						v[j] = never
					}
				}
				g.order(v)
				layer.to = g.keepBest(layer)
				se.kept = se.kept[:layer.to]
			}
		}
		se.layers[i] = layer
		if len(se.kept) > mostDeadlines {
			g.work = 0
		}
		if layer.from == layer.to || g.work <= 0 {
			return false
		}
	}
	return true
}

// findRuns finds the channels that are alike with the first notes given.
func (g *sharing) findRuns(first []int32) {
	se := &g.search
	se.runs = se.runs[:0]
	for from := 0; from < len(first); {
		to := from + 1
		for to < len(first) && first[to] == first[from] && g.channels[to].compare(g.channels[from]) == 0 {
			to++
		}
		if to > from+1 {
			se.runs = append(se.runs, span{from, to})
		}
		from = to
	}
}

// order puts the numbers of channels alike in order.
func (g *sharing) order(v []int32) {
	for _, r := range g.search.runs {
		slices.Sort(v[r.from:r.to])
	}
}

// keepBest compares the deadlines that follow a layer with those in it and
// returns where the layer then ends: with them, unless some others are no
// sooner, and without those that they beat.
func (g *sharing) keepBest(layer span) (to int) {
	kept, k := g.search.kept, len(g.channels)
	v := kept[layer.to : layer.to+k]
	g.work -= k + (layer.to - layer.from)
	to = layer.from
	for at := layer.from; at < layer.to; at += k {
		old := kept[at : at+k]
		if noLater(v, old) {
			return layer.to
		}
		if noLater(old, v) {
			continue
		}
		if to != at {
			copy(kept[to:], old)
		}
		to += k
	}
	copy(kept[to:], v)
	return to + k
}

// noLater reports whether v is no later than w on any channel.
func noLater(v, w []int32) bool {
	for c := range v {
		if v[c] > w[c] {
			return false
		}
	}
	return true
}

// meets reports whether channels that are free from the steps v on meet some
// deadlines of a layer.
func (g *sharing) meets(v []int32, layer span) bool {
	k := len(v)
	g.work -= layer.to - layer.from
	for at := layer.from; at < layer.to; at += k {
		if noLater(v, g.search.kept[at:at+k]) {
			return true
		}
	}
	return false
}

// walk goes through the notes forward, within the deadlines of allow, and gives
// each to the channel that then has the largest slack, the first in the file of
// equal ones. The second time round it knows the last notes of the turn before.
func (g *sharing) walk(first []int32) (assigned []int32) {
	se, k := &g.search, len(first)
	assigned = make([]int32, len(g.notes))
	last := slices.Repeat([]int32{-g.turn}, k)
	free := make([]int32, k)
	se.set = slices.Grow(se.set[:0], k)[:k]
	for range 2 {
		for c := range free {
			if free[c] = first[c]; free[c] == never {
				free[c] = g.notes[len(g.notes)-1].aim + se.gaps[c] - g.turn
			}
		}
		for i := range g.notes {
			note := &g.notes[i]
			best, rest := int32(-1), math.Inf(-1)
			for _, c := range note.choices {
				if se.gaps[c] > g.turn || free[c] > note.aim {
					continue
				}
				slack := g.slack(c, note.aim-last[c])
				if slack < rest || slack == rest && g.channels[c].channel > g.channels[best].channel {
					continue
				}
				copy(se.set, free)
				se.set[c] = note.aim + se.gaps[c]
				g.order(se.set)
				if g.meets(se.set, se.layers[i+1]) {
					best, rest = c, slack
				}
			}
			assigned[i], last[best], free[best] = best, note.aim, note.aim+se.gaps[best]
		}
		for c := range last {
			last[c] = max(last[c]-g.turn, -g.turn)
		}
	}
	return assigned
}
