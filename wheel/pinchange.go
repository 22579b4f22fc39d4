package wheel

import (
	"cmp"
	"fmt"
	"slices"
)

// PinChange is what an edit does to one hole.
type PinChange struct {
	Channel string `json:"channel"`
	Step    int    `json:"step"`
	Was     InHole `json:"was,omitzero"`
	Now     InHole `json:"now,omitzero"`
}

// Drive puts a pin in a hole that has none.
func Drive(pin Pin) PinChange {
	return PinChange{Channel: pin.Channel, Step: pin.Step, Now: pin.InHole()}
}

// Pull takes a pin out of its hole.
func Pull(pin Pin) PinChange { return Inverse([]PinChange{Drive(pin)})[0] }

// hole is a place for a pin.
type hole struct {
	channel string
	step    int
}

func (c PinChange) hole() hole { return hole{c.Channel, c.Step} }

func (p Pin) hole() hole { return hole{p.Channel, p.Step} }

// Inverse returns the changes that undo changes: the last one first, each with
// Was and Now exchanged.
func Inverse(changes []PinChange) []PinChange {
	back := slices.Clone(changes)
	slices.Reverse(back)
	for i, c := range back {
		back[i].Was, back[i].Now = c.Now, c.Was
	}
	return back
}

// Sum adds up changes that follow each other. The zero value is no changes.
type Sum struct {
	at      map[hole]int // in changes
	changes []PinChange
}

// Add adds changes that follow those added before.
func (s *Sum) Add(changes ...PinChange) {
	if s.at == nil {
		s.at = map[hole]int{}
	}
	for _, c := range changes {
		if i, again := s.at[c.hole()]; again {
			s.changes[i].Now = c.Now
			continue
		}
		s.at[c.hole()] = len(s.changes)
		s.changes = append(s.changes, c)
	}
}

// Changes returns one change for each hole that holds something different in
// the end than at first, sorted as the wheel turns.
func (s *Sum) Changes() []PinChange {
	var net []PinChange
	for _, c := range s.changes {
		if c.Was != c.Now {
			net = append(net, c)
		}
	}
	slices.SortFunc(net, func(a, b PinChange) int {
		return cmp.Or(cmp.Compare(a.Step, b.Step), cmp.Compare(a.Channel, b.Channel))
	})
	return net
}

// Differences returns the changes that make the pins of b from those of a,
// sorted as the wheel turns. A pin whose aim is given and one whose aim is left
// out differ, even if they aim at the same step.
func Differences(a, b *Pinning) []PinChange {
	var s Sum
	for _, pin := range a.Pins {
		s.Add(Pull(pin))
	}
	for _, pin := range b.Pins {
		s.Add(Drive(pin))
	}
	return s.Changes()
}

// Apply makes the changes, one after the other. Pins that stay keep their
// order, and those that are driven follow them. If a hole does not hold what a
// change says it held, the pinning is not changed, and the error says where.
func (p *Pinning) Apply(changes []PinChange) error {
	holds := make(map[hole]InHole, len(changes))
	for _, c := range changes {
		holds[c.hole()] = InHole{}
	}
	for _, pin := range p.Pins {
		if _, changed := holds[pin.hole()]; changed {
			holds[pin.hole()] = pin.InHole()
		}
	}
	for i, c := range changes {
		if is := holds[c.hole()]; is != c.Was {
			return fmt.Errorf("changes[%d] is of step %d of %s with %s, and there is %s", i, c.Step, IDText(c.Channel), c.Was, is)
		}
		holds[c.hole()] = c.Now
	}
	var pins []Pin
	for _, pin := range p.Pins {
		if now, changed := holds[pin.hole()]; changed {
			if !now.Pin {
				continue
			}
			pin.Aim = now.Aim
			holds[pin.hole()] = InHole{} // it is in its place
		}
		pins = append(pins, pin)
	}
	for _, c := range changes {
		if now := holds[c.hole()]; now.Pin {
			pins = append(pins, Pin{c.Channel, c.Step, now.Aim})
			holds[c.hole()] = InHole{}
		}
	}
	p.Pins = pins
	return nil
}

// CheckChanges lists what keeps changes from being made on this machine:
// channels and steps that it does not have, aims off the wheel, and a hole
// that is changed twice.
func (m *Machine) CheckChanges(changes []PinChange) Problems {
	c := &checker{}
	if len(changes) > MaxPins {
		c.Add("changes", "has %d entries; %d at most", len(changes), MaxPins)
		return c.all()
	}
	known := make(map[string]bool, len(m.Channels))
	for i := range m.Channels {
		known[m.Channels[i].ID] = true
	}
	seen := make(map[hole]int, len(changes))
	for i, change := range changes {
		if c.found.Full() {
			break
		}
		at := func(key string) string { return fmt.Sprintf("changes[%d].%s", i, key) }
		if !known[change.Channel] {
			c.Add(at("channel"), "is %s, and %s has no such channel", Quoted(change.Channel), m.Name)
		}
		if change.Step < 0 || change.Step >= m.Wheel.Steps {
			c.Add(at("step"), "is %s; the wheel of %s has steps 0 to %d", Number(float64(change.Step)), m.Name, m.Wheel.Steps-1)
		}
		change.Was.check(c, at("was"))
		change.Now.check(c, at("now"))
		if first, twice := seen[change.hole()]; twice {
			c.Add(fmt.Sprintf("changes[%d]", i), "is of step %s of %s, which changes[%d] is already; an edit changes a hole once",
				Number(float64(change.Step)), IDText(change.Channel), first)
		} else {
			seen[change.hole()] = i
		}
	}
	return c.all()
}
