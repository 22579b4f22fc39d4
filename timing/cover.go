package timing

import "slices"

// span is an open interval of step periods that a rule forbids, in seconds.
// Its cause is the rule at its upper end: as the tempo rises the period
// falls, and that end is where the hand first meets it.
type span struct {
	from, to float64
	cause    cause
}

// cause is a rule and where it bites; −1 where something does not apply.
type cause struct {
	rule                 uint8 // place in the list of rules
	channel, other, lane int32
}

// cover is a union of open intervals, sorted and disjoint. Intervals that
// touch are kept as one: the single tempo between them is no band.
type cover struct{ spans []span }

func (c *cover) reset() { c.spans = c.spans[:0] }

// find is the first span that ends at or after p.
func (c *cover) find(p float64) int {
	lo, hi := 0, len(c.spans)
	for lo < hi {
		mid := int(uint(lo+hi) >> 1)
		if c.spans[mid].to < p {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// holds reports whether the whole of an interval is covered already.
func (c *cover) holds(from, to float64) bool {
	i := c.find(to)
	return i < len(c.spans) && c.spans[i].from <= from
}

func (c *cover) add(s span) {
	i := c.find(s.from)
	j := i
	for j < len(c.spans) && c.spans[j].from <= s.to {
		s.from = min(s.from, c.spans[j].from)
		if c.spans[j].to >= s.to {
			s.to, s.cause = c.spans[j].to, c.spans[j].cause
		}
		j++
	}
	if i == j {
		c.spans = slices.Insert(c.spans, i, s)
		return
	}
	c.spans[i] = s
	c.spans = slices.Delete(c.spans, i+1, j)
}
