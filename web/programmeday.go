package web

import (
	"fmt"
	"math"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/place/cards"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// songLine is what one song of the programme comes to.
type songLine struct {
	ID       int64
	There    bool // its pinning is still kept
	Warnings []string
	Before   string // the work before the day begins; empty where there is none
	Notes    []string
	Window   timing.Window
	Crank    wheel.Cranking
	Play     timing.Played // one play
	Wear     []wearLine
	NoCard   string // why there is neither a crank card nor a visitors' screen
}

// CardOK says whether the song may have a crank card and the visitors' screen.
func (l *songLine) CardOK() bool { return l.NoCard == "" }

type wearLine struct {
	Name           string
	Trips, Strikes int
}

// dayTotals is a whole day of a programme. Songs whose pinning was removed are not
// in it, nor the pauses before them.
type dayTotals struct {
	Plays           int
	PlayingS, RestS float64
	// GapS is what lies between songs: of each pause and the changeover in it the
	// greater.
	GapS float64
	// ChangeoverS is all work of changeovers, BeforeS the part of it that is done
	// before the day begins, which is no part of the day.
	ChangeoverS, BeforeS                 float64
	Unknown                              bool // a changeover is not in it, for want of a rate
	Removed                              bool // a song is not in it
	Turns, Marbles, Trips, Pulls, Drives int
}

func (d dayTotals) all() float64 { return d.PlayingS + d.RestS + d.GapS }

// programmeDay is a day of a programme, song by song.
type programmeDay struct {
	m       worked
	margin  float64
	rate    float64
	kept    map[int64]*wheel.Pinning
	turn    *timing.Turn
	onWheel *wheel.Pinning // on the wheel now, if that is known
	before  *wheel.Pinning // in the programme before the next song
	totals  dayTotals
	wear    []timing.Wear // by channel
}

func newDay(m worked, margin, rate float64, kept map[int64]*wheel.Pinning) *programmeDay {
	return &programmeDay{m: m, margin: margin, rate: rate, kept: kept, turn: m.NewTurn(), wear: make([]timing.Wear, len(m.File.Channels))}
}

func (d *programmeDay) add(song programme.Song) (songLine, error) {
	line := songLine{ID: song.PinningID, Crank: d.m.File.Wheel.CrankAt(song.TempoBPM)}
	p, there := d.kept[song.PinningID]
	if !there {
		d.totals.Removed = true
		line.Warnings = []string{fmt.Sprintf("The pinning %s was removed; take it out or put another in its place. It is not counted, nor is the pause before it.", song.Title)}
		return line, nil
	}
	line.There = true
	if err := d.turn.Load(p); err != nil {
		return line, err
	}
	line.Window = d.turn.Window(d.margin)
	if err := cards.CheckTempo(song.TempoBPM, line.Window.MaxSafeBPM); err != nil {
		line.NoCard = err.Error()
	}
	line.Warnings = d.tempoWarnings(line.Window, song.TempoBPM)
	var resting []string
	for i := range d.m.Channels {
		if d.m.Channels[i].Resting && d.turn.PinsOn(i) > 0 {
			resting = append(resting, d.m.File.Channels[i].Name)
		}
	}
	if len(resting) > 0 {
		line.Warnings = append(line.Warnings, say.Resting(resting)+" Its pins there strike nothing.")
	}
	line.Play = d.turn.Play(song.TempoBPM, song.Turns)
	own := make([]timing.Wear, len(d.m.File.Channels))
	for _, w := range line.Play.Channels {
		own[w.Channel] = w
		d.wear[w.Channel].Trips += w.Trips * song.Plays
		d.wear[w.Channel].Strikes += w.Strikes * song.Plays
	}
	line.Wear = wearLines(d.m, own)
	d.totals.Plays += song.Plays
	d.totals.PlayingS += line.Play.Seconds * float64(song.Plays)
	d.totals.RestS += song.RestMin * 60 * float64(song.Plays-1)
	d.totals.Turns += song.Turns * song.Plays
	d.totals.Marbles += line.Play.Marbles * song.Plays
	d.totals.Trips += line.Play.Trips * song.Plays
	return line, d.changeover(p, song.PauseMin, &line)
}

func (d *programmeDay) tempoWarnings(w timing.Window, bpm float64) []string {
	switch {
	case w.Holds(bpm):
		return nil
	case !w.Open:
		return []string{d.m.ClosedSentence(w) + " " + d.m.HighSentence(w)}
	case bpm < w.FromBPM:
		return []string{fmt.Sprintf("%s BPM is below its window, %s to %s BPM. %s", say.TempoDown(bpm), say.TempoUp(w.FromBPM), say.TempoDown(w.ToBPM), d.m.LowSentence(w))}
	}
	return []string{fmt.Sprintf("%s BPM is above its window, %s to %s BPM. %s", say.TempoUp(bpm), say.TempoUp(w.FromBPM), say.TempoDown(w.ToBPM), d.m.HighSentence(w))}
}

// changeover is what has to be done before a song, and whether the pause is long
// enough for it.
func (d *programmeDay) changeover(p *wheel.Pinning, pauseMin float64, line *songLine) error {
	from, first := d.before, d.before == nil
	d.before = p
	if first {
		if from = d.onWheel; from == nil {
			line.Notes = append(line.Notes, "What is on the wheel now is not known, nor what it takes to put this one on before the day begins.")
			d.totals.GapS += pauseMin * 60
			return nil
		}
	}
	plan, err := place.Changeover(d.m.File, from, p, place.Options{PinsPerMin: d.rate})
	if err != nil {
		return err
	}
	d.totals.Pulls += plan.Pulls
	d.totals.Drives += plan.Drives
	var minutes float64
	switch {
	case plan.Minutes != nil:
		minutes = *plan.Minutes
	case len(plan.List) > 0:
		d.totals.Unknown = true
	}
	d.totals.ChangeoverS += minutes * 60
	if first {
		d.totals.BeforeS += minutes * 60
		d.totals.GapS += pauseMin * 60
		d.beginning(plan, line)
		return nil
	}
	d.totals.GapS += max(minutes, pauseMin) * 60
	gap(plan, pauseMin, line)
	return nil
}

// gap says whether the pause between two songs is long enough for the work in it.
func gap(plan *place.Plan, pauseMin float64, line *songLine) {
	work := fmt.Sprintf("The changeover from %s takes %s", plan.From, pullsAndDrives(plan))
	warn := func(format string, a ...any) { line.Warnings = append(line.Warnings, work+fmt.Sprintf(format, a...)) }
	note := func(format string, a ...any) { line.Notes = append(line.Notes, work+fmt.Sprintf(format, a...)) }
	switch {
	case len(plan.List) == 0:
	case plan.Minutes == nil && pauseMin == 0:
		warn("; there is no pause before it, and none is too short at any rate.")
	case plan.Minutes == nil:
		note("; without a rate there is no telling whether the pause of %s is enough.", pauseWords(pauseMin))
	case pauseMin == 0:
		warn(", about %s; there is no pause before it.", say.Minutes(*plan.Minutes))
	case *plan.Minutes > pauseMin+1e-9:
		need, have := toldApart(*plan.Minutes, pauseMin)
		warn(", about %s; the pause before it is %s.", need, have)
	default:
		note(", about %s; the pause of %s is enough.", say.Minutes(*plan.Minutes), pauseWords(pauseMin))
	}
}

// beginning says what it takes to put the day's first song on the wheel as it is
// now. No pause is asked for it: it is done before the public comes.
func (d *programmeDay) beginning(plan *place.Plan, line *songLine) {
	switch {
	case len(plan.List) == 0:
		line.Notes = append(line.Notes, "It is on the wheel now.")
	case plan.Minutes == nil:
		line.Before = fmt.Sprintf("Before the day begins: %s. On the wheel now is %s; without a rate there is no telling how long it takes to put this one on.", pullsAndDrives(plan), plan.From)
	default:
		line.Before = fmt.Sprintf("Before the day begins: about %s. On the wheel now is %s; to put this one on it takes %s.", say.Minutes(*plan.Minutes), plan.From, pullsAndDrives(plan))
	}
}

func pullsAndDrives(p *place.Plan) string {
	return say.Count(p.Pulls, "pull", "pulls") + " and " + say.Count(p.Drives, "drive", "drives")
}

// pauseWords is a pause as it was typed, in minutes, to a tenth and never more
// than it is; from an hour on in whole minutes.
func pauseWords(minutes float64) string {
	tenths := math.Floor(minutes*10 + 1e-9)
	if minutes >= 60 || math.Mod(tenths, 10) == 0 {
		return say.Minutes(math.Floor(tenths / 10))
	}
	return say.Number(tenths/10) + " minutes"
}

// toldApart tells a work and the pause that is too short for it. Where the two would
// read alike in whole minutes they have a decimal, the work's up, the pause's
// down.
func toldApart(need, have float64) (string, string) {
	if whole := say.Minutes(need); whole != say.Minutes(have) {
		return whole, pauseWords(have)
	}
	return say.Number(math.Ceil(need*10-1e-9)/10) + " minutes", say.Number(math.Floor(have*10+1e-9)/10) + " minutes"
}

func wearLines(m worked, wear []timing.Wear) (lines []wearLine) {
	for i, w := range wear {
		if w.Trips > 0 {
			lines = append(lines, wearLine{m.File.Channels[i].Name, w.Trips, w.Strikes})
		}
	}
	return lines
}
