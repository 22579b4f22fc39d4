package place

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
