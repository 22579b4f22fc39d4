package disjoint_test

import (
	"fmt"

	"pinwright/wheel/internal/disjoint"
)

func Example() {
	sets := disjoint.New(6)
	sets.Join(4, 1)
	sets.Join(4, 5)
	sets.Join(2, 3)
	fmt.Println(sets.Root(5))
	fmt.Println(sets.Groups([]int32{5, 3, 0, 1, 2}, func(n int32) int32 { return n }))
	// Output:
	// 1
	// [[5 1] [3 2] [0]]
}
