package song

import (
	"fmt"
	"slices"
	"strconv"
)

// maxWarnings bounds what a file with much wrong in it has to say.
const maxWarnings = 50

// warnings gathers sentences of what was left out or assumed.
type warnings struct {
	list []string
	more int
}

func (w *warnings) addf(format string, args ...any) {
	if len(w.list) == maxWarnings {
		w.more++
		return
	}
	w.list = append(w.list, fmt.Sprintf(format, args...))
}

// join appends the sentences of others.
func (w *warnings) join(others warnings) {
	for _, s := range others.list {
		w.addf("%s", s)
	}
	w.more += others.more
}

func (w *warnings) clone() warnings { return warnings{slices.Clone(w.list), w.more} }

func (w *warnings) sentences() []string {
	if w.more == 0 {
		return w.list
	}
	return append(slices.Clone(w.list), fmt.Sprintf("and %s more warnings", count(int64(w.more))))
}

// count writes a number with a comma before every three digits.
func count(n int64) string {
	s := strconv.FormatInt(n, 10)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// plural writes "1 note", "1,204 notes".
func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return count(int64(n)) + " " + what + "s"
}
