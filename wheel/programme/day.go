package programme

import (
	"pinwright/wheel"
	"pinwright/wheel/place"
)

// Mechanics is what a day asks of a machine's mechanics.
type Mechanics interface {
	Description() *wheel.Machine

	// Window is the tempo window of a pinning.
	Window(p *wheel.Pinning) (wheel.TempoWindow, error)

	// Missed is, by channel in the machine's file, how many of a pinning's drops
	// fail in a turn at a tempo in beats per minute.
	Missed(p *wheel.Pinning, tempoBPM float64) ([]int, error)
}

// Play is what it takes of a machine to play a pinning.
type Play struct {
	Seconds float64
	Trips   int // levers pushed
	Marbles int // marbles that drop, and have to be carried up again
	Wear    []Wear
}

// Wear is how often a channel's lever is tripped and its plate struck.
type Wear struct{ Channel, Trips, Strikes int }

// PlayOf is a play of a number of turns at a tempo in beats per minute. Every pin
// trips its lever once a turn; drops that fail strike nothing. Channels without
// pins are left out.
func PlayOf(mech Mechanics, p *wheel.Pinning, tempoBPM float64, turns int) (Play, error) {
	m := mech.Description()
	missed, err := mech.Missed(p, tempoBPM)
	if err != nil {
		return Play{}, err
	}
	pins := map[string]int{}
	for _, pin := range p.Pins {
		pins[pin.Channel]++
	}
	play := Play{Seconds: m.Wheel.CrankAt(tempoBPM).TurnS * float64(turns)}
	for c := range m.Channels {
		n := pins[m.Channels[c].ID]
		if n == 0 {
			continue
		}
		w := Wear{c, n * turns, (n - missed[c]) * turns}
		play.Trips += w.Trips
		play.Marbles += w.Strikes
		play.Wear = append(play.Wear, w)
	}
	return play, nil
}

// Line is what one song adds to a day.
type Line struct {
	Song     Song
	There    bool      // false where its pinning was removed; then only Warnings and Crank are filled in
	Warnings []Warning // what will go wrong
	Before   string    // the work before the day begins; empty where there is none
	Notes    []string
	Window   wheel.TempoWindow
	Crank    wheel.Cranking
	Play     Play        // one play
	Work     *place.Plan // the changeover before it; nil where what is on the wheel is not known
}

// Totals are a whole day. Songs whose pinning was removed are not in them, nor
// the pauses before those.
type Totals struct {
	Plays           int
	PlayingS, RestS float64
	// GapS is what lies between songs: of each pause and the changeover in it the
	// greater.
	GapS float64
	// ChangeoverS is all work of changeovers, BeforeS the part of it that is done
	// before the day begins, which is no part of the day.
	ChangeoverS, BeforeS                 float64
	RateUnknown                          bool // a changeover is not in it, for want of a rate
	Removed                              bool // a song is not in it
	Turns, Marbles, Trips, Pulls, Drives int
}

// DayS is the length of the day.
func (t *Totals) DayS() float64 { return t.PlayingS + t.RestS + t.GapS }

// Day is what a day of songs adds up to.
type Day struct {
	Lines []Line
	Totals
	Wear []Wear // of all plays; channels without pins are left out
}

// DayOptions are what a day needs to know besides its songs.
type DayOptions struct {
	PinsPerMin float64        // rate of changeovers, see [Rate]; 0: not known
	OnWheel    *wheel.Pinning // on the wheel before the day begins; nil: not known
}

// DayOf works out a day, song by song. Pinnings are by the ids that songs have; a
// song without one is not counted, and the songs around it follow each other.
func DayOf(mech Mechanics, songs []Song, pinnings map[int64]*wheel.Pinning, o DayOptions) (*Day, error) {
	m := mech.Description()
	d := &day{mech: mech, o: o, wear: make([]Wear, len(m.Channels))}
	for _, song := range songs {
		line := Line{Song: song, Crank: m.Wheel.CrankAt(song.TempoBPM)}
		var err error
		if p, there := pinnings[song.PinningID]; there {
			err = d.add(p, &line)
		} else {
			d.totals.Removed = true
			line.Warnings = []Warning{{Kind: Removed, Text: removedText(song)}}
		}
		if err != nil {
			return nil, err
		}
		d.lines = append(d.lines, line)
	}
	answer := &Day{Lines: d.lines, Totals: d.totals}
	for c, w := range d.wear {
		if w.Trips > 0 {
			answer.Wear = append(answer.Wear, Wear{c, w.Trips, w.Strikes})
		}
	}
	return answer, nil
}

// day is a day that is being worked out.
type day struct {
	mech   Mechanics
	o      DayOptions
	before *wheel.Pinning // of the song before the next one
	lines  []Line
	totals Totals
	wear   []Wear // by channel
}

func (d *day) add(p *wheel.Pinning, line *Line) (err error) {
	song := line.Song
	line.There = true
	if line.Window, err = d.mech.Window(p); err != nil {
		return err
	}
	if line.Play, err = PlayOf(d.mech, p, song.TempoBPM, song.Turns); err != nil {
		return err
	}
	line.Warnings = append(tempoWarnings(line.Window, song.TempoBPM, d.mech.Description().Limits.TempoMinBPM), restingWarnings(d.mech.Description(), line.Play.Wear)...)
	for _, w := range line.Play.Wear {
		d.wear[w.Channel].Trips += w.Trips * song.Plays
		d.wear[w.Channel].Strikes += w.Strikes * song.Plays
	}
	d.totals.Plays += song.Plays
	d.totals.PlayingS += line.Play.Seconds * float64(song.Plays)
	d.totals.RestS += song.RestMin * 60 * float64(song.Plays-1)
	d.totals.Turns += song.Turns * song.Plays
	d.totals.Marbles += line.Play.Marbles * song.Plays
	d.totals.Trips += line.Play.Trips * song.Plays
	return d.changeover(p, line)
}

// changeover is what has to be done before a song, and whether the pause is long
// enough for it. The first song is put on before the public comes: no pause is
// asked for it.
func (d *day) changeover(p *wheel.Pinning, line *Line) (err error) {
	from, first := d.before, d.before == nil
	d.before = p
	if first {
		from = d.o.OnWheel
	}
	pauseMin := line.Song.PauseMin
	if from == nil {
		line.Notes = append(line.Notes, unknownOnWheel)
		d.totals.GapS += pauseMin * 60
		return nil
	}
	if line.Work, err = place.Changeover(d.mech.Description(), from, p, place.Options{PinsPerMin: d.o.PinsPerMin}); err != nil {
		return err
	}
	minutes := 0.0
	if line.Work.Minutes != nil {
		minutes = *line.Work.Minutes
	} else if len(line.Work.List) > 0 {
		d.totals.RateUnknown = true
	}
	d.totals.Pulls += line.Work.Pulls
	d.totals.Drives += line.Work.Drives
	d.totals.ChangeoverS += minutes * 60
	if first {
		d.totals.BeforeS += minutes * 60
		d.totals.GapS += pauseMin * 60
		line.sayBeginning()
		return nil
	}
	d.totals.GapS += max(minutes, pauseMin) * 60
	line.sayGap()
	return nil
}
