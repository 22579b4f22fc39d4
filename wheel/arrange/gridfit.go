package arrange

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// GridFit is how well a section's notes fit the wheel's steps. A beat is a
// quarter note, counted from its bar's start.
type GridFit struct {
	WorstMS    float64     // largest absolute error, at the song's own tempo
	RMSMS      float64     // root of the mean square error
	Suffering  int         // beats with notes that are off
	Worst      []BeatError // of those the worst, worst first, [MaxBeatErrors] at most
	Feel       Feel
	Swing      float64 // where in the beat its second half starts; ½ where the song is not swung
	SwingRatio float64 // long to short, Swing ÷ (1 − Swing)
	Holds      int     // the fewest steps per beat that would hold the section; 0 if none up to [MostStepsPerBeat]
	Text       string
}

// BeatError is a beat with notes that are off: farther from their steps than the
// tolerance of [GridFitOf].
type BeatError struct {
	Bar     int // of the song, counted from 1
	Beat    int // of the bar, counted from 1
	WorstMS float64
	Notes   int // that are off
}

const (
	MaxBeatErrors    = 20 // beats listed by name
	MostStepsPerBeat = 24 // steps per beat that are tried
)

// Tolerances of [GridFitOf]. 10 ms is half the 20 ms near which the order of two
// sounds is first heard (Hirsh, J. Acoust. Soc. Am. 31, 1959); the last bit of
// an error does not count.
const (
	toleranceBeats = 1. / 64
	toleranceMS    = 10
	toleranceShare = 0.01
	lastBitMS      = 1e-8
)

// GridFitOf measures a section on the wheel's grid. A note at tick t stands at
//
//	x = (t − the section's first) ÷ (ticks per quarter) × q
//
// steps and is set on the nearest one, halves going up; its error is the
// difference in milliseconds at the song's own tempo there. A note is off where
// its error is more than 1/64 of a beat and more than 10 ms. A number of steps
// per beat holds the section where all but 1 % of its onsets, rounded down to
// whole ones, would lie within 1/64 of a beat and within 10 ms of their steps; a
// chord is one onset. [Feel] says how the section's beats are told apart.
//
// Only notes that include accepts count; nil accepts all.
func GridFitOf(m *wheel.Machine, s *song.Song, sec Section, include func(song.Note) bool) GridFit {
	fit := GridFit{Feel: Straight, Swing: 0.5, SwingRatio: 1, Worst: []BeatError{}}
	if !hasTime(s) || sec.Bars < 1 || sec.FromBar < 1 || sec.FromBar > len(s.Bars) {
		fit.Text = "there is no section"
		return fit
	}
	r := ruler{s.TicksPerQuarter, float64(m.Wheel.StepsPerBeat)}
	var sum errorSum
	var beats []BeatError
	var onsets []onset
	bar := sec.FromBar - 1
	for _, n := range sec.notes(s) {
		if include != nil && !include(n) {
			continue
		}
		for bar+1 < len(s.Bars) && s.Bars[bar+1].Tick <= n.Tick {
			bar++
		}
		beatMS := float64(s.TempoAt(n.Tick).MicrosPerQuarter) / 1000
		x := r.steps(length{ticks: n.Tick - sec.Tick})
		off := (math.Floor(x+0.5) - x) * beatMS / r.stepsPerQuarter
		sum.add(off)
		inBar := float64(n.Tick-s.Bars[bar].Tick) / s.TicksPerQuarter
		if math.Abs(off) > max(toleranceBeats*beatMS, toleranceMS)+lastBitMS {
			beats = join(beats, BeatError{bar + 1, int(inBar) + 1, math.Abs(off), 1})
		}
		if len(onsets) == 0 || onsets[len(onsets)-1].tick != n.Tick {
			onsets = append(onsets, onset{n.Tick, bar, float64(n.Tick-sec.Tick) / s.TicksPerQuarter, inBar, beatMS})
		}
	}
	fit.WorstMS, fit.RMSMS = sum.worstMS, sum.rmsMS()
	fit.Suffering = len(beats)
	slices.SortStableFunc(beats, func(a, b BeatError) int {
		return cmp.Compare(math.Round(b.WorstMS/lastBitMS), math.Round(a.WorstMS/lastBitMS))
	})
	fit.Worst = append(fit.Worst, beats[:min(len(beats), MaxBeatErrors)]...)
	fit.Feel, fit.Swing = feelOf(onsets)
	fit.SwingRatio = fit.Swing / (1 - fit.Swing)
	fit.Holds = holds(onsets)
	fit.Text = fit.text(m.Wheel, sec, sum.notes)
	return fit
}

// onset is where one note or more start.
type onset struct {
	tick   int64
	bar    int
	at     float64 // beats from the section's start
	inBar  float64 // beats from its bar's start
	beatMS float64
}

// join adds a note that is off, of the last beat or of a later one.
func join(beats []BeatError, b BeatError) []BeatError {
	if last := len(beats) - 1; last >= 0 && beats[last].Bar == b.Bar && beats[last].Beat == b.Beat {
		beats[last].WorstMS = max(beats[last].WorstMS, b.WorstMS)
		beats[last].Notes++
		return beats
	}
	return append(beats, b)
}

// holds is the fewest steps per beat that hold the onsets; 0 if none does.
func holds(onsets []onset) int {
	for q := 1; q <= MostStepsPerBeat; q++ {
		left := int(toleranceShare * float64(len(onsets)))
		for _, o := range onsets {
			x := o.at * float64(q)
			if math.Abs(math.Round(x)-x)/float64(q)*o.beatMS > min(toleranceBeats*o.beatMS, toleranceMS)+lastBitMS {
				if left--; left < 0 {
					break
				}
			}
		}
		if left >= 0 {
			return q
		}
	}
	return 0
}

func (fit *GridFit) text(w wheel.Wheel, sec Section, notes int) string {
	if notes == 0 {
		return fmt.Sprintf("there are no notes in %s", sec)
	}
	var text string
	switch {
	case fit.Suffering > 0:
		worst := fit.Worst[0]
		text = fmt.Sprintf("%s notes that are off the wheel's steps; the worst lies %s ms off, in bar %d beat %d",
			have(fit.Suffering, "beat"), say.Rounded(worst.WorstMS, 1), worst.Bar, worst.Beat)
	case fit.WorstMS < 0.05:
		text = "every note lies on a step"
	default:
		text = fmt.Sprintf("no note is more than %s ms off its step", say.Rounded(math.Ceil(fit.WorstMS*10)/10, 1))
	}
	switch fit.Feel {
	case Triplets:
		text += "; there are triplets"
	case Swung:
		text += fmt.Sprintf("; the beats are swung, %s to 1", say.Rounded(fit.SwingRatio, 1))
	case Free:
		text += "; the timing is free"
	}
	switch {
	case fit.Suffering == 0 || fit.Holds > 0 && w.StepsPerBeat%fit.Holds == 0:
		return text
	case fit.Holds == 0 && fit.Feel != Free:
		return fmt.Sprintf("%s; the playing wanders, and no number of steps per beat up to %d would hold all of it", text, MostStepsPerBeat)
	case fit.Holds == 0:
		return fmt.Sprintf("%s; no number of steps per beat up to %d would hold it", text, MostStepsPerBeat)
	}
	return fmt.Sprintf("%s; %s per beat would hold it", text, say.Count(fit.Holds, "step", "steps"))
}

// have is a count with its verb.
func have(n int, noun string) string {
	if n == 1 {
		return "1 " + noun + " has"
	}
	return say.Count(n, noun, noun+"s") + " have"
}
