package timing

import (
	"errors"
	"fmt"
	"strings"

	"pinwright/wheel"
)

// Set is [wheel.Set], by the name that the pages use.
type Set = wheel.Set

// With works the machine out with figures changed for a trial. The machine
// itself stays as it is. The error is a sentence that names the path and says
// what is wrong: no such figure, a value out of range, or a machine that would
// not work, such as a marble that stalls.
func (w *Works) With(sets ...wheel.Set) (*Works, error) {
	m, err := w.Machine.WithSets(sets...)
	if err == nil {
		w, err = compile(m, w.rules.all)
	}
	var problems wheel.Problems
	if !errors.As(err, &problems) {
		if err != nil {
			return nil, err
		}
		return w, nil
	}
	var tried []string
	for _, s := range sets {
		if s.Path == problems[0].Place {
			return nil, problems[:1].Err()
		}
		tried = append(tried, fmt.Sprintf("%s at %s", s.Path, wheel.Number(s.Value)))
	}
	return nil, wheel.RefuseFor(wheel.ErrInvalid, problems[:1], "with %s, %s", strings.Join(tried, " and "), problems[0])
}
