package history

import "pinwright/wheel"

// Since is what the edits after one come to. The zero value is no edits.
type Since struct {
	pins wheel.Sum
	head *wheel.Head // before its first change, nil for none
}

// Add adds what an edit changed; it follows those added before.
func (s *Since) Add(changes []wheel.PinChange, head *HeadChange) {
	s.pins.Add(changes...)
	if head != nil && s.head == nil {
		s.head = &head.Was
	}
}

// Changes is one change for each hole that the edits left with something else,
// as the wheel turns.
func (s *Since) Changes() []wheel.PinChange { return s.pins.Changes() }

// TakeBack makes of a pinning, as it is after the edits, what it was before
// them, with its pins as the wheel turns.
func (s *Since) TakeBack(p *wheel.Pinning) error {
	if err := p.Apply(wheel.Inverse(s.Changes())); err != nil {
		return misfit(p.Title, err)
	}
	if s.head != nil {
		p.SetHead(*s.head)
	}
	p.Sort()
	return nil
}
