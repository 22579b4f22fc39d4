package web

import (
	"fmt"
	"slices"
	"strings"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// bandStrip is the whole range of tempo as one strip, 0 to 1000 across.
type bandStrip struct {
	MinBPM, MaxBPM float64
	MaxSafe        float64
	Playable       bool
	Stop           string
	Parts          []stripPart
	Together       *stripPart // the tempos at which chords hold together
	Window         *stripPart // the tempos for visitors
	Ticks          []stripTick
}

// stripPart is a stretch of tempo.
type stripPart struct {
	FromBPM, ToBPM float64
	X, Width       float64
	Safe           bool
	Island         bool   // safe, and only to be reached through unsafe tempos
	Label          string // of an unsafe stretch: the rule that forbids its slowest tempo
	Words          string // the stretch in words
}

type stripTick struct {
	X    float64
	BPM  string
	Name bool
}

const stripWide = 1000

func stripOf(w *timing.Works, turn *timing.Turn) bandStrip {
	l := w.Machine.Limits
	s := bandStrip{MinBPM: l.TempoMinBPM, MaxBPM: l.TempoMaxBPM, Stop: w.StandingSentence(turn.Standing())}
	x := func(bpm float64) float64 { return (bpm - s.MinBPM) / (s.MaxBPM - s.MinBPM) * stripWide }
	part := func(from, to float64) stripPart {
		return stripPart{FromBPM: from, ToBPM: to, X: x(from), Width: x(to) - x(from)}
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
		s.Ticks = append(s.Ticks, stripTick{x(bpm), say.Tempo(bpm), int(bpm)%30 == 0})
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
func (p stripPart) fitting() string {
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

// stripText says a strip in words: its stretches, then the bars above and below.
func stripText(s bandStrip) string {
	words := make([]string, 0, len(s.Parts)+2)
	for _, p := range s.Parts {
		words = append(words, p.Words)
	}
	return strings.Join(append(words, s.togetherWords(), s.windowWords()), "; ")
}

// togetherWords says the bar above a strip.
func (s bandStrip) togetherWords() string {
	if s.Together == nil {
		return "chords hold together at no tempo"
	}
	return "chords hold together from " + say.TempoRange(s.Together.FromBPM, s.Together.ToBPM) + " BPM"
}

// windowWords says the bar below a strip.
func (s bandStrip) windowWords() string {
	if s.Window == nil {
		return "no tempo for visitors"
	}
	return "for visitors: " + say.TempoRange(s.Window.FromBPM, s.Window.ToBPM) + " BPM"
}

// has reports whether a strip has a stretch of a kind.
func (s bandStrip) has(safe, island bool) bool {
	return slices.ContainsFunc(s.Parts, func(p stripPart) bool { return p.Safe == safe && p.Island == island })
}

// stripAt is where a tempo stands on the strip.
func stripAt(s bandStrip, tempo string) float64 {
	bpm, err := page.ReadTempo(tempo)
	if err != nil {
		return -10
	}
	return min(max(0, (bpm-s.MinBPM)/(s.MaxBPM-s.MinBPM)*stripWide), stripWide) - 1
}

// withWindow marks the tempos for visitors on a strip.
func (s bandStrip) withWindow(w wheel.TempoWindow) bandStrip {
	if w.Open {
		x := func(bpm float64) float64 { return (bpm - s.MinBPM) / (s.MaxBPM - s.MinBPM) * stripWide }
		s.Window = &stripPart{FromBPM: w.FromBPM, ToBPM: w.ToBPM, X: x(w.FromBPM), Width: x(w.ToBPM) - x(w.FromBPM)}
	}
	return s
}
