package programme

import (
	"fmt"
	"math"

	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/say"
)

const unknownOnWheel = "What is on the wheel now is not known, nor what it takes to put this one on before the day begins."

func removedText(s Song) string {
	return fmt.Sprintf("The pinning %s was removed; take it out or put another in its place. It is not counted, nor is the pause before it.", s.Title)
}

// tempoWarnings say why a tempo lies outside a window; nothing where it lies in
// it.
func tempoWarnings(w wheel.TempoWindow, bpm float64) []string {
	switch {
	case w.Holds(bpm):
		return nil
	case !w.Open:
		return []string{w.Closed + " " + w.Fastest}
	case bpm < w.FromBPM:
		return []string{fmt.Sprintf("%s BPM is below its window, %s to %s BPM. %s", say.TempoDown(bpm), say.TempoUp(w.FromBPM), say.TempoDown(w.ToBPM), w.Slowest)}
	}
	return []string{fmt.Sprintf("%s BPM is above its window, %s to %s BPM. %s", say.TempoUp(bpm), say.TempoUp(w.FromBPM), say.TempoDown(w.ToBPM), w.Fastest)}
}

// restingWarnings name the channels that a play wears and that are out of
// service.
func restingWarnings(m *wheel.Machine, wear []Wear) []string {
	var resting []string
	for _, w := range wear {
		if c := &m.Channels[w.Channel]; c.Service == wheel.Resting {
			resting = append(resting, c.Name)
		}
	}
	if len(resting) == 0 {
		return nil
	}
	return []string{say.Resting(resting) + " Its pins there strike nothing."}
}

// sayGap says whether the pause before a song is long enough for the work in it.
func (l *Line) sayGap() {
	plan, pauseMin := l.Work, l.Song.PauseMin
	work := fmt.Sprintf("The changeover from %s takes %s", plan.From, pullsAndDrives(plan))
	warn := func(format string, a ...any) { l.Warnings = append(l.Warnings, work+fmt.Sprintf(format, a...)) }
	note := func(format string, a ...any) { l.Notes = append(l.Notes, work+fmt.Sprintf(format, a...)) }
	switch {
	case len(plan.List) == 0:
	case plan.Minutes == nil && pauseMin == 0:
		warn("; there is no pause before it, and none is too short at any rate.")
	case plan.Minutes == nil:
		note("; without a rate there is no telling whether the pause of %s is enough.", pauseText(pauseMin))
	case pauseMin == 0:
		warn(", about %s; there is no pause before it.", say.Minutes(*plan.Minutes))
	case *plan.Minutes > pauseMin+1e-9:
		need, have := apart(*plan.Minutes, pauseMin)
		warn(", about %s; the pause before it is %s.", need, have)
	default:
		note(", about %s; the pause of %s is enough.", say.Minutes(*plan.Minutes), pauseText(pauseMin))
	}
}

// sayBeginning says what it takes to put the day's first song on the wheel as it
// is now.
func (l *Line) sayBeginning() {
	switch plan := l.Work; {
	case len(plan.List) == 0:
		l.Notes = append(l.Notes, "It is on the wheel now.")
	case plan.Minutes == nil:
		l.Before = fmt.Sprintf("Before the day begins: %s. On the wheel now is %s; without a rate there is no telling how long it takes to put this one on.", pullsAndDrives(plan), plan.From)
	default:
		l.Before = fmt.Sprintf("Before the day begins: about %s. On the wheel now is %s; to put this one on it takes %s.", say.Minutes(*plan.Minutes), plan.From, pullsAndDrives(plan))
	}
}

func pullsAndDrives(p *place.Plan) string {
	return say.Count(p.Pulls, "pull", "pulls") + " and " + say.Count(p.Drives, "drive", "drives")
}

// pauseText is a pause, in minutes, to a tenth and never more than it is; from an
// hour on in whole minutes.
func pauseText(minutes float64) string {
	tenths := math.Floor(minutes*10 + 1e-9)
	if minutes >= 60 || math.Mod(tenths, 10) == 0 {
		return say.Minutes(math.Floor(tenths / 10))
	}
	return say.Number(tenths/10) + " minutes"
}

// apart is a work and the pause that is too short for it, in minutes. Where the
// two would read alike in whole minutes they have a decimal, the work's up, the
// pause's down.
func apart(need, have float64) (string, string) {
	if whole := say.Minutes(need); whole != say.Minutes(have) {
		return whole, pauseText(have)
	}
	return say.Number(math.Ceil(need*10-1e-9)/10) + " minutes", say.Number(math.Floor(have*10+1e-9)/10) + " minutes"
}

// Rate is the rate that changeovers are reckoned with, in pins a minute, and what
// it is: the programme's own or, where that is 0, the crew's past one; 0 where
// there is neither.
func Rate(own, crew float64) (pinsPerMin float64, says string) {
	switch {
	case own > 0:
		return own, fmt.Sprintf("Changeovers are reckoned at %s pins a minute, as typed here.", say.Number(own))
	case crew > 0:
		return min(crew, place.MaxPinsPerMin), fmt.Sprintf("Changeovers are reckoned at %s pins a minute, the crew's own past rate.", say.Rounded(crew, 1))
	}
	return 0, "No rate of changeovers is known yet: the crew has not pulled and driven enough pins by this program. Type one to reckon with."
}

// ChangeoverText is what all changeovers take, as far as that is known.
func (t *Totals) ChangeoverText() string {
	if t.RateUnknown {
		return "not known"
	}
	return say.Minutes(t.ChangeoverS / 60)
}
