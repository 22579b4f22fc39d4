package place

import (
	"fmt"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Sentences sums the plan up for people.
func (p *Plan) Sentences(m *wheel.Machine) []string {
	says := []string{
		fmt.Sprintf("%s and %s; %s in place.", say.Count(p.Pulls, "pull", "pulls"), say.Count(p.Drives, "drive", "drives"), stays(p.Kept)),
	}
	if len(p.List) > 0 {
		says = append(says, fmt.Sprintf("One turn from step %d, always forwards.", p.Start))
	}
	if p.RotationSteps != 0 {
		says = append(says, fmt.Sprintf("%s is set %s later on the wheel: its step 0 is at step %d, %s.",
			p.To, say.Count(p.RotationSteps, "step", "steps"), p.RotationSteps, m.Wheel.PlaceText(p.RotationSteps)))
	}
	if len(p.Exchanged) > 0 {
		var pairs []string
		for _, e := range p.Exchanged[:min(len(p.Exchanged), mostExchanges)] {
			pairs = append(pairs, fmt.Sprintf("the pins of %s go to %s", e.Channel, e.To))
		}
		if more := len(p.Exchanged) - mostExchanges; more > 0 {
			pairs = append(pairs, fmt.Sprintf("and %d more", more))
		}
		says = append(says, "Exchanged: "+strings.Join(pairs, ", ")+". Those channels have mechanics of their own; check the timing again.")
	}
	if p.Saved > 0 {
		says = append(says, fmt.Sprintf("That saves %s.", say.Count(p.Saved, "pull or drive", "pulls and drives")))
	}
	switch s := p.Stock; {
	case s.Have == nil:
		says = append(says, fmt.Sprintf("%s needed. The machine's file does not say how many there are.", are(s.Needed)))
	case *s.Short > 0:
		says = append(says, fmt.Sprintf("%s needed and there are %d, on the wheel and off it: %d short.", are(s.Needed), *s.Have, *s.Short))
	default:
		says = append(says, fmt.Sprintf("%s needed of the %d there are, on the wheel and off it: %d left over.", are(s.Needed), *s.Have, *s.Left))
	}
	if p.Loose > 0 {
		says = append(says, fmt.Sprintf("Have %s at hand at the start. After that, use the pins that were pulled.", say.Count(p.Loose, "loose pin", "loose pins")))
	}
	if p.Minutes != nil {
		says = append(says, fmt.Sprintf("About %s at the rate given.", say.Minutes(*p.Minutes)))
	} else {
		says = append(says, "No rate of work is given, so there is no estimate of the time.")
	}
	return says
}

// mostExchanges is how many exchanges a sentence names.
const mostExchanges = 12

func stays(n int) string {
	if n == 1 {
		return "1 pin stays"
	}
	return fmt.Sprint(n, " pins stay")
}

func are(n int) string {
	if n == 1 {
		return "1 pin is"
	}
	return fmt.Sprint(n, " pins are")
}
