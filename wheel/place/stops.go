package place

import (
	"slices"

	"pinwright/wheel"
)

// Do is what hands do at a hole.
type Do string

const (
	Pull  Do = "pull"
	Drive Do = "drive"
)

// Move is one pull or drive.
type Move struct {
	Step    int
	Bar     int
	Beat    float64 // from 1; 2.5 is half a beat after the second
	Row     int
	Channel string
	Do      Do
}

// Moves lists the pulls and drives that [Apart] finds, as the wheel turns from
// the step start; on one step by row, pulls first. All pins are on channels of
// the machine.
func Moves(m *wheel.Machine, on, to []wheel.Pin, start int) []Move {
	w := m.Wheel
	rows := make(map[string]int, len(m.Channels))
	for i := range m.Channels {
		rows[m.Channels[i].ID] = m.Channels[i].Row
	}
	pulls, drives := Apart(on, to)
	list := make([]Move, 0, len(pulls)+len(drives))
	add := func(pins []wheel.Pin, do Do) {
		for _, pin := range pins {
			bar, _, _ := w.Place(pin.Step)
			list = append(list, Move{pin.Step, bar, w.BeatOf(pin.Step), rows[pin.Channel], pin.Channel, do})
		}
	}
	add(pulls, Pull)
	add(drives, Drive)
	slices.SortFunc(list, func(x, y Move) int {
		if d := w.Wrap(x.Step-start) - w.Wrap(y.Step-start); d != 0 {
			return d
		}
		if x.Do != y.Do {
			if x.Do == Pull {
				return -1
			}
			return 1
		}
		return x.Row - y.Row
	})
	return list
}

// Stop is all that is to be done at one step.
type Stop struct {
	Step  int
	Bar   int
	Beat  float64
	Moves []Move // pulls first
}

// Stops groups the plan's list by step, in its order.
func (p *Plan) Stops() []Stop { return stops(p.List) }

func stops(list []Move) []Stop {
	var stops []Stop
	for from := 0; from < len(list); {
		first, to := list[from], from
		for to < len(list) && list[to].Step == first.Step {
			to++
		}
		stops = append(stops, Stop{first.Step, first.Bar, first.Beat, list[from:to:to]})
		from = to
	}
	return stops
}
