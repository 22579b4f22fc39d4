package wheel

import (
	"fmt"
	"strconv"
	"strings"
)

// Problem is one thing wrong with a file: where, and what would be right.
type Problem struct {
	Place string // as in channels[3].gate.reload_ms; empty for the whole file
	Says  string
}

func (p Problem) String() string {
	if p.Place == "" {
		return p.Says
	}
	return p.Place + " " + p.Says
}

// Problems is everything wrong with a file, in file order. It is the error of
// every reader here.
type Problems []Problem

// Error lists the problems, one a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// Err is nil where there are no problems.
func (ps Problems) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}

// Add notes a problem.
func (ps *Problems) Add(place, format string, args ...any) {
	*ps = append(*ps, Problem{place, fmt.Sprintf(format, args...)})
}

// Number writes a value as people do, with a true minus sign.
func Number(v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'g', -1, 64), "-", "−", 1)
}
