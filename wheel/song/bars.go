package song

import (
	"cmp"
	"math"
	"slices"
)

// barTicks is the length of a bar, which need not be whole:
//
//	(ticks per quarter) × 4 × numerator / denominator
func barTicks(m Meter, ticksPerQuarter float64) float64 {
	return ticksPerQuarter * 4 * float64(m.Numerator) / float64(m.Denominator)
}

// A barTable is the bars of a song and what was found in laying them.
type barTable struct {
	bars  []Bar
	full  bool  // the limit was reached before the song's end
	short []int // indices of bars that a new time signature cut short
}

// end is the tick at which the last bar ends.
func (t barTable) end() int64 {
	last := t.bars[len(t.bars)-1]
	return last.Tick + last.Ticks
}

// layBars lays bars over the ticks from 0 up to end, at most limit of them. A
// bar starts at the tick nearest to its place, halves going up, counted from
// its meter so that nothing drifts.
func layBars(meters []Meter, ticksPerQuarter float64, end int64, limit int) barTable {
	var t barTable
	for i, m := range meters {
		next := end
		if i+1 < len(meters) {
			next = min(end, meters[i+1].Tick)
		}
		length := barTicks(m, ticksPerQuarter)
		for n, tick := 1.0, m.Tick; tick < next; n++ {
			if len(t.bars) == limit {
				t.full = true
				return t
			}
			over := m.Tick + int64(math.Floor(n*length+0.5))
			if over > next && next < end {
				over = next
				t.short = append(t.short, len(t.bars))
			}
			t.bars = append(t.bars, Bar{tick, over - tick, m.Numerator, m.Denominator})
			tick = over
		}
	}
	return t
}

// inForce sorts tempos or meters by tick, has start hold from tick 0 if none
// stands there, and drops what changes nothing. Of several at one tick the last
// in the file holds.
func inForce[T any](changes []T, start T, tick func(T) int64, same func(a, b T) bool) []T {
	slices.SortStableFunc(changes, func(a, b T) int { return cmp.Compare(tick(a), tick(b)) })
	kept := []T{start}
	for i, c := range changes {
		switch {
		case i+1 < len(changes) && tick(changes[i+1]) == tick(c):
		case tick(c) == 0:
			kept[0] = c
		case !same(kept[len(kept)-1], c):
			kept = append(kept, c)
		}
	}
	return kept
}

func (t Tempo) tick() int64       { return t.Tick }
func (t Tempo) same(u Tempo) bool { return t.MicrosPerQuarter == u.MicrosPerQuarter }

func (m Meter) tick() int64 { return m.Tick }
func (m Meter) same(n Meter) bool {
	return m.Numerator == n.Numerator && m.Denominator == n.Denominator
}
