package timing

// Played is what it takes of a machine to play a pinning.
type Played struct {
	Seconds  float64
	Trips    int // levers pushed
	Marbles  int // marbles that drop, and have to be carried up again
	Channels []Wear
}

// Wear is how often a channel's lever is tripped and its plate struck.
type Wear struct{ Channel, Trips, Strikes int }

// Play is so many turns of the pinning last loaded at a tempo in beats per
// minute. Every pin trips its lever once a turn; drops that fail, see
// [Turn.AsPlayed], strike nothing. Channels without pins are left out.
func (t *Turn) Play(bpm float64, turns int) Played {
	m := t.works.Machine
	p := Played{Seconds: m.Wheel.CrankAt(bpm).TurnS * float64(turns)}
	missed := make([]int, len(m.Channels))
	for _, s := range t.AsPlayed(bpm, nil) {
		if s.Missed {
			missed[s.Channel]++
		}
	}
	for i := range m.Channels {
		pins := t.PinsOn(i)
		if pins == 0 {
			continue
		}
		w := Wear{i, pins * turns, (pins - missed[i]) * turns}
		p.Trips += w.Trips
		p.Marbles += w.Strikes
		p.Channels = append(p.Channels, w)
	}
	return p
}
