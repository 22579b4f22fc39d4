package page

import "pinwright/wheel"

// MachineFacts is a machine in a few figures.
type MachineFacts struct {
	ID       int64
	Name     string
	Note     string
	Channels int
	Resting  []string
	Kinds    []KindCount
	Wheel    wheel.Wheel
	ArcMM    float64
	Bars     float64 // of music in one turn
	Lanes    int
	Shared   int // lanes that more than one channel uses
	Limits   wheel.Limits
	Stock    int // marbles
}

// KindCount is how many channels of a kind there are.
type KindCount struct {
	Kind  wheel.ChannelKind
	Count int
}

// FactsOf is the figures of a machine.
func FactsOf(m Compiled) MachineFacts {
	file := m.File
	f := MachineFacts{
		ID: m.ID, Name: file.Name, Note: file.Note, Channels: len(file.Channels),
		Wheel: file.Wheel, ArcMM: file.Wheel.ArcMM(), Lanes: len(file.Lanes), Limits: file.Limits, Stock: file.Marble.Stock,
		Bars: float64(file.Wheel.Steps) / float64(file.Wheel.StepsPerBar()),
	}
	counts := map[wheel.ChannelKind]int{}
	users := map[string]int{}
	for i := range file.Channels {
		c := &file.Channels[i]
		counts[c.Kind]++
		if c.Service == wheel.Resting {
			f.Resting = append(f.Resting, c.Name)
		}
		for _, id := range c.Route() {
			users[id]++
		}
	}
	for _, kind := range wheel.ChannelKinds {
		if n := counts[kind]; n > 0 {
			f.Kinds = append(f.Kinds, KindCount{kind, n})
		}
	}
	for _, n := range users {
		if n > 1 {
			f.Shared++
		}
	}
	return f
}
