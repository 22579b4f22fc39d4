package arrange

import (
	"math"

	"pinwright/wheel"
)

// Remain is by how much a channel strikes late, or early if negative, when all
// that whole steps can do has been done. It counts from the middle of all
// channels with pins, half way between the earliest and the latest, as a
// common constant does not matter to the ear.
//
// What is left goes away when the lever's follower is moved: nearer to the pins
// that come by
//
//	mm = error/p × c
//
// of arc, so that a strike that is late comes sooner, farther if negative.
type Remain struct {
	Channel string // id
	MS      float64
	LeverMM float64
}

// Remains is what the advances of a pinning leave at a tempo, in file order, of
// the channels that have pins.
func Remains(mech Lags, p *wheel.Pinning, tempoBPM float64) []Remain {
	m := mech.Description()
	has := make(map[string]bool, len(m.Channels))
	for _, pin := range p.Pins {
		has[pin.Channel] = true
	}
	step := m.Wheel.StepPeriod(tempoBPM)
	remains := []Remain{}
	low, high := math.Inf(1), math.Inf(-1)
	for i := range m.Channels {
		id := m.Channels[i].ID
		if !has[id] {
			continue
		}
		reach, seconds := mech.Lag(i)
		e := step*(reach-float64(p.Advance[id])) + seconds
		low, high = min(low, e), max(high, e)
		remains = append(remains, Remain{Channel: id, MS: e})
	}
	for i := range remains {
		e := remains[i].MS - (low+high)/2
		remains[i].MS, remains[i].LeverMM = e*1000, e/step*m.Wheel.ArcMM()
	}
	return remains
}
