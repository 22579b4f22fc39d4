package wheel

import (
	"fmt"
	"maps"
	"math"
	"slices"
)

// Check lists everything wrong with the pinning that can be seen without its
// machine.
func (p *Pinning) Check() Problems { return p.CheckAfter(nil) }

// CheckAfter lists what could not be read and, after it, everything wrong with
// the rest.
func (p *Pinning) CheckAfter(unread Problems) Problems {
	c := &checker{unread: unread}
	if !c.format(p.Format, "pinning", PinningFormat) {
		return c.found
	}
	c.title("title", p.Title)
	c.line("machine", p.Machine)
	if p.TempoBPM != 0 {
		c.within("tempo_bpm", p.TempoBPM, 1, MaxTempoBPM, "tempo")
	}
	p.checkCounts(c)
	for _, id := range slices.Sorted(maps.Keys(p.Advance)) {
		if a := p.Advance[id]; a < -MaxSteps || a > MaxSteps {
			c.Add("advance."+IDText(id), "is %s; an advance is −%d to %d steps", Number(float64(a)), MaxSteps, MaxSteps)
		}
	}
	p.checkPins(c)
	return c.all()
}

func (p *Pinning) checkPins(c *checker) {
	switch {
	case !c.read("pins"):
		return
	case len(p.Pins) > MaxPins:
		c.Add("pins", "has %d pins; %d at most", len(p.Pins), MaxPins)
		return
	}
	type hole struct {
		channel string
		step    int
	}
	seen := make(map[hole]int, min(len(p.Pins), 1<<12))
	for i, pin := range p.Pins {
		if c.found.Full() {
			return
		}
		at := func(key string) string { return fmt.Sprintf("pins[%d].%s", i, key) }
		if pin.Channel == "" {
			c.Add(at("channel"), "is missing; it cannot be empty")
		}
		if pin.Step < 0 {
			c.Add(at("step"), "is %s; steps count from 0", Number(float64(pin.Step)))
		}
		if pin.Aim.Given && !(math.Abs(pin.Aim.Step) <= 4*MaxSteps) {
			c.Add(at("aim"), "is %s; it should be a step of the wheel", Number(pin.Aim.Step))
		}
		if pin.Channel == "" || len(c.unread) > 0 && !(c.read(at("channel")) && c.read(at("step"))) {
			continue
		}
		h := hole{pin.Channel, pin.Step}
		if first, twice := seen[h]; !twice {
			seen[h] = i
		} else {
			c.Add(fmt.Sprintf("pins[%d]", i), "is at step %s of %s, where pins[%d] is already; a hole takes one pin",
				Number(float64(pin.Step)), IDText(pin.Channel), first)
		}
	}
}

// CheckOn lists what keeps the pinning from this machine: channels and steps
// that it does not have, and beats of another length.
func (p *Pinning) CheckOn(m *Machine) Problems {
	c := &checker{}
	if q := int(p.StepsPerBeat); q != 0 && q != m.Wheel.StepsPerBeat {
		c.Add("steps_per_beat", "is %d, and the wheel of %s has %d steps to a beat; a pinning has to have the same", q, m.Name, m.Wheel.StepsPerBeat)
	}
	known := make(map[string]bool, len(m.Channels))
	for i := range m.Channels {
		known[m.Channels[i].ID] = true
	}
	for _, id := range slices.Sorted(maps.Keys(p.Advance)) {
		if !known[id] {
			c.Add("advance."+IDText(id), "is for a channel that %s does not have", m.Name)
		}
	}
	for i, pin := range p.Pins {
		if c.found.Full() {
			break
		}
		if !known[pin.Channel] {
			c.Add(fmt.Sprintf("pins[%d].channel", i), "is %s, and %s has no such channel", Quoted(pin.Channel), m.Name)
		}
		if pin.Step < 0 || pin.Step >= m.Wheel.Steps {
			c.Add(fmt.Sprintf("pins[%d].step", i), "is %s; the wheel of %s has steps 0 to %d", Number(float64(pin.Step)), m.Name, m.Wheel.Steps-1)
		}
	}
	return c.all()
}
