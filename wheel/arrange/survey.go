package arrange

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// Judgement is how well a song suits a machine: what its best stretch at its
// best transposition comes to.
type Judgement struct {
	File       string
	Number     int // in its file, from 1
	Title      string
	Suits      float64 // 0 … 1, by which songs are ranked
	FromBar    int
	Bars       int
	Transpose  int     // semitones
	Notes      int     // of the stretch
	Share      float64 // of the notes that sound, before easing
	WorstMS    float64
	RMSMS      float64
	TempoBPM   float64  // the one asked for, or the song's own
	MaxSafeBPM *float64 // the bare limit before easing; nil where the slowest is not safe
	EasedBPM   *float64 // the bare limit after easing; nil where the slowest is not safe even so
	EasedNotes int      // moved by easing
	LeftOut    int      // by easing

	KeepBelowBPM *float64 // after easing; nil where no tempo can be trusted
	HouseBPM     *float64 // the house's limit where it is below TempoBPM: it was eased for that
	SlowestBPM   *float64 // of its window for visitors, after easing; nil where none is open
	Unmeasured   string   // what has to be measured before any tempo can be called safe; empty for nothing

	Verdict string         // in a line
	Pinning *wheel.Pinning // the stretch as it was judged, eased
	grid    float64        // 1 for notes on their steps, down to ½
}

// Unreadable is a file that no song could be read from, or a song that cannot be
// set at all, and why.
type Unreadable struct {
	File string
	Why  string
}

// Source is a file to be judged.
type Source struct {
	Name string
	Read func() ([]byte, error)
}

// SurveyOptions say how songs are judged.
type SurveyOptions struct {
	TempoBPM  float64             // at which all are to be played; 0: each at its own
	Margin    float64             // that the house keeps for visitors, 0 … 1
	EaseLimit time.Duration       // that easing one song may take; 0: a fifth of a second
	Progress  func(done, all int) // called after every file, in any order of files; may be nil
}

// surveyEase is how long easing one song of many may take.
const surveyEase = time.Second / 5

// Survey judges every song of every file, on all cores, and ranks them: the most
// suited first, then by name. A context that ends stops it, and its error is
// returned.
func Survey(ctx context.Context, mech Mechanics, sources []Source, o SurveyOptions) ([]Judgement, []Unreadable, error) {
	if o.TempoBPM != 0 && !(o.TempoBPM >= 1 && o.TempoBPM <= wheel.MaxTempoBPM) {
		return nil, nil, fmt.Errorf("the tempo is %s BPM; it should be 1 to %d BPM", wheel.Number(o.TempoBPM), wheel.MaxTempoBPM)
	}
	if o.EaseLimit == 0 {
		o.EaseLimit = surveyEase
	}
	type found struct {
		judged   []Judgement
		unusable []Unreadable
	}
	results := make([]found, len(sources))
	next := make(chan int)
	var wg sync.WaitGroup
	var mu sync.Mutex
	done := 0
	for range max(1, min(runtime.GOMAXPROCS(0), len(sources))) {
		wg.Go(func() {
			for i := range next {
				results[i].judged, results[i].unusable = judgeFile(ctx, mech, sources[i], o)
				mu.Lock()
				done++
				if o.Progress != nil {
					o.Progress(done, len(sources))
				}
				mu.Unlock()
			}
		})
	}
	for i := range sources {
		if ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, nil, err
	}
	judged, unusable := []Judgement{}, []Unreadable{}
	for _, r := range results {
		judged = append(judged, r.judged...)
		unusable = append(unusable, r.unusable...)
	}
	slices.SortStableFunc(judged, Judgement.compare)
	slices.SortStableFunc(unusable, func(a, b Unreadable) int { return strings.Compare(a.File, b.File) })
	return judged, unusable, nil
}

func (j Judgement) compare(k Judgement) int {
	return cmp.Or(cmp.Compare(k.Suits, j.Suits), strings.Compare(j.File, k.File), j.Number-k.Number)
}

func judgeFile(ctx context.Context, mech Mechanics, src Source, o SurveyOptions) (judged []Judgement, unusable []Unreadable) {
	data, err := src.Read()
	var songs []*song.Song
	if err == nil {
		songs, err = song.Parse(data, src.Name)
	}
	if err != nil {
		return nil, []Unreadable{{src.Name, strings.TrimPrefix(err.Error(), src.Name+": ")}}
	}
	for i, s := range songs {
		if ctx.Err() != nil {
			break
		}
		j, err := Judge(ctx, mech, s, o)
		if err != nil {
			why := err.Error()
			if len(songs) > 1 {
				why = fmt.Sprintf("song %d, %s: %s", i+1, s.Title, why)
			}
			unusable = append(unusable, Unreadable{src.Name, why})
			continue
		}
		j.File, j.Number = src.Name, i+1
		judged = append(judged, j)
	}
	return judged, unusable
}

