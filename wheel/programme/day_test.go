package programme_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/programme"
)

// mechanics has one window for every pinning. Above gateBPM the second of two
// pins of a channel a step apart fails.
type mechanics struct {
	m       *wheel.Machine
	window  wheel.TempoWindow
	gateBPM float64
}

func (f mechanics) Description() *wheel.Machine                      { return f.m }
func (f mechanics) Window(*wheel.Pinning) (wheel.TempoWindow, error) { return f.window, nil }

func (f mechanics) Missed(p *wheel.Pinning, bpm float64) ([]int, error) {
	missed := make([]int, len(f.m.Channels))
	for _, pin := range p.Pins {
		after := func(q wheel.Pin) bool { return q.Channel == pin.Channel && q.Step == pin.Step+1 }
		if bpm > f.gateBPM && slices.ContainsFunc(p.Pins, after) {
			missed[f.m.Channel(pin.Channel)]++
		}
	}
	return missed, nil
}

// At 60 BPM a turn of 64 steps, 4 to the beat, takes 16 s.
func twoSongs() (mechanics, map[int64]*wheel.Pinning) {
	f := mechanics{m: twoBars(0), gateBPM: 100, window: wheel.TempoWindow{
		FromBPM: 40.05, ToBPM: 90.07, Open: true, RedLineBPM: 95.05, KeepBelowBPM: 95.05, MaxSafeBPM: 100.07, TopBPM: 90.07, Slowest: "Any slower, a chord spreads.", Fastest: "Any faster, a gate is late.",
	}}
	return f, map[int64]*wheel.Pinning{1: stretchOf("Nine Knocks", 4, 5, 20), 2: stretchOf("Mill Race", 4, 30)}
}

func dayOf(t *testing.T, f mechanics, pinnings map[int64]*wheel.Pinning, o programme.DayOptions, songs ...programme.Song) *programme.Day {
	t.Helper()
	day, err := programme.DayOf(f, songs, pinnings, o)
	if err != nil {
		t.Fatal(err)
	}
	return day
}

// Two turns of 16 s are a play of 32 s; five plays take 160 s, with four rests of 3
// min between them. Of three pins a turn all fall at 60 BPM, 30 in ten turns; at
// 120 BPM one fails each turn, its lever is tripped all the same (worked by hand).
func TestDayAddsUpOneSong(t *testing.T) {
	f, pinnings := twoSongs()
	song := programme.Song{PinningID: 1, TempoBPM: 60, Turns: 2, Plays: 5, RestMin: 3, PauseMin: 1.5}
	day := dayOf(t, f, pinnings, programme.DayOptions{}, song)
	want := programme.Totals{Plays: 5, PlayingS: 160, RestS: 720, GapS: 90, Turns: 10, Marbles: 30, Trips: 30}
	if day.Totals != want || day.DayS() != 970 {
		t.Errorf("%+v, want %+v", day.Totals, want)
	}
	if !slices.Equal(day.Wear, []programme.Wear{{Channel: 0, Trips: 30, Strikes: 30}}) {
		t.Errorf("wear %v", day.Wear)
	}
	line := day.Lines[0]
	if line.Play.Seconds != 32 || line.Play.Marbles != 6 || len(line.Warnings) != 0 || !line.There {
		t.Errorf("%+v", line)
	}
	song.TempoBPM = 120
	day = dayOf(t, f, pinnings, programme.DayOptions{}, song)
	if day.Trips != 30 || day.Marbles != 20 || !slices.Equal(day.Wear, []programme.Wear{{Channel: 0, Trips: 30, Strikes: 20}}) {
		t.Errorf("at 120 BPM: %+v, %v", day.Totals, day.Wear)
	}
}

