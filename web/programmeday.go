package web

import (
	"fmt"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/place"
)

// songLine is what one song of the programme comes to.
type songLine struct {
	ID       int64
	There    bool // its pinning is still kept
	Warnings []string
	Notes    []string
	Window   timing.Window
	Crank    timing.Cranking
	Play     timing.Played // one play
	Wear     []wearLine
	Tempo    float64
	CardOK   bool
}

type wearLine struct {
	Name           string
	Trips, Strikes int
}

// dayTotals is a whole day of a programme.
type dayTotals struct {
	Plays                                int
	PlayingS, RestS, PauseS              float64
	Turns, Marbles, Trips, Pulls, Drives int
}

func (d dayTotals) all() float64 { return d.PlayingS + d.RestS + d.PauseS }

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

func (d *programmeDay) add(song store.ProgrammeSong) (songLine, error) {
	line := songLine{ID: song.PinningID, Tempo: song.TempoBPM, Crank: timing.CrankAt(d.m.File.Wheel, song.TempoBPM)}
	p, there := d.kept[song.PinningID]
	d.totals.PauseS += song.PauseMin * 60
	if !there {
		line.Warnings = []string{fmt.Sprintf("The pinning %s was removed; take it out or put another in its place. It is not counted.", song.Title)}
		return line, nil
	}
	line.There = true
	if err := d.turn.Load(p); err != nil {
		return line, err
	}
	line.Window = d.turn.Window(d.margin)
	line.CardOK = line.Window.MaxSafeBPM > 0 && song.TempoBPM <= line.Window.MaxSafeBPM
	line.Warnings = d.tempoWarnings(line.Window, song.TempoBPM)
	var resting []string
	for i := range d.m.Channels {
		if d.m.Channels[i].Resting && d.turn.PinsOn(i) > 0 {
			resting = append(resting, d.m.File.Channels[i].Name)
		}
	}
	if len(resting) > 0 {
		line.Warnings = append(line.Warnings, restingWords(resting)+" Its pins there strike nothing.")
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
		return []string{fmt.Sprintf("%s BPM is below its window, %s to %s BPM. %s", bpmWords(bpm), lowBPM(w.FromBPM), safeBPM(w.ToBPM), d.m.LowSentence(w))}
	}
	return []string{fmt.Sprintf("%s BPM is above its window, %s to %s BPM. %s", bpmWords(bpm), lowBPM(w.FromBPM), safeBPM(w.ToBPM), d.m.HighSentence(w))}
}

// changeover is what has to be done before a song, and whether the pause is long
// enough for it.
func (d *programmeDay) changeover(p *wheel.Pinning, pauseMin float64, line *songLine) error {
	before := d.before
	d.before = p
	if before == nil {
		return d.first(p, line)
	}
	if before == p {
		return nil
	}
	plan, err := place.Changeover(d.m.File, before, p, place.Options{PinsPerMin: d.rate})
	if err != nil {
		return err
	}
	d.totals.Pulls += plan.Pulls
	d.totals.Drives += plan.Drives
	work := fmt.Sprintf("The changeover from %s takes %s and %s", before.Title, counted(plan.Pulls, "pull", "pulls"), counted(plan.Drives, "drive", "drives"))
	switch {
	case plan.Minutes == nil:
		line.Notes = append(line.Notes, work+"; without a rate there is no telling how long.")
	case *plan.Minutes > pauseMin:
		line.Warnings = append(line.Warnings, fmt.Sprintf("%s, about %s; the pause before it is %s.", work, place.MinutesText(*plan.Minutes), oneDecimal(pauseMin)))
	default:
		line.Notes = append(line.Notes, fmt.Sprintf("%s, about %s; the pause of %s is enough.", work, place.MinutesText(*plan.Minutes), oneDecimal(pauseMin)))
	}
	return nil
}

// first says what it takes to put the day's first song on the wheel as it is now.
func (d *programmeDay) first(p *wheel.Pinning, line *songLine) error {
	if d.onWheel == nil {
		return nil
	}
	plan, err := place.Changeover(d.m.File, d.onWheel, p, place.Options{PinsPerMin: d.rate})
	if err != nil {
		return err
	}
	switch {
	case len(plan.List) == 0:
		line.Notes = append(line.Notes, "It is on the wheel now.")
	case plan.Minutes == nil:
		line.Notes = append(line.Notes, fmt.Sprintf("On the wheel now is %s; to put this one on it takes %s and %s.", d.onWheel.Title, counted(plan.Pulls, "pull", "pulls"), counted(plan.Drives, "drive", "drives")))
	default:
		line.Notes = append(line.Notes, fmt.Sprintf("On the wheel now is %s; to put this one on it takes %s and %s, about %s.", d.onWheel.Title, counted(plan.Pulls, "pull", "pulls"), counted(plan.Drives, "drive", "drives"), place.MinutesText(*plan.Minutes)))
	}
	return nil
}

func wearLines(m worked, wear []timing.Wear) (lines []wearLine) {
	for i, w := range wear {
		if w.Trips > 0 {
			lines = append(lines, wearLine{m.File.Channels[i].Name, w.Trips, w.Strikes})
		}
	}
	return lines
}
