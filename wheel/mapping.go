package wheel

import (
	"fmt"
	"maps"
	"slices"
)

// Mapping is a pinning of one machine brought onto another: what fits, and what
// does not and why.
type Mapping struct {
	Pinning  *Pinning // what fits, as a pinning of the other machine
	Channels []MappedChannel
	Lost     int      // pins that do not fit
	Remarks  []string // sentences on what is otherwise about the two wheels
}

// MappedChannel is where the pins of one channel went.
type MappedChannel struct {
	From string // id in the pinning
	Name string // of that channel, where its machine is known; else its id
	To   string // id on the other machine; empty where none takes its pins
	Key  bool   // it was found by its key, not by its id
	Pins int
	Lost int    // of those
	Why  string // why pins of it do not fit; empty where all do
}

// Map brings a pinning onto a machine. from is the machine it was made for,
// nil where nobody knows it.
//
// A channel's pins go to the channel of the same id if, as far as is known,
// that has a key of it, else to the first channel that has a key of it, those in
// service before those that rest, and that nothing else went to. Pins stay on
// their steps and keep their aims; where the wheel has fewer steps those beyond
// the last do not fit, nor does a pin whose hole another has taken.
func Map(p *Pinning, from, to *Machine) *Mapping {
	m := &Mapping{Pinning: &Pinning{Format: PinningFormat, Title: p.Title, Machine: to.Name, TempoBPM: p.TempoBPM, BeatsPerBar: barsOn(p, from, to), Pins: []Pin{}}}
	byChannel := map[string][]Pin{}
	for _, pin := range p.Pins {
		byChannel[pin.Channel] = append(byChannel[pin.Channel], pin)
	}
	ids := slices.Sorted(maps.Keys(byChannel))
	route := routes(ids, from, to)
	taken := map[hole]bool{}
	for _, id := range ids {
		pins := byChannel[id]
		c := MappedChannel{From: id, Name: id, Pins: len(pins)}
		if from != nil {
			if i := from.Channel(id); i >= 0 {
				c.Name = from.Channels[i].Name
			}
		}
		r := route[id]
		c.To, c.Key = r.to, r.key
		if r.to == "" {
			c.Lost, c.Why = len(pins), r.why
		} else {
			m.take(&c, pins, p.Advance, to, taken)
		}
		m.Lost += c.Lost
		m.Channels = append(m.Channels, c)
	}
	m.Pinning.Sort()
	if from != nil {
		m.remark(from, to)
	}
	return m
}

// barsOn is how many beats a pinning's bars have on another machine: as many as
// on the machine it was made for.
func barsOn(p *Pinning, from, to *Machine) Count {
	if p.BeatsPerBar == 0 && from != nil && from.Wheel.BeatsPerBar != to.Wheel.BeatsPerBar {
		return Count(from.Wheel.BeatsPerBar)
	}
	return p.BeatsPerBar
}

// take moves a channel's pins to the one they go to.
func (m *Mapping) take(c *MappedChannel, pins []Pin, advance map[string]int, to *Machine, taken map[hole]bool) {
	beyond, double := 0, 0
	for _, pin := range pins {
		pin.Channel = c.To
		switch {
		case pin.Step >= to.Wheel.Steps:
			beyond++
		case taken[pin.hole()]:
			double++
		default:
			taken[pin.hole()] = true
			m.Pinning.Pins = append(m.Pinning.Pins, pin)
		}
	}
	if a, ok := advance[c.From]; ok {
		if m.Pinning.Advance == nil {
			m.Pinning.Advance = map[string]int{}
		}
		m.Pinning.Advance[c.To] = a
	}
	c.Lost = beyond + double
	switch {
	case beyond > 0:
		c.Why = fmt.Sprintf("%s of it %s beyond step %d, the last of %s", quantity(beyond, "pin"), lie(beyond), to.Wheel.Steps-1, to.Name)
	case double > 0:
		c.Why = fmt.Sprintf("%s of it would share a hole with another", quantity(double, "pin"))
	}
}

// remark says what may make the music another on the other wheel.
func (m *Mapping) remark(from, to *Machine) {
	a, b := from.Wheel, to.Wheel
	if a.Steps != b.Steps {
		m.Remarks = append(m.Remarks, fmt.Sprintf("The wheel of %s has %d steps and that of %s %d; pins stay on their steps, so the turn ends elsewhere.", from.Name, a.Steps, to.Name, b.Steps))
	}
	if a.StepsPerBeat != b.StepsPerBeat {
		m.Remarks = append(m.Remarks, fmt.Sprintf("%s has %d steps to a beat and %s %d; pins stay on their steps, so beats come at another pace.", from.Name, a.StepsPerBeat, to.Name, b.StepsPerBeat))
	}
}

// mappedTo is where a channel's pins go, or why nowhere.
type mappedTo struct {
	to  string
	key bool
	why string
}

func routes(ids []string, from, to *Machine) map[string]mappedTo {
	route := make(map[string]mappedTo, len(ids))
	used := make([]bool, len(to.Channels))
	known := func(id string) *Channel {
		if from == nil {
			return nil
		}
		if i := from.Channel(id); i >= 0 {
			return &from.Channels[i]
		}
		return nil
	}
	for _, id := range ids {
		i := to.Channel(id)
		if i < 0 {
			continue
		}
		if c := known(id); c == nil || sounds(c, &to.Channels[i]) || len(c.Keys)+len(to.Channels[i].Keys) == 0 {
			route[id] = mappedTo{to: id}
			used[i] = true
		}
	}
	for _, id := range ids {
		if route[id].to != "" {
			continue
		}
		c := known(id)
		if c == nil {
			route[id] = mappedTo{why: fmt.Sprintf("%s has no channel %s, and what key it has is not known", to.Name, IDText(id))}
			continue
		}
		route[id] = mappedTo{why: fmt.Sprintf("%s has no free channel with %s of it", to.Name, keyWords(c))}
		for _, service := range [2]Service{Playing, Resting} {
			at := slices.IndexFunc(to.Channels, func(other Channel) bool {
				return other.Service == service && !used[to.Channel(other.ID)] && sounds(c, &other)
			})
			if at >= 0 {
				route[id] = mappedTo{to: to.Channels[at].ID, key: true}
				used[at] = true
				break
			}
		}
	}
	return route
}

// sounds reports whether two channels have a key in common.
func sounds(a, b *Channel) bool {
	return a.Drum == b.Drum && slices.ContainsFunc(a.Keys, func(k int) bool { return slices.Contains(b.Keys, k) })
}

func keyWords(c *Channel) string {
	if len(c.Keys) == 1 {
		return fmt.Sprintf("the key, %d,", c.Keys[0])
	}
	return "any key"
}

func quantity(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func lie(n int) string {
	if n == 1 {
		return "lies"
	}
	return "lie"
}
