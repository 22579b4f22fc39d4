package songs

import "testing"

// Round numbers for a scale with about eight of them.
func TestNumbersUnderTheMapAreRound(t *testing.T) {
	for n, want := range map[int]int{0: 1, 1: 1, 2: 2, 3: 4, 5: 5, 6: 10, 12: 20, 25: 40, 51: 100, 2500: 4000} {
		if got := niceStep(n); got != want {
			t.Errorf("a step for %d: %d, want %d", n, got, want)
		}
	}
}