// Judge says how well a song suits a machine. It takes the song's best stretch,
// see [Suggest], sets it at the transposition that "auto" takes, and eases it to
// the tempo, or to the house's limit where that is lower:
//
//	suits = sounding × pace × grid
//
// sounding is the share of notes that sound after easing; pace is the tempo up to
// which it can be trusted after easing, by the house's limit too, ÷ the tempo, at
// most 1; and grid is 1 for notes on their steps and ½ for notes strewn evenly
// over them, whose root mean square error is a step ÷ √12, or worse:
//
//	grid = 1 − ½ min(1, rms × √12 ÷ step period)
//
// While a figure is unknown nothing is said of the pace, and it counts as 1. The
// error says why the song cannot be set at all.
func Judge(ctx context.Context, mech Mechanics, s *song.Song, o SurveyOptions) (Judgement, error) {
	r := Request{Transpose: Transpose{Auto: true}, Advance: true, TempoBPM: o.TempoBPM, EaseLimit: o.EaseLimit}
	m := mech.Description()
	stretches, err := Suggest(m, s, r)
	if err != nil {
		return Judgement{}, err
	}
	if len(stretches) == 0 {
		return Judgement{}, fmt.Errorf("no bar of it fits the wheel's %d steps", m.Wheel.Steps)
	}
	best := stretches[0]
	r.FromBar, r.Bars = best.Section.FromBar, best.Section.Bars
	r.Ease, r.WithinHouse = true, true
	pinning, report, err := Set(ctx, mech, s, r)
	if err != nil {
		return Judgement{}, err
	}
	eased := report.Eased
	before := report.Placed + report.Merged + eased.LeftOut // notes that sound
	j := Judgement{
		Title: s.Title, FromBar: r.FromBar, Bars: r.Bars, Transpose: report.Transpose,
		Notes:   report.Notes,
		WorstMS: report.WorstErrorMS, RMSMS: report.RMSErrorMS, TempoBPM: report.TempoBPM,
		MaxSafeBPM: eased.BeforeBPM, EasedBPM: report.MaxSafeBPM,
		EasedNotes: report.Shifted, LeftOut: eased.LeftOut, Pinning: pinning,
		KeepBelowBPM: report.KeepBelowBPM, SlowestBPM: mech.Slowest(pinning, o.Margin), Unmeasured: report.Unmeasured,
	}
	if house, ok := m.Limits.HouseBPM.Get(); ok && house < j.TempoBPM {
		j.HouseBPM = &house
	}
	j.Share = float64(before) / float64(j.Notes)
	stepMS := 1000 * m.Wheel.StepPeriod(s.TempoAt(best.Section.Tick).BPM())
	j.grid = 1 - min(1, j.RMSMS*math.Sqrt(12)/stepMS)/2
	j.Suits = float64(report.Placed+report.Merged) / float64(j.Notes) * j.pace() * j.grid
	j.Verdict = j.line()
	return j, nil
}

// line is the judgement in a line: what stands in the way most.
func (j Judgement) line() string {
	var faults []string
	if lost := 1 - j.Share; lost > slight {
		faults = append(faults, fmt.Sprintf("%s of its notes do not sound", percent(lost)))
	}
	if j.grid < 0.75 {
		faults = append(faults, fmt.Sprintf("it does not keep to the grid (%s ms)", wheel.Number(math.Round(j.RMSMS))))
	}
	switch red := j.redLine(); {
	case j.Unmeasured != "":
		faults = append(faults, "how fast is unknown: "+strings.ToLower(j.Unmeasured[:1])+strings.TrimSuffix(j.Unmeasured[1:], "."))
	case red == 0:
		faults = append(faults, "no tempo of the machine can be trusted")
	case red < j.TempoBPM && j.HouseBPM != nil && red == *j.HouseBPM:
		faults = append(faults, fmt.Sprintf("the house keeps below %s BPM", say.TempoDown(red)))
	case red < j.TempoBPM:
		faults = append(faults, fmt.Sprintf("to be trusted up to %s BPM only, even eased", say.TempoDown(red)))
	case j.LeftOut > 0:
		faults = append(faults, fmt.Sprintf("%s left out to be trusted at its tempo", say.Count(j.LeftOut, "note", "notes")))
	case j.EasedNotes > 0:
		faults = append(faults, fmt.Sprintf("%s moved to be trusted at its tempo", say.Count(j.EasedNotes, "note", "notes")))
	}
	if len(faults) == 0 {
		return j.Word()
	}
	return j.Word() + ": " + strings.Join(faults, "; ")
}

func percent(share float64) string {
	return wheel.Number(math.Ceil(share*100-1e-9)) + "\u00a0%"
}
