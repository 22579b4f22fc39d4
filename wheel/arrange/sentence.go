package arrange

import (
	"fmt"

	"pinwright/wheel"
)

// whole writes a number as people do, with a true minus sign.
func whole(n int) string { return wheel.Number(float64(n)) }

// count is a number with its noun, in the plural where it is not 1.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
