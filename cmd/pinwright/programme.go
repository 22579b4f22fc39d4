package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"pinwright/timing"
	"pinwright/timing/window"
	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

var programmeUsage = usage{
	name: "pinwright programme",
	before: `Usage: pinwright programme -machine FILE [-rate PINS] [-pause MINUTES] [-on FILE]
         [-margin PERCENT] [-json] PINNING[@BPM][xTURNS] …

Adds up a day of songs for visitors, in the order in which they are named: how
long it takes, marbles moved, levers tripped, pins pulled and driven between
songs. Warns of a tempo outside a song's window: not safe (above the bare limit),
close (above the red line) or else; of figures that have to be measured before a
song can be called safe; of channels that are resting; and of a changeover that
takes longer than the pause. A song is played at the
pinning's own tempo, for one turn of the wheel, unless it is named with another:
mill-race.json@84x3 is three turns at 84 BPM.`,
	after: `Example:
  pinwright programme -machine hailstone.json -rate 6 -pause 45 mill-race.json@80x4 nine-knocks.json@72x2

Exit status: 0 every song's tempo lies in its window; 1 one does not; 2 bad usage
or input.`,
}

// The JSON that "pinwright programme -json" answers with.
type (
	dayJSON struct {
		Machine     string        `json:"machine"`
		Margin      float64       `json:"margin"`       // the house's, a part of the red line
		PinsPerMin  *float64      `json:"pins_per_min"` // null without -rate
		OnWheel     *string       `json:"on_wheel"`     // null without -on
		DayS        float64       `json:"day_s"`
		PlayingS    float64       `json:"playing_s"`
		BetweenS    float64       `json:"between_s"`    // of each pause and the changeover in it the longer
		ChangeoverS *float64      `json:"changeover_s"` // all work; null where no rate is known and there is work
		BeforeS     *float64      `json:"before_s"`     // the part of it before the day begins
		Turns       int           `json:"turns"`
		Marbles     int           `json:"marbles"`
		Trips       int           `json:"trips"`
		Pulls       int           `json:"pulls"`
		Drives      int           `json:"drives"`
		Songs       []daySongJSON `json:"songs"`
		Wear        []wearJSON    `json:"wear"` // of channels with pins
	}

	daySongJSON struct {
		File     string          `json:"file"`
		Pinning  string          `json:"pinning"`
		TempoBPM float64         `json:"tempo_bpm"`
		Turns    int             `json:"turns"`
		PlayS    float64         `json:"play_s"`
		Marbles  int             `json:"marbles"`
		Trips    int             `json:"trips"`
		InWindow bool            `json:"in_window"`
		Window   windowJSON      `json:"window"`
		CrankRPM *float64        `json:"crank_rpm"`
		Before   *changeoverJSON `json:"before"` // the changeover before it; null where what was on the wheel is not known
		Warnings []string        `json:"warnings"`
		Notes    []string        `json:"notes"`
	}

	changeoverJSON struct {
		From    string   `json:"from"`
		Pulls   int      `json:"pulls"`
		Drives  int      `json:"drives"`
		Minutes *float64 `json:"minutes"` // null without a rate
	}

	wearJSON struct {
		Channel string `json:"channel"`
		Trips   int    `json:"trips"`
		Strikes int    `json:"strikes"`
	}
)

// songArg is one song as it is named in the arguments.
type songArg struct {
	path  string
	bpm   float64 // 0: the pinning's own
	turns int
}

// readSongArg reads PINNING[@BPM][xTURNS]. A file whose own name ends like that
// is named with what follows it, or by a path that ends otherwise.
func readSongArg(arg string) (songArg, error) {
	a := songArg{path: arg, turns: 1}
	if at := strings.LastIndexByte(a.path, 'x'); at > 0 && isDigits(a.path[at+1:]) {
		n, err := strconv.Atoi(a.path[at+1:])
		if err != nil || n < 1 || n > programme.MaxTurns {
			return a, fmt.Errorf("%s: after x stands %s; turns are a whole number from 1 to %d", arg, a.path[at+1:], programme.MaxTurns)
		}
		a.path, a.turns = a.path[:at], n
	}
	at := strings.LastIndexByte(a.path, '@')
	if at < 0 {
		return a, nil
	}
	bpm, err := strconv.ParseFloat(a.path[at+1:], 64)
	if err != nil || !(bpm >= 1 && bpm <= wheel.MaxTempoBPM) {
		if _, errFile := os.Stat(arg); errFile == nil {
			return songArg{path: arg, turns: 1}, nil // the @ belongs to the file's name
		}
		return a, fmt.Errorf("%s: after @ stands %s; a tempo is a number from 1 to %d BPM", arg, cmp.Or(a.path[at+1:], "nothing"), wheel.MaxTempoBPM)
	}
	if at == 0 {
		return a, fmt.Errorf("%s: before @ there is no file; write PINNING@BPM", arg)
	}
	a.path, a.bpm = a.path[:at], bpm
	return a, nil
}

