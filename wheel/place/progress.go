package place

import "pinwright/wheel"

// Stop is all that is to be done at one step.
type Stop struct {
	Step  int
	Bar   int
	Beat  float64
	Moves []Move // pulls first
}

// Stops groups the plan's list by step, in its order.
func (p *Plan) Stops() []Stop {
	var stops []Stop
	for from := 0; from < len(p.List); {
		first, to := p.List[from], from
		for to < len(p.List) && p.List[to].Step == first.Step {
			to++
		}
		stops = append(stops, Stop{first.Step, first.Bar, first.Beat, p.List[from:to:to]})
		from = to
	}
	return stops
}

// Progress is how far a changeover has come, told from the pins on the wheel.
type Progress struct {
	Done    int         // moves done
	Next    int         // index in the plan's list of the first that is not; its length where all are
	Extra   []wheel.Pin // on the wheel, and neither of the old pinning nor of the new
	Missing []wheel.Pin // to stay, and not on the wheel
}

// Progress compares the plan with the pins that are on the wheel now. Nothing
// has to be noted on the way: a pull is done where there is no pin any more, a
// drive where there is one.
func (p *Plan) Progress(on []wheel.Pin) Progress {
	type hole struct {
		channel string
		step    int
	}
	there := make(map[hole]bool, len(on))
	for _, pin := range on {
		there[hole{pin.Channel, pin.Step}] = true
	}
	known := make(map[hole]bool, len(on))
	progress := Progress{Next: len(p.List)}
	for i, move := range p.List {
		h := hole{move.Channel, move.Step}
		known[h] = true
		if there[h] == (move.Do == Drive) {
			progress.Done++
		} else {
			progress.Next = min(progress.Next, i)
		}
	}
	for _, pin := range p.Target.Pins {
		h := hole{pin.Channel, pin.Step}
		if !known[h] && !there[h] {
			progress.Missing = append(progress.Missing, pin)
		}
		known[h] = true
	}
	for _, pin := range on {
		if !known[hole{pin.Channel, pin.Step}] {
			progress.Extra = append(progress.Extra, pin)
		}
	}
	return progress
}