// Three pins of the first and two of the second have one place in common: two
// pulls and a drive, which take 3 min at one a minute, of which a pause of 2 is
// too short and one of 10 is enough.
func TestDayCountsTheGreaterOfPauseAndChangeover(t *testing.T) {
	f, pinnings := twoSongs()
	songs := func(pauseMin float64) []programme.Song {
		return []programme.Song{{PinningID: 1, TempoBPM: 60, Turns: 1, Plays: 1}, {PinningID: 2, TempoBPM: 60, Turns: 1, Plays: 1, PauseMin: pauseMin}}
	}
	for _, c := range []struct {
		pauseMin, rate float64
		gapS           float64
		changeover     string
		warns, notes   string
	}{
		{2, 1, 180, "3 minutes", "The changeover from Nine Knocks takes 2 pulls and 1 drive, about 3 minutes, but the pause for it is 2 minutes.", ""},
		{10, 1, 600, "3 minutes", "", "The changeover from Nine Knocks takes 2 pulls and 1 drive, about 3 minutes. The pause of 10 minutes is long enough."},
		{0, 1, 180, "3 minutes", "about 3 minutes, and there is no pause for it.", ""},
		{0, 0, 0, "not known", "1 drive, and there is no pause for it.", ""},
		{10, 0, 600, "not known", "", "Set a rate of changeovers to see whether the pause of 10 minutes is long enough."},
	} {
		day := dayOf(t, f, pinnings, programme.DayOptions{PinsPerMin: c.rate}, songs(c.pauseMin)...)
		if day.GapS != c.gapS || day.ChangeoverText() != c.changeover || day.Pulls != 2 || day.Drives != 1 || day.BeforeS != 0 {
			t.Errorf("pause %g, rate %g: %+v", c.pauseMin, c.rate, day.Totals)
		}
		if says := strings.Join(programme.Texts(day.Lines[1].Warnings), " "); !strings.HasSuffix(says, c.warns) || (says == "") != (c.warns == "") {
			t.Errorf("pause %g, rate %g: it warns %q", c.pauseMin, c.rate, says)
		}
		if says := strings.Join(day.Lines[1].Notes, " "); !strings.HasSuffix(says, c.notes) || (says == "") != (c.notes == "") {
			t.Errorf("pause %g, rate %g: it notes %q", c.pauseMin, c.rate, says)
		}
	}
}

// What is put on before the day begins is work, and no part of the day.
func TestDayKeepsTheWorkBeforeItApart(t *testing.T) {
	f, pinnings := twoSongs()
	song := programme.Song{PinningID: 2, TempoBPM: 60, Turns: 1, Plays: 1, PauseMin: 5}
	for _, c := range []struct {
		on     *wheel.Pinning
		rate   float64
		before float64
		says   string
		notes  string
	}{
		{nil, 1, 0, "", "What is on the wheel now is not known"},
		{pinnings[2], 1, 0, "", "This song is on the wheel already."},
		{pinnings[1], 1, 180, "Before the day begins, put this song on the wheel in place of Nine Knocks: 2 pulls and 1 drive, about 3 minutes.", ""},
		{pinnings[1], 0, 0, "Before the day begins, put this song on the wheel in place of Nine Knocks: 2 pulls and 1 drive.", ""},
	} {
		day := dayOf(t, f, pinnings, programme.DayOptions{PinsPerMin: c.rate, OnWheel: c.on}, song)
		line := day.Lines[0]
		if day.BeforeS != c.before || day.ChangeoverS != c.before || day.GapS != 300 || !strings.HasPrefix(line.Before, c.says) || (line.Before == "") != (c.says == "") {
			t.Errorf("%+v, %q", day.Totals, line.Before)
		}
		if notes := strings.Join(line.Notes, " "); !strings.HasPrefix(notes, c.notes) || len(line.Warnings) != 0 {
			t.Errorf("notes %q, warnings %q", notes, programme.Texts(line.Warnings))
		}
	}
}

