package place

import "math"

// assign gives each of k channels one of k rows so that the sum of worth(channel,
// row) is largest and, among those, most channels keep their own row. Worths are
// counts, 0 or more. It returns that sum and each channel's row.
//
// It is the shortest augmenting path method for the assignment problem with
// potentials, in O(k³) steps (Kuhn 1955; Munkres 1957; Jonker and Volgenant,
// Computing 38, 1987), on the costs −(worth × (k + 1) + 1 where the row is its
// own).
func assign(k int, worth func(channel, row int) int) (sum int, to []int) {
	to = make([]int, k)
	switch k {
	case 1:
		return worth(0, 0), to
	case 2:
		stay, swap := worth(0, 0)+worth(1, 1), worth(0, 1)+worth(1, 0)
		if swap > stay {
			return swap, []int{1, 0}
		}
		return stay, []int{0, 1}
	}
	cost := func(i, j int) int {
		c := -worth(i, j) * (k + 1)
		if i == j {
			c--
		}
		return c
	}
	// Channels and rows count from 1 here; 0 stands for none.
	byChannel, byRow := make([]int, k+1), make([]int, k+1)
	holder, before := make([]int, k+1), make([]int, k+1)
	slack, reached := make([]int, k+1), make([]bool, k+1)
	for i := 1; i <= k; i++ {
		holder[0] = i
		row := 0
		for j := range slack {
			slack[j], reached[j] = math.MaxInt, false
		}
		for holder[row] != 0 {
			reached[row] = true
			channel, next, least := holder[row], 0, math.MaxInt
			for j := 1; j <= k; j++ {
				if reached[j] {
					continue
				}
				if over := cost(channel-1, j-1) - byChannel[channel] - byRow[j]; over < slack[j] {
					slack[j], before[j] = over, row
				}
				if slack[j] < least {
					least, next = slack[j], j
				}
			}
			for j := range reached {
				if reached[j] {
					byChannel[holder[j]] += least
					byRow[j] -= least
				} else {
					slack[j] -= least
				}
			}
			row = next
		}
		for row != 0 {
			holder[row] = holder[before[row]]
			row = before[row]
		}
	}
	for j := 1; j <= k; j++ {
		to[holder[j]-1] = j - 1
	}
	for i, j := range to {
		sum += worth(i, j)
	}
	return sum, to
}
