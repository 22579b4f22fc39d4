package say

import "math"

// spare is what a bound may lie beyond a tenth and still count as on it: the
// noise of turning a tempo into a period and back.
const spare = 1e-9

// Tempo writes a tempo to the nearest tenth.
func Tempo(bpm float64) string { return Rounded(bpm, 1) }

// TempoDown writes an upper bound, such as a highest safe tempo: to a tenth and
// never above it.
func TempoDown(bpm float64) string { return Number(Down(bpm)) }

// TempoUp writes a lower bound: to a tenth and never below it.
func TempoUp(bpm float64) string { return Number(Up(bpm)) }

// Down is the tenth at or below a number, of BPM or of anything else.
func Down(bpm float64) float64 { return math.Floor(bpm*10+spare) / 10 }

// Up is the tenth at or above it.
func Up(bpm float64) float64 { return math.Ceil(bpm*10-spare) / 10 }

// Within is a range of tempos to a tenth, or as finely as it takes for both ends
// to lie within the range.
func Within(from, to float64) (low, high float64) {
	for unit := 10.0; unit <= 1e6; unit *= 10 {
		low, high = math.Ceil(from*unit-spare)/unit, math.Floor(to*unit+spare)/unit
		if low <= high {
			return low, high
		}
	}
	return from, to
}

// Inward is [Within] in words.
func Inward(from, to float64) (low, high string) {
	l, h := Within(from, to)
	return Number(l), Number(h)
}

// TempoRange is [Inward] in words: "84 to 107.1".
func TempoRange(from, to float64) string {
	low, high := Inward(from, to)
	return low + " to " + high
}
