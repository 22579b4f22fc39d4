package programme

import (
	"fmt"
	"math"

	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/say"
)

// Kind is what a [Warning] is about.
type Kind uint8

const (
	Removed    Kind = iota // the pinning of the song is gone
	Unknown                // a figure is unknown that the song needs: no tempo can be called safe
	NotSafe                // the tempo is above the bare limit, or none is safe
	Close                  // the tempo is above the red line and not above the bare limit, or none can be trusted
	OffWindow              // the tempo can be trusted and is outside the window for visitors
	Resting                // channels of the song are out of service
	ShortPause             // the pause is too short for the changeover
)

// Warning is something about a song of a day that will go wrong.
type Warning struct {
	Kind Kind
	Text string
	// Set is what resolves it: a tempo in BPM, or for a pause minutes. It is 0
	// where no tempo or pause is known to.
	Set float64
}

// Texts are the sentences of some warnings.
func Texts(warnings []Warning) []string {
	texts := make([]string, len(warnings))
	for i, w := range warnings {
		texts[i] = w.Text
	}
	return texts
}

const unknownOnWheel = "What is on the wheel now is not known, so the work before the day begins is not counted."

func removedText(s Song) string {
	return fmt.Sprintf("The pinning %s was removed. Take the song out, or add another in its place. Neither the song nor the pause before it is counted.", s.Title)
}

// tempoWarnings say why a tempo lies outside a window; nothing where it lies in
// it. lowestBPM is the machine's slowest.
func tempoWarnings(w wheel.TempoWindow, bpm, lowestBPM float64) []Warning {
	if w.Holds(bpm) {
		return nil
	}
	warning := Warning{Kind: kindOf(w, bpm)}
	warning.Text = offWindow(warning.Kind, w, bpm)
	if bpm > w.TopBPM*(1+wheel.TempoSlack) && w.TopBPM >= lowestBPM {
		warning.Set = say.Down(w.TopBPM)
	}
	if w.Open {
		warning.Set = TempoToAdd(w, bpm)
	}
	return []Warning{warning}
}

// kindOf is what is wrong with a tempo that a window does not hold.
func kindOf(w wheel.TempoWindow, bpm float64) Kind {
	above := func(limit float64) bool { return bpm > limit*(1+wheel.TempoSlack) }
	switch {
	case w.Unknown:
		return Unknown
	case above(w.MaxSafeBPM):
		return NotSafe
	case above(w.RedLineBPM):
		return Close
	}
	return OffWindow
}

func offWindow(kind Kind, w wheel.TempoWindow, bpm float64) string {
	switch {
	case kind == Unknown || w.MaxSafeBPM == 0:
		return w.Fastest
	case kind == NotSafe:
		return fmt.Sprintf("%s BPM is not safe: %s. %s", say.TempoUp(bpm), limitWords(w), visitorsWords(w))
	case kind == Close && w.RedLineBPM == 0:
		return fmt.Sprintf("%s BPM is close. %s", say.Tempo(bpm), w.Fastest)
	case kind == Close:
		return fmt.Sprintf("%s BPM is close: %s. %s", say.TempoUp(bpm), limitWords(w), visitorsWords(w))
	case !w.Open:
		return w.Closed + " " + w.Fastest
	case bpm < w.FromBPM:
		return fmt.Sprintf("%s BPM is below its window, %s BPM. %s", say.TempoDown(bpm), say.TempoRange(w.FromBPM, w.ToBPM), w.Slowest)
	}
	return fmt.Sprintf("%s BPM is above its window, %s BPM. %s", say.TempoUp(bpm), say.TempoRange(w.FromBPM, w.ToBPM), w.Fastest)
}

// limitWords name the red line, and the bare limit where that is another.
func limitWords(w wheel.TempoWindow) string {
	red, bare := say.TempoDown(w.RedLineBPM), say.TempoDown(w.MaxSafeBPM)
	switch w.RedLineBPM {
	case 0:
		return fmt.Sprintf("the bare limit is at %s BPM", bare)
	case w.MaxSafeBPM:
		return fmt.Sprintf("the red line is at %s BPM", red)
	}
	return fmt.Sprintf("the red line is at %s BPM and the bare limit at %s BPM", red, bare)
}

