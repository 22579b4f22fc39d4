package wheel

// TurnCounts is what one turn of a pinning takes from its machine.
type TurnCounts struct {
	Drops     int // pins on channels that play: a marble each
	MostTrips int // pins on the fullest step
	Fullest   int // that step, the first of several
}

// CountTurn counts a turn of a pinning that fits its machine.
func (p *Pinning) CountTurn(m *Machine) (n TurnCounts) {
	resting := make(map[string]bool, len(m.Channels))
	for i := range m.Channels {
		resting[m.Channels[i].ID] = m.Channels[i].Service == Resting
	}
	trips := make([]int, m.Wheel.Steps)
	for _, pin := range p.Pins {
		trips[pin.Step]++
		if !resting[pin.Channel] {
			n.Drops++
		}
	}
	for step, pins := range trips {
		if pins > n.MostTrips {
			n.MostTrips, n.Fullest = pins, step
		}
	}
	return n
}
