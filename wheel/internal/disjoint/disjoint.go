// Package disjoint groups numbers that belong together, by pairs: disjoint sets
// as trees, each number with its parent (Galler and Fischer, Comm. ACM 7, 1964),
// paths halved as they are followed.
package disjoint

// Sets are disjoint sets of the numbers from 0 up. The root of a set is its
// least number.
type Sets []int32

// New returns n sets of one number each.
func New(n int) Sets {
	s := make(Sets, n)
	for i := range s {
		s[i] = int32(i)
	}
	return s
}

// Root returns the number that stands for the set of another.
func (s Sets) Root(n int32) int32 {
	for s[n] != n {
		s[n] = s[s[n]]
		n = s[n]
	}
	return n
}

// Join makes one set of those of two numbers.
func (s Sets) Join(a, b int32) {
	a, b = s.Root(a), s.Root(b)
	s[max(a, b)] = min(a, b)
}

// Groups sorts items by the set that each is in, the sets in the order of their
// first items. A number below 0 is in no set, and its item is a group by itself.
func (s Sets) Groups(items []int32, in func(item int32) int32) [][]int32 {
	index := make(map[int32]int, len(items))
	var all [][]int32
	for _, item := range items {
		n := in(item)
		if n < 0 {
			all = append(all, []int32{item})
			continue
		}
		r := s.Root(n)
		k, ok := index[r]
		if !ok {
			k = len(all)
			index[r], all = k, append(all, nil)
		}
		all[k] = append(all[k], item)
	}
	return all
}
