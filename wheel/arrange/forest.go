package arrange

// forest groups numbers from 0 up that have to do with each other: disjoint sets
// as trees, each number with its parent (Galler and Fischer, Comm. ACM 7, 1964),
// paths halved as they are gone. The root of a set is its least number.
type forest []int32

func newForest(n int) forest {
	f := make(forest, n)
	for i := range f {
		f[i] = int32(i)
	}
	return f
}

func (f forest) root(n int32) int32 {
	for f[n] != n {
		f[n] = f[f[n]]
		n = f[n]
	}
	return n
}

func (f forest) join(a, b int32) {
	a, b = f.root(a), f.root(b)
	f[max(a, b)] = min(a, b)
}

// groups sorts items by the set that each is in, the sets in the order of their
// first items. A number below 0 is in no set, and its item is a group by itself.
func (f forest) groups(items []int32, in func(item int32) int32) [][]int32 {
	index := make(map[int32]int, len(items))
	var all [][]int32
	for _, item := range items {
		n := in(item)
		if n < 0 {
			all = append(all, []int32{item})
			continue
		}
		r := f.root(n)
		k, ok := index[r]
		if !ok {
			k = len(all)
			index[r], all = k, append(all, nil)
		}
		all[k] = append(all[k], item)
	}
	return all
}