func isDigits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

func programmeCommand(_ context.Context, args []string, stdout, stderr io.Writer) int {
	u := programmeUsage
	fs := newFlags(u)
	machine := fs.String("machine", "", "the machine `FILE`")
	rate := numberFlag(fs, "rate", "pins pulled and driven in a minute, `PINS`; without it changeovers take no time", "a rate in pins a minute", 0, place.MinPinsPerMin, place.MaxPinsPerMin)
	pause := numberFlag(fs, "pause", "the pause between two songs, in `MINUTES`; 0 if left out", "a pause in minutes", 0, 0, programme.MaxPauseMin)
	on := fs.String("on", "", "the pinning `FILE` that is on the wheel before the day begins")
	margin := marginFlag(fs)
	asJSON := fs.Bool("json", false, "answer with one JSON object, in full precision")
	args, named := arguments(fs, args, programme.MaxSongs+1)
	if status, ok := u.parse(fs, args, stdout, stderr); !ok {
		return status
	}
	if !u.needs(fs, stderr, "machine") {
		return refused
	}
	switch {
	case len(named) == 0:
		return u.misused(stderr, "no pinning is named; name the day's songs in their order")
	case len(named) > programme.MaxSongs:
		return u.misused(stderr, "more than %d songs are named; a day has %d at most", programme.MaxSongs, programme.MaxSongs)
	}
	songs := make([]songArg, len(named))
	for i, arg := range named {
		var err error
		if songs[i], err = readSongArg(arg); err != nil {
			return u.misused(stderr, "%s", err)
		}
	}
	in := inputs{stderr: stderr}
	w := input(&in, *machine, readMachine)
	pinnings := dayPinnings{in: &in, byPath: map[string]*wheel.Pinning{}, byID: map[int64]*wheel.Pinning{}}
	for _, s := range songs {
		pinnings.read(s.path)
	}
	var onWheel *wheel.Pinning
	if *on != "" {
		onWheel = pinnings.read(*on)
	}
	if in.failed || !pinnings.fit(w.Machine, *machine) {
		return refused
	}
	list := make([]programme.Song, len(songs))
	for i, s := range songs {
		p := pinnings.byPath[s.path]
		bpm := cmp.Or(s.bpm, p.TempoBPM)
		if bpm == 0 {
			return u.misused(stderr, "%s has no tempo_bpm; write %s@BPM", s.path, s.path)
		}
		list[i] = programme.Song{PinningID: pinnings.id(s.path), Title: p.Title, TempoBPM: bpm, Turns: s.turns, Plays: 1}
		if i > 0 {
			list[i].PauseMin = *pause
		}
	}
	o := programme.DayOptions{PinsPerMin: *rate, OnWheel: onWheel}
	day, err := programme.DayOf(window.House{Works: w, Margin: margin()}, list, pinnings.byID, o)
	if err != nil {
		return complain(stderr, *machine, err)
	}
	status := done
	for _, line := range day.Lines {
		if !line.Window.Holds(line.Song.TempoBPM) {
			status = findings
		}
	}
	if *asJSON {
		return answerJSON(stdout, stderr, dayAnswer(w, day, songs, o, margin()), status)
	}
	return answer(stdout, stderr, dayText(w.Machine, day), status)
}

// dayPinnings are the pinnings of a day, each file once. A song's id is the place
// of its file among them.
type dayPinnings struct {
	in     *inputs
	paths  []string
	byPath map[string]*wheel.Pinning
	byID   map[int64]*wheel.Pinning
}

func (d *dayPinnings) id(path string) int64 { return int64(slices.Index(d.paths, path) + 1) }

func (d *dayPinnings) read(path string) *wheel.Pinning {
	if _, ok := d.byPath[path]; !ok {
		d.paths = append(d.paths, path)
		d.byPath[path] = input(d.in, path, readPinning)
		d.byID[d.id(path)] = d.byPath[path]
	}
	return d.byPath[path]
}

