package arrange

import (
	"fmt"
	"math"

	"pinwright/wheel"
)

// advanceFor is the advance of every channel, with which those that have pins
// strike nearest together. A channel without pins has the one that brings it
// nearest to their middle, should easing move notes to it.
func advanceFor(mech Lags, pins []placedNote, tempoBPM float64) ([]int, error) {
	m := mech.Description()
	advance := make([]int, len(m.Channels))
	used := make([]bool, len(advance))
	for _, p := range pins {
		used[p.channel] = true
	}
	var channels []int
	for i, u := range used {
		if u {
			channels = append(channels, i)
		}
	}
	adv, _ := Advances(mech, channels, tempoBPM)
	step := m.Wheel.StepPeriod(tempoBPM)
	lag := func(c int) float64 { // in steps
		reach, seconds := mech.Lag(c)
		return reach + seconds/step
	}
	low, high := math.Inf(1), math.Inf(-1)
	for i, a := range adv {
		c := channels[i]
		if a > wheel.MaxSteps {
			return nil, fmt.Errorf("at %s BPM, %s would be advanced by %d steps; %d is the most, so choose a slower tempo",
				wheel.Number(tempoBPM), m.Channels[c].Name, a, wheel.MaxSteps)
		}
		advance[c] = a
		low, high = min(low, lag(c)-float64(a)), max(high, lag(c)-float64(a))
	}
	for c := range advance {
		if !used[c] && len(channels) > 0 {
			advance[c] = int(max(-wheel.MaxSteps, min(wheel.MaxSteps, math.Round(lag(c)-(low+high)/2))))
		}
	}
	return advance, nil
}

// drive puts pins in at aim − advance, brought to the turn. An aim is written
// down only where step + advance, as it stands, is another number.
func drive(m *wheel.Machine, pins []placedNote, advance []int) []wheel.Pin {
	driven := make([]wheel.Pin, len(pins))
	for i, p := range pins {
		aim, a := int(p.aim), advance[p.channel]
		step := m.Wheel.Wrap(aim - a)
		driven[i] = wheel.Pin{Channel: m.Channels[p.channel].ID, Step: step}
		if step+a != aim {
			driven[i].Aim = wheel.AimAt(float64(aim))
		}
	}
	return driven
}