func TestDayWarnsOfTempoAndRestingChannels(t *testing.T) {
	f, pinnings := twoSongs()
	distrusted := func(w *wheel.TempoWindow) {
		*w = wheel.TempoWindow{MaxSafeBPM: w.MaxSafeBPM, Closed: "There is no window.", Fastest: "No tempo can be trusted."}
	}
	unknown := func(w *wheel.TempoWindow) {
		*w = wheel.TempoWindow{Unknown: true, Closed: "There is no window.", Fastest: "Measure first: the reload of Bar a is unknown."}
	}
	for _, c := range []struct {
		bpm    float64
		window func(*wheel.TempoWindow)
		rests  bool
		says   string
	}{
		{60, nil, false, ""},
		{90.07, nil, false, ""}, // the end lies in it
		{40, nil, false, "40 BPM is below its window, 40.1 to 90 BPM. Any slower, a chord spreads."},
		{90.3, nil, false, "90.3 BPM is above its window, 40.1 to 90 BPM. Any faster, a gate is late."},
		{95.05, nil, false, "95.1 BPM is above its window, 40.1 to 90 BPM. Any faster, a gate is late."},
		{95.2, nil, false, "95.2 BPM is close: the red line is at 95 BPM and the bare limit at 100 BPM. The window for visitors is 40.1 to 90 BPM."},
		{100.07, nil, false, "100.1 BPM is close: the red line is at 95 BPM and the bare limit at 100 BPM. The window for visitors is 40.1 to 90 BPM."},
		{120, nil, false, "120 BPM is not safe: the red line is at 95 BPM and the bare limit at 100 BPM. The window for visitors is 40.1 to 90 BPM."},
		{120, func(w *wheel.TempoWindow) { w.RedLineBPM = w.MaxSafeBPM }, false, "120 BPM is not safe: the red line is at 100 BPM. The window for visitors is 40.1 to 90 BPM."},
		{60, distrusted, false, "60 BPM is close. No tempo can be trusted."},
		{120, distrusted, false, "120 BPM is not safe: the bare limit is at 100 BPM. There is no window."},
		{60, unknown, false, "Measure first: the reload of Bar a is unknown."},
		{60, func(w *wheel.TempoWindow) { w.Open, w.Closed = false, "There is no window." }, false, "There is no window. Any faster, a gate is late."},
		{60, nil, true, "Bar a is resting. The song's pins there make no sound."},
	} {
		g := f
		g.m = twoBars(0)
		if c.window != nil {
			c.window(&g.window)
		}
		g.m.Channels[1].Service = wheel.Resting // without pins: nobody's concern
		if c.rests {
			g.m.Channels[0].Service = wheel.Resting
		}
		day := dayOf(t, g, pinnings, programme.DayOptions{}, programme.Song{PinningID: 1, TempoBPM: c.bpm, Turns: 1, Plays: 1})
		if says := strings.Join(programme.Texts(day.Lines[0].Warnings), " "); says != c.says {
			t.Errorf("at %g BPM it warns %q, want %q", c.bpm, says, c.says)
		}
	}
}

// A warning knows what resolves it: a tempo inside the window, rounded towards its
// middle, or the minutes that the changeover takes; with no window the fastest for
// visitors.
func TestWarningKnowsWhatResolvesIt(t *testing.T) {
	f, pinnings := twoSongs()
	closed, slow, unknown := f, f, f
	closed.window.Open, slow.window.Open = false, false
	slow.window.TopBPM = 29 // the machine's slowest is 30: no tempo resolves it
	unknown.window = wheel.TempoWindow{Unknown: true}
	for _, c := range []struct {
		mech mechanics
		bpm  float64
		kind programme.Kind
		set  float64
	}{
		{f, 40, programme.OffWindow, 40.1}, {f, 90.3, programme.OffWindow, 90}, {f, 97, programme.Close, 90}, {f, 120, programme.NotSafe, 90},
		{closed, 60, programme.OffWindow, 0}, {closed, 97, programme.Close, 90}, {closed, 120, programme.NotSafe, 90},
		{slow, 120, programme.NotSafe, 0}, {unknown, 60, programme.Unknown, 0},
	} {
		day := dayOf(t, c.mech, pinnings, programme.DayOptions{}, programme.Song{PinningID: 1, TempoBPM: c.bpm, Turns: 1, Plays: 1})
		if w := day.Lines[0].Warnings; len(w) != 1 || w[0].Kind != c.kind || w[0].Set != c.set {
			t.Errorf("%g BPM: %+v, want kind %d resolved by %g", c.bpm, w, c.kind, c.set)
		}
	}
	// Two pulls and a drive take 3 min at one a minute; without a rate nobody knows.
	for rate, set := range map[float64]float64{1: 3, 0: 0} {
		day := dayOf(t, f, pinnings, programme.DayOptions{PinsPerMin: rate}, programme.Song{PinningID: 1, TempoBPM: 60, Turns: 1, Plays: 1}, programme.Song{PinningID: 2, TempoBPM: 60, Turns: 1, Plays: 1})
		if w := day.Lines[1].Warnings; len(w) != 1 || w[0].Kind != programme.ShortPause || w[0].Set != set {
			t.Errorf("at %g pins a minute: %+v, want a pause of %g", rate, w, set)
		}
	}
}

