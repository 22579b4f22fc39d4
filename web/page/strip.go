package page

import (
	"fmt"
	"slices"
	"strings"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Strip is the whole range of tempo as one strip, 0 to 1000 across.
type Strip struct {
	MinBPM, MaxBPM float64
	MaxSafe        float64
	Playable       bool
	Stop           string
	Parts          []StripPart
	Together       *StripPart // the tempos at which chords hold together
	Window         *StripPart // the tempos for visitors
	Ticks          []StripTick
}

// StripPart is a stretch of tempo.
type StripPart struct {
	FromBPM, ToBPM float64
	X, Width       float64
	Safe           bool
	Island         bool   // safe, and only to be reached through unsafe tempos
	Label          string // of an unsafe stretch: the rule that forbids its slowest tempo
	Words          string // the stretch in words
}

type StripTick struct {
	X    float64
	BPM  string
	Name bool
}

const StripWide = 1000

func StripOf(w *timing.Works, turn *timing.Turn) Strip {
	l := w.Machine.Limits
	s := Strip{MinBPM: l.TempoMinBPM, MaxBPM: l.TempoMaxBPM, Stop: w.StandingSentence(turn.Standing())}
	x := func(bpm float64) float64 { return (bpm - s.MinBPM) / (s.MaxBPM - s.MinBPM) * StripWide }
	part := func(from, to float64) StripPart {
		return StripPart{FromBPM: from, ToBPM: to, X: x(from), Width: x(to) - x(from)}
	}
	bands := turn.Bands()
	s.MaxSafe, s.Playable = turn.MaxSafe()
	unsafe := func(from, to float64, by *timing.Cause) {
		if to <= from {
			return
		}
		p := part(from, to)
		if by != nil {
			p.Label = w.Label(*by)
		}
		p.Words = fmt.Sprintf("%s to %s BPM not safe: %s", say.TempoDown(from), say.TempoUp(to), p.Label)
		s.Parts = append(s.Parts, p)
	}
	at, by := s.MinBPM, lowestCause(turn)
	for i, b := range bands {
		unsafe(at, b.From, by)
		p := part(b.From, b.To)
		p.Safe, p.Island = true, i > 0 || !s.Playable
		p.Words = say.TempoRange(b.From, b.To) + " BPM safe"
		if p.Island {
			p.Words += ", reached only through unsafe tempos"
		}
		s.Parts = append(s.Parts, p)
		at, by = b.To, b.StoppedBy
	}
	unsafe(at, s.MaxBPM, by)
	if from, to, ok := turn.Together(); ok {
		p := part(from, to)
		s.Together = &p
	}
	for bpm := float64(int((s.MinBPM+9)/10) * 10); bpm <= s.MaxBPM; bpm += 10 {
		s.Ticks = append(s.Ticks, StripTick{x(bpm), say.Tempo(bpm), int(bpm)%30 == 0})
	}
	return s
}

// lowestCause is what breaks at the slowest tempo, nil if nothing does.
func lowestCause(turn *timing.Turn) *timing.Cause {
	if limits := turn.Limits(); len(limits) > 0 {
		return &limits[0].Cause
	}
	return nil
}

// fitting is the label cut to the stretch's width; empty where there is no
// room for words. The list beside the strip has it whole.
func (p StripPart) fitting() string {
	const perLetter = 7.4
	room := int(p.Width / perLetter)
	label := []rune(p.Label)
	switch {
	case p.Safe || room < 7:
		return ""
	case len(label) > room:
		return string(label[:room-1]) + "…"
	}
	return p.Label
}

// StripText says a strip in words: its stretches, then the bars above and below.
func StripText(s Strip) string {
	words := make([]string, 0, len(s.Parts)+2)
	for _, p := range s.Parts {
		words = append(words, p.Words)
	}
	return strings.Join(append(words, s.TogetherWords(), s.WindowWords()), "; ")
}

// togetherWords says the bar above a strip.
func (s Strip) TogetherWords() string {
	if s.Together == nil {
		return "chords hold together at no tempo"
	}
	return "chords hold together from " + say.TempoRange(s.Together.FromBPM, s.Together.ToBPM) + " BPM"
}

// windowWords says the bar below a strip.
func (s Strip) WindowWords() string {
	if s.Window == nil {
		return "no tempo for visitors"
	}
	return "for visitors: " + say.TempoRange(s.Window.FromBPM, s.Window.ToBPM) + " BPM"
}

// Has reports whether a strip has a stretch of a kind.
func (s Strip) Has(safe, island bool) bool {
	return slices.ContainsFunc(s.Parts, func(p StripPart) bool { return p.Safe == safe && p.Island == island })
}

// StripAt is where a tempo stands on the strip.
func StripAt(s Strip, tempo string) float64 {
	bpm, err := ReadTempo(tempo)
	if err != nil {
		return -10
	}
	return min(max(0, (bpm-s.MinBPM)/(s.MaxBPM-s.MinBPM)*StripWide), StripWide) - 1
}

// withWindow marks the tempos for visitors on a strip.
func (s Strip) WithWindow(w wheel.TempoWindow) Strip {
	if w.Open {
		x := func(bpm float64) float64 { return (bpm - s.MinBPM) / (s.MaxBPM - s.MinBPM) * StripWide }
		s.Window = &StripPart{FromBPM: w.FromBPM, ToBPM: w.ToBPM, X: x(w.FromBPM), Width: x(w.ToBPM) - x(w.FromBPM)}
	}
	return s
}
