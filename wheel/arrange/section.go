package arrange

import (
	"fmt"
	"math"
	"sort"

	"pinwright/wheel"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// Section is a run of whole bars of a song.
type Section struct {
	FromBar int // counted from 1
	Bars    int
	Tick    int64   // where it starts
	EndTick int64   // where the bar after it starts
	Steps   float64 // its length on the wheel; it need not be whole

	ticks float64 // its length as music, not rounded to whole ticks
}

func (sec Section) String() string {
	if sec.Bars == 1 {
		return fmt.Sprintf("bar %d", sec.FromBar)
	}
	return fmt.Sprintf("bars %d to %d", sec.FromBar, sec.FromBar+sec.Bars-1)
}

// BeatsPerBar is how many beats each bar of the section has, a beat being a
// quarter note; 0 where its bars differ, or are not of whole beats.
func (sec Section) BeatsPerBar(s *song.Song) int {
	if sec.FromBar < 1 || sec.Bars < 1 {
		return 0
	}
	bars := s.Bars[sec.FromBar-1 : sec.FromBar-1+sec.Bars]
	beats := 4 * bars[0].Numerator / max(bars[0].Denominator, 1)
	for _, b := range bars {
		if 4*b.Numerator != beats*b.Denominator {
			return 0
		}
	}
	if beats > wheel.MaxBeatsPerBar {
		return 0
	}
	return beats
}

// notes returns the notes that start in the section.
func (sec Section) notes(s *song.Song) []song.Note {
	first := sort.Search(len(s.Notes), func(i int) bool { return s.Notes[i].Tick >= sec.Tick })
	end := sort.Search(len(s.Notes), func(i int) bool { return s.Notes[i].Tick >= sec.EndTick })
	return s.Notes[first:end]
}

// Fits returns, for every bar of the song, the longest section from there that
// the wheel holds. Where not even that bar fits, Bars is 0.
func Fits(m *wheel.Machine, s *song.Song) []Section {
	if !hasTime(s) {
		return nil
	}
	r := ruler{s.TicksPerQuarter, float64(m.Wheel.StepsPerBeat)}
	sections := make([]Section, len(s.Bars))
	var l length
	end := 0
	for i := range s.Bars {
		if end < i {
			l, end = length{}, i
		}
		for end < len(s.Bars) {
			longer := l.plus(r.bar(s.Bars[end]))
			if r.steps(longer) > float64(m.Wheel.Steps) {
				break
			}
			l = longer
			end++
		}
		sections[i] = Section{FromBar: i + 1, Bars: end - i, Tick: s.Bars[i].Tick, EndTick: s.Bars[i].Tick, Steps: r.steps(l), ticks: r.ticks(l)}
		if end > i {
			last := s.Bars[end-1]
			sections[i].EndTick = last.Tick + last.Ticks
			l = l.minus(r.bar(s.Bars[i]))
		}
	}
	return sections
}

// SectionOf returns the section of so many bars from a bar, which counts from
// 1. FromBar 0 is the first bar; bars 0 is as many as the wheel holds, or to
// the song's end. It returns an error if the song has no such bars or the wheel
// does not hold them, a [LengthError] where only their number is to blame.
func SectionOf(m *wheel.Machine, s *song.Song, fromBar, bars int) (Section, error) {
	if !hasTime(s) {
		return Section{}, fmt.Errorf("the song has %s ticks per quarter note and %s; it needs some of both",
			wheel.Number(s.TicksPerQuarter), say.Count(len(s.Bars), "bar", "bars"))
	}
	switch {
	case fromBar < 0:
		return Section{}, fmt.Errorf("the section's first bar is %s; bars count from 1", say.Whole(fromBar))
	case bars < 0:
		return Section{}, badLength("the section has %s bars; it has 1 or more", say.Whole(bars))
	}
	fromBar = max(fromBar, 1)
	if left := len(s.Bars) - fromBar + 1; left < 1 {
		return Section{}, fmt.Errorf("the section starts at bar %d, past the song's end; the last bar is bar %d", fromBar, len(s.Bars))
	} else if bars > left {
		return Section{}, badLength("the section of %s from bar %d runs past the end of the song, which has %s; from bar %d there are %d",
			say.Count(bars, "bar", "bars"), fromBar, say.Count(len(s.Bars), "bar", "bars"), fromBar, left)
	}
	longest := longestFrom(m, s, fromBar, bars)
	switch {
	case longest.Bars == 0:
		r := ruler{s.TicksPerQuarter, float64(m.Wheel.StepsPerBeat)}
		return Section{}, fmt.Errorf("bar %d takes %s steps and the wheel has %d; no section can start there",
			fromBar, wheel.Number(r.steps(r.bar(s.Bars[fromBar-1]))), m.Wheel.Steps)
	case longest.Bars < bars:
		return Section{}, badLength("the section of %s from bar %d is longer than the wheel's %d steps; from bar %d, %s",
			say.Count(bars, "bar", "bars"), fromBar, m.Wheel.Steps, fromBar, fit(longest.Bars))
	}
	return longest, nil
}

// LengthError is a section that is too long or none, where one of another length
// could begin at the same bar.
type LengthError struct{ says string }

func (e *LengthError) Error() string { return e.says }

func badLength(format string, a ...any) error { return &LengthError{fmt.Sprintf(format, a...)} }

func fit(bars int) string {
	if bars == 1 {
		return "1 bar fits"
	}
	return fmt.Sprintf("%d bars fit", bars)
}

// longestFrom is the longest section from a bar that the wheel holds, of at
// most so many bars where most is not 0.
func longestFrom(m *wheel.Machine, s *song.Song, fromBar, most int) Section {
	r := ruler{s.TicksPerQuarter, float64(m.Wheel.StepsPerBeat)}
	start := s.Bars[fromBar-1].Tick
	sec := Section{FromBar: fromBar, Tick: start, EndTick: start}
	var l length
	for _, b := range s.Bars[fromBar-1:] {
		if most > 0 && sec.Bars == most {
			break
		}
		l = l.plus(r.bar(b))
		if r.steps(l) > float64(m.Wheel.Steps) {
			break
		}
		sec.Bars, sec.EndTick, sec.Steps, sec.ticks = sec.Bars+1, b.Tick+b.Ticks, r.steps(l), r.ticks(l)
	}
	return sec
}

func hasTime(s *song.Song) bool {
	return s.TicksPerQuarter > 0 && !math.IsInf(s.TicksPerQuarter, 0) && len(s.Bars) > 0
}

// length is a stretch of music. Both parts add and subtract without rounding:
// whole bars are multiples of 1/16 of a quarter note.
type length struct {
	quarters float64 // of the bars that have the length of their meter
	ticks    int64   // of those that a new meter cut short
}

func (l length) plus(m length) length  { return length{l.quarters + m.quarters, l.ticks + m.ticks} }
func (l length) minus(m length) length { return length{l.quarters - m.quarters, l.ticks - m.ticks} }

// ruler measures music in steps.
type ruler struct{ ticksPerQuarter, stepsPerQuarter float64 }

// bar is the length of a bar. Bars start at whole ticks, so a bar's ticks can be
// its meter's length rounded; then the meter counts, or bars that fill a turn
// could be a fraction of a tick too long for it.
func (r ruler) bar(b song.Bar) length {
	quarters := 4 * float64(b.Numerator) / float64(b.Denominator)
	if math.Abs(quarters*r.ticksPerQuarter-float64(b.Ticks)) < 1 {
		return length{quarters: quarters}
	}
	return length{ticks: b.Ticks}
}

// ticks is a length in ticks, quarters × (ticks per quarter) + ticks.
func (r ruler) ticks(l length) float64 { return l.quarters*r.ticksPerQuarter + float64(l.ticks) }

// steps is a length in steps, quarters × q + ticks ÷ (ticks per quarter) × q.
func (r ruler) steps(l length) float64 {
	return l.quarters*r.stepsPerQuarter + float64(l.ticks)*r.stepsPerQuarter/r.ticksPerQuarter
}