// Of pauses of 10, 5 and 20 minutes that of a song whose pinning is gone does not
// count, and the two around it follow each other.
func TestDayCountsNothingOfASongWhosePinningIsGone(t *testing.T) {
	f, pinnings := twoSongs()
	day := dayOf(t, f, pinnings, programme.DayOptions{PinsPerMin: 60},
		programme.Song{PinningID: 1, TempoBPM: 60, Turns: 1, Plays: 1, PauseMin: 10},
		programme.Song{PinningID: 9, Title: "Gone", TempoBPM: 60, Turns: 1, Plays: 1, PauseMin: 5},
		programme.Song{PinningID: 2, TempoBPM: 60, Turns: 1, Plays: 1, PauseMin: 20})
	if !day.Removed || day.GapS != 30*60 || day.Plays != 2 || day.Lines[1].There {
		t.Errorf("%+v", day.Totals)
	}
	if says := programme.Texts(day.Lines[1].Warnings); len(says) != 1 || !strings.HasPrefix(says[0], "The pinning Gone was removed.") {
		t.Errorf("it warns %q", says)
	}
	if work := day.Lines[2].Work; work == nil || work.From != "Nine Knocks" {
		t.Errorf("the changeover is %+v", work)
	}
}

func TestDaySaysWhatDoesNotFitTheMachine(t *testing.T) {
	f, pinnings := twoSongs()
	pinnings[2] = &wheel.Pinning{Format: wheel.PinningFormat, Title: "Lost", Pins: []wheel.Pin{{Channel: "nowhere", Step: 1}}}
	song := programme.Song{PinningID: 2, TempoBPM: 60, Turns: 1, Plays: 1}
	if _, err := programme.DayOf(f, []programme.Song{song}, pinnings, programme.DayOptions{OnWheel: pinnings[1]}); err == nil || !strings.Contains(err.Error(), "nowhere") {
		t.Errorf("%v", err)
	}
}

func TestRateIsTheProgrammesOwnOrTheCrews(t *testing.T) {
	for _, c := range []struct {
		own, crew, want float64
		says            string
	}{
		{4.5, 7, 4.5, "Changeovers are timed at 4.5 pins a minute, as set here."},
		{0, 7.26, 7.26, "Changeovers are timed at 7.3 pins a minute, the crew's rate so far."},
		{0, 5000, 1000, "Changeovers are timed at 5000 pins a minute, the crew's rate so far."},
		{0, 0, 0, "No rate of changeovers is known yet,"},
	} {
		if rate, says := programme.Rate(c.own, c.crew); rate != c.want || !strings.HasPrefix(says, c.says) {
			t.Errorf("%g and %g: %g, %q", c.own, c.crew, rate, says)
		}
	}
}

// A day of two songs, with a changeover between them.
func ExampleDayOf() {
	f, pinnings := twoSongs()
	day, err := programme.DayOf(f, []programme.Song{
		{PinningID: 1, TempoBPM: 60, Turns: 2, Plays: 3, RestMin: 1},
		{PinningID: 2, TempoBPM: 60, Turns: 2, Plays: 3, RestMin: 1, PauseMin: 10},
	}, pinnings, programme.DayOptions{PinsPerMin: 1})
	if err != nil {
		panic(err)
	}
	fmt.Printf("%g s playing, %g s of rests, %g s between songs\n", day.PlayingS, day.RestS, day.GapS)
	fmt.Printf("%d marbles; %d pins to pull and %d to drive take %s\n", day.Marbles, day.Pulls, day.Drives, day.ChangeoverText())
	// Output:
	// 192 s playing, 240 s of rests, 600 s between songs
	// 30 marbles; 2 pins to pull and 1 to drive take 3 minutes
}