// visitorsWords say which tempos visitors have, or why none.
func visitorsWords(w wheel.TempoWindow) string {
	if !w.Open {
		return w.Closed
	}
	return fmt.Sprintf("The window for visitors is %s BPM.", say.TempoRange(w.FromBPM, w.ToBPM))
}

// restingWarnings name the channels that a play wears and that are out of
// service.
func restingWarnings(m *wheel.Machine, wear []Wear) []Warning {
	var resting []string
	for _, w := range wear {
		if c := &m.Channels[w.Channel]; c.Service == wheel.Resting {
			resting = append(resting, c.Name)
		}
	}
	if len(resting) == 0 {
		return nil
	}
	return []Warning{{Kind: Resting, Text: say.Resting(resting) + " The song's pins there make no sound."}}
}

// sayGap says whether the pause before a song is long enough for the work in it.
func (l *Line) sayGap() {
	plan, pauseMin := l.Work, l.Song.PauseMin
	work := fmt.Sprintf("The changeover from %s takes %s", plan.From, pullsAndDrives(plan))
	warn := func(set float64, format string, a ...any) {
		l.Warnings = append(l.Warnings, Warning{ShortPause, work + fmt.Sprintf(format, a...), set})
	}
	note := func(format string, a ...any) { l.Notes = append(l.Notes, work+fmt.Sprintf(format, a...)) }
	switch {
	case len(plan.List) == 0:
	case plan.Minutes == nil && pauseMin == 0:
		warn(0, ", and there is no pause for it.")
	case plan.Minutes == nil:
		note(". Set a rate of changeovers to see whether the pause of %s is long enough.", pauseText(pauseMin))
	case pauseMin == 0:
		warn(math.Ceil(*plan.Minutes-1e-9), ", about %s, and there is no pause for it.", say.Minutes(*plan.Minutes))
	case *plan.Minutes > pauseMin+1e-9:
		need, have := apart(*plan.Minutes, pauseMin)
		warn(math.Ceil(*plan.Minutes-1e-9), ", about %s, but the pause for it is %s.", need, have)
	default:
		note(", about %s. The pause of %s is long enough.", say.Minutes(*plan.Minutes), pauseText(pauseMin))
	}
}

// sayBeginning says what it takes to put the day's first song on the wheel as it
// is now.
func (l *Line) sayBeginning() {
	switch plan := l.Work; {
	case len(plan.List) == 0:
		l.Notes = append(l.Notes, "This song is on the wheel already.")
	case plan.Minutes == nil:
		l.Before = fmt.Sprintf("Before the day begins, put this song on the wheel in place of %s: %s.", plan.From, pullsAndDrives(plan))
	default:
		l.Before = fmt.Sprintf("Before the day begins, put this song on the wheel in place of %s: %s, about %s.", plan.From, pullsAndDrives(plan), say.Minutes(*plan.Minutes))
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

// Rate is the rate at which changeovers are timed, in pins a minute, and what it
// is: the programme's own or, where that is 0, the crew's past one; 0 where
// there is neither.
func Rate(own, crew float64) (pinsPerMin float64, says string) {
	switch {
	case own > 0:
		return own, fmt.Sprintf("Changeovers are timed at %s pins a minute, as set here.", say.Number(own))
	case crew > 0:
		return min(crew, place.MaxPinsPerMin), fmt.Sprintf("Changeovers are timed at %s pins a minute, the crew's rate so far.", say.Rounded(crew, 1))
	}
	return 0, "No rate of changeovers is known yet, because the crew has not pulled and driven enough pins with this program. Set one to have changeovers timed."
}

// ChangeoverText is what all changeovers take, as far as that is known.
func (t *Totals) ChangeoverText() string {
	if t.RateUnknown {
		return "not known"
	}
	return say.Minutes(t.ChangeoverS / 60)
}