// fit says which of the pinnings do not fit the machine.
func (d *dayPinnings) fit(m *wheel.Machine, machinePath string) bool {
	ok := true
	for _, path := range d.paths {
		if err := d.byPath[path].CheckOn(m).Err(); err != nil {
			complain(d.in.stderr, path, err)
			ok = false
			continue
		}
		remarkOnMachine(d.in.stderr, m, d.byPath[path], machinePath, path)
	}
	return ok
}

func dayAnswer(w *timing.Works, day *programme.Day, songs []songArg, o programme.DayOptions, margin float64) dayJSON {
	m := w.Machine
	a := dayJSON{
		Machine: m.Name, Margin: margin, DayS: day.DayS(), PlayingS: day.PlayingS, BetweenS: day.GapS,
		Turns: day.Turns, Marbles: day.Marbles, Trips: day.Trips, Pulls: day.Pulls, Drives: day.Drives,
		Songs: make([]daySongJSON, len(day.Lines)), Wear: make([]wearJSON, len(day.Wear)),
	}
	if o.PinsPerMin > 0 {
		a.PinsPerMin = &o.PinsPerMin
	}
	if o.OnWheel != nil {
		a.OnWheel = &o.OnWheel.Title
	}
	if !day.RateUnknown {
		a.ChangeoverS, a.BeforeS = &day.ChangeoverS, &day.BeforeS
	}
	for i, l := range day.Lines {
		s := daySongJSON{
			File: songs[i].path, Pinning: l.Song.Title, TempoBPM: l.Song.TempoBPM, Turns: l.Song.Turns,
			PlayS: l.Play.Seconds, Marbles: l.Play.Marbles, Trips: l.Play.Trips,
			InWindow: l.Window.Holds(l.Song.TempoBPM), Window: windowOf(m, l.Window),
			Warnings: programme.Texts(l.Warnings), Notes: append([]string{}, l.Notes...),
		}
		if l.Crank.Turns > 0 {
			s.CrankRPM = &l.Crank.Turns
		}
		if l.Work != nil {
			s.Before = &changeoverJSON{l.Work.From, l.Work.Pulls, l.Work.Drives, l.Work.Minutes}
		}
		a.Songs[i] = s
	}
	for i, wear := range day.Wear {
		a.Wear[i] = wearJSON{m.Channels[wear.Channel].ID, wear.Trips, wear.Strikes}
	}
	return a
}

func dayText(m *wheel.Machine, day *programme.Day) string {
	var b strings.Builder
	fmt.Fprintf(&b, "A day of %s on %s\n\n", say.Count(len(day.Lines), "song", "songs"), m.Name)
	for i, l := range day.Lines {
		fmt.Fprintf(&b, "%d  %s, %s BPM, %s, %s\n", i+1, l.Song.Title, say.Tempo(l.Song.TempoBPM), say.Count(l.Song.Turns, "turn", "turns"), say.Span(l.Play.Seconds))
		for _, w := range l.Warnings {
			fmt.Fprintf(&b, "   Warning: %s\n", w.Text)
		}
		if l.Before != "" {
			fmt.Fprintf(&b, "   %s\n", l.Before)
		}
		for _, says := range l.Notes {
			fmt.Fprintf(&b, "   %s\n", says)
		}
	}
	b.WriteByte('\n')
	tw := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	row := func(what, is string) { fmt.Fprintf(tw, "%s\t%s\n", what, is) }
	row("The day", say.Span(day.DayS()))
	row("  playing", say.Span(day.PlayingS))
	row("  between songs", say.Span(day.GapS))
	row("Changeovers", day.ChangeoverText())
	if day.BeforeS > 0 {
		row("  before the day begins", say.Minutes(day.BeforeS/60))
	}
	row("Turns of the wheel", strconv.Itoa(day.Turns))
	row("Marbles moved", strconv.Itoa(day.Marbles))
	row("Levers tripped", strconv.Itoa(day.Trips))
	row("Pulls and drives", fmt.Sprintf("%d and %d", day.Pulls, day.Drives))
	if len(day.Wear) > 0 {
		most := slices.MaxFunc(day.Wear, func(a, b programme.Wear) int { return cmp.Compare(a.Trips, b.Trips) })
		row("Most worn", fmt.Sprintf("%s: %s, %s", m.Channels[most.Channel].Name, say.Count(most.Trips, "trip", "trips"), say.Count(most.Strikes, "strike", "strikes")))
	}
	tw.Flush()
	if day.RateUnknown {
		b.WriteString("\nWithout -rate changeovers take no time here.\n")
	}
	return b.String()
}
