package place

import (
	"strings"

	"pinwright/wheel"
)

// Fits is nil where the pinning can stand on the machine's wheel. Its error
// lists what does not fit, a line each, after the words in which.
func Fits(m *wheel.Machine, p *wheel.Pinning, which string) error {
	if err := m.Check().Err(); err != nil {
		return err
	}
	problems := p.Check()
	if len(problems) == 0 {
		problems = p.CheckOn(m)
	}
	for i := range problems {
		problems[i].Place = strings.TrimSpace(which + " " + problems[i].Place)
	}
	return problems.Err()
}
