package wheel

// Nearest is the one of some words that a mistyped word was probably meant to
// be: the one with fewest changes, at most 3 and at most half its letters. It
// is empty where none is near.
func Nearest(word string, words []string) string {
	best, least := "", 4
	for _, w := range words {
		if d := changes(word, w); d < least && 2*d <= len(w) {
			best, least = w, d
		}
	}
	return best
}

// changes counts the single letters to put in, take out or replace to make b
// of a (Levenshtein 1965).
func changes(a, b string) int {
	if len(a) > 64 {
		return len(a)
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, diagonal+1)
		}
	}
	return row[len(b)]
}
