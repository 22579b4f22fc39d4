package arrange

import (
	"fmt"

	"pinwright/timing"
	"pinwright/wheel"
)

// advanceFor is the advance of every channel that has pins, by id, where it is
// not 0.
func advanceFor(w *timing.Works, pins []placedNote, tempoBPM float64) (map[string]int, error) {
	used := make([]bool, len(w.Machine.Channels))
	for _, p := range pins {
		used[p.channel] = true
	}
	var channels []int
	for i, u := range used {
		if u {
			channels = append(channels, i)
		}
	}
	adv, _ := Advances(w, channels, tempoBPM)
	var byID map[string]int
	for i, a := range adv {
		c := &w.Machine.Channels[channels[i]]
		if a > wheel.MaxSteps {
			return nil, fmt.Errorf("at %s BPM, %s would be advanced by %d steps; %d is the most, so choose a slower tempo",
				wheel.Number(tempoBPM), c.Name, a, wheel.MaxSteps)
		}
		if a != 0 {
			if byID == nil {
				byID = map[string]int{}
			}
			byID[c.ID] = a
		}
	}
	return byID, nil
}

// drive puts pins in at aim − advance, brought to the turn. An aim is written
// down only where step + advance, as it stands, is another number.
func drive(m *wheel.Machine, pins []placedNote, advance map[string]int) []wheel.Pin {
	byChannel := make([]int, len(m.Channels))
	for i := range m.Channels {
		byChannel[i] = advance[m.Channels[i].ID]
	}
	driven := make([]wheel.Pin, len(pins))
	for i, p := range pins {
		aim, a := int(p.aim), byChannel[p.channel]
		step := m.Wheel.Wrap(aim - a)
		driven[i] = wheel.Pin{Channel: m.Channels[p.channel].ID, Step: step}
		if step+a != aim {
			driven[i].Aim = wheel.AimAt(float64(aim))
		}
	}
	return driven
}
