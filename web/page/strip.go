package page

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Strip is the whole range of tempo as one strip, 0 to 1000 across: where a
// machine with a pinning on it can be trusted, where it is close to its limit and
// where it is not safe, with the tempos that matter marked on it. Every page that shows tempos shows this strip, whole
// ([StripDrawing], [StripChoice]) or in miniature ([StripMini]).
type Strip struct {
	MinBPM, MaxBPM float64
	Stands         timing.Standing
	MaxSafe        float64 // the bare limit
	Playable       bool    // some tempo is safe from the lowest up
	Stop           string  // what ends it there, or what has to be measured first
	Parts          []StripPart
	Together       *StripPart  // the tempos at which chords hold together
	Windowed       bool        // the tempos for visitors were looked for
	Window         *StripPart  // the tempos for visitors
	OwnBPM         float64     // the pinning's own tempo, 0 where it is not marked
	Marks          []StripMark // single tempos beside the red line and the bare limit
	Ticks          []StripTick
}

// StripMark is a single tempo with its name, as "own tempo".
type StripMark struct {
	Name string
	BPM  float64
}

// StripPart is a stretch of tempo.
type StripPart struct {
	FromBPM, ToBPM float64
	X, Width       float64
	Safe           bool   // no rule is broken
	Close          bool   // and yet above the red line
	Island         bool   // safe, and only to be reached through unsafe tempos
	Unknown        bool   // nothing can be said: a figure is unknown
	Label          string // of an unsafe stretch: the rule that forbids its slowest tempo
	Words          string // the stretch in words
}

type StripTick struct {
	X    float64
	BPM  string
	Name bool
}

const StripWide = 1000

// StripOf is the strip of a turn.
func StripOf(w *timing.Works, turn *timing.Turn) Strip {
	facts := StripFacts{Bands: turn.Bands(), Standing: turn.Standing(), Lowest: lowestCause(turn)}
	if from, to, ok := turn.Together(); ok {
		facts.Together = &timing.TempoRange{FromBPM: from, ToBPM: to}
	}
	return StripFrom(w, facts)
}

// StripFacts is what a strip is made from, for those who have asked the turn already.
type StripFacts struct {
	Bands    []timing.Band
	Standing timing.Standing
	Together *timing.TempoRange // nil: at no tempo
	Lowest   *timing.Cause      // what breaks at the slowest tempo, nil if nothing does
}

// StripFrom is the strip that shows what is known of a turn.
func StripFrom(w *timing.Works, facts StripFacts) Strip {
	l := w.Machine.Limits
	s := Strip{MinBPM: l.TempoMinBPM, MaxBPM: l.TempoMaxBPM, Stands: facts.Standing, Stop: w.StandingSentence(facts.Standing)}
	x := s.across
	part := func(from, to float64) StripPart {
		return StripPart{FromBPM: from, ToBPM: to, X: x(from), Width: x(to) - x(from)}
	}
	s.ticks()
	if s.IsUnknown() {
		p := part(s.MinBPM, s.MaxBPM)
		p.Unknown, p.Words = true, "unknown at every tempo"
		s.Parts = []StripPart{p}
		return s
	}
	s.MaxSafe, s.Playable = facts.Standing.MaxSafeBPM, facts.Standing.Safe
	unsafe := func(from, to float64, by *timing.Cause) {
		if to <= from {
			return
		}
		p := part(from, to)
		if by != nil {
			p.Label = say.Steady(w.Label(*by)) // a channel's name may turn text around
		}
		p.Words = fmt.Sprintf("%s to %s BPM not safe: %s", say.TempoDown(from), say.TempoUp(to), p.Label)
		s.Parts = append(s.Parts, p)
	}
	at, by := s.MinBPM, facts.Lowest
	for i, b := range facts.Bands {
		unsafe(at, b.From, by)
		if i > 0 || !s.Playable {
			p := part(b.From, b.To)
			p.Safe, p.Island = true, true
			p.Words = say.TempoRange(b.From, b.To) + " BPM breaks no rule, but is reached only through unsafe tempos"
			s.Parts = append(s.Parts, p)
		} else {
			s.Parts = append(s.Parts, firstBand(facts.Standing, b, part)...)
		}
		at, by = b.To, b.StoppedBy
	}
	unsafe(at, s.MaxBPM, by)
	if facts.Together != nil {
		p := part(facts.Together.FromBPM, facts.Together.ToBPM)
		s.Together = &p
	}
	return s
}

// firstBand is the band that begins at the lowest tempo: trusted up to the red
// line, close above it.
func firstBand(stands timing.Standing, b timing.Band, part func(from, to float64) StripPart) (parts []StripPart) {
	red := b.From
	if stands.RedLineBPM != nil {
		red = min(*stands.RedLineBPM, b.To)
		p := part(b.From, red)
		p.Safe, p.Words = true, say.TempoRange(b.From, red)+" BPM trusted"
		parts = append(parts, p)
	}
	if red < b.To {
		p := part(red, b.To)
		p.Safe, p.Close = true, true
		p.Words = say.TempoRange(red, b.To) + " BPM close: no rule is broken if every figure is exact"
		parts = append(parts, p)
	}
	return parts
}

// IsUnknown reports whether nothing can be said of any tempo.
func (s Strip) IsUnknown() bool { return len(s.Stands.Unknown) > 0 }

// Trust is the verdict at a tempo with so many findings.
func (s Strip) Trust(bpm float64, findings int) timing.Trust {
	return s.Stands.Trust(bpm, findings > 0)
}

func (s *Strip) ticks() {
	named := namedTicks(s.MaxBPM - s.MinBPM)
	for bpm := int(math.Ceil(s.MinBPM/10)) * 10; float64(bpm) <= s.MaxBPM; bpm += named / 3 {
		s.Ticks = append(s.Ticks, StripTick{s.across(float64(bpm)), say.Whole(bpm), bpm%named == 0})
	}
}

// namedTicks is how many BPM apart the ticks of a range with a number are: at most
// eight numbers, which a phone has room for.
func namedTicks(rangeBPM float64) int {
	apart := 30
	for rangeBPM/float64(apart) > 8 {
		apart *= 2
	}
	return apart
}

// lowestCause is what breaks at the slowest tempo, nil if nothing does.
func lowestCause(turn *timing.Turn) *timing.Cause {
	if limits := turn.Limits(); len(limits) > 0 {
		return &limits[0].Cause
	}
	return nil
}

// StripText says a strip in words: its stretches, its marks, then chords and visitors.
func StripText(s Strip) string {
	words := make([]string, 0, len(s.Parts)+len(s.Marks)+2)
	for _, p := range s.Parts {
		words = append(words, p.Words)
	}
	for _, m := range s.Marks {
		words = append(words, m.Name+" "+say.Tempo(m.BPM)+" BPM")
	}
	if !s.IsUnknown() {
		words = append(words, s.TogetherWords())
	}
	if s.Windowed {
		words = append(words, s.WindowWords())
	}
	return strings.Join(words, "; ")
}

// TogetherWords says where chords hold together.
func (s Strip) TogetherWords() string {
	if s.Together == nil {
		return "chords hold together at no tempo"
	}
	return "chords hold together from " + say.TempoRange(s.Together.FromBPM, s.Together.ToBPM) + " BPM"
}

// WindowWords says which tempos are for visitors.
func (s Strip) WindowWords() string {
	if s.Window == nil {
		return "no tempo for visitors"
	}
	return "for visitors: " + say.TempoRange(s.Window.FromBPM, s.Window.ToBPM) + " BPM"
}

// across is where a tempo stands on the strip; those outside it stand at its end.
func (s Strip) across(bpm float64) float64 {
	return min(max(0, (bpm-s.MinBPM)/(s.MaxBPM-s.MinBPM)*StripWide), StripWide)
}

// ownTempo is what the tempo of the pinning itself is called on a strip.
const ownTempo = "own tempo"

// WithOwn marks the tempo of the pinning itself on a strip, if it has one.
func (s Strip) WithOwn(p *wheel.Pinning) Strip {
	if p.TempoBPM == 0 {
		return s
	}
	s.OwnBPM = p.TempoBPM
	return s.WithMark(ownTempo, p.TempoBPM)
}

// WithMark marks a single tempo on a strip by a name.
func (s Strip) WithMark(name string, bpm float64) Strip {
	s.Marks = append(slices.Clone(s.Marks), StripMark{name, bpm})
	return s
}

// isOwn tells whether a tempo, as typed, is the pinning's own that the strip marks.
func (s Strip) isOwn(tempo string) bool {
	bpm, err := ReadTempo(tempo)
	return err == nil && s.OwnBPM != 0 && bpm == s.OwnBPM
}

// nameAt is what a tempo is called on the strip: the pinning's own by that name.
func (s Strip) nameAt(tempo, name string) string {
	if s.isOwn(tempo) {
		return ownTempo
	}
	return name
}

// OwnTempo is a pinning's own tempo for a strip, empty where it has none.
func OwnTempo(bpm float64) string {
	if bpm == 0 {
		return ""
	}
	return say.Typed(bpm)
}

// WithWindow marks the tempos for visitors on a strip.
func (s Strip) WithWindow(w wheel.TempoWindow) Strip {
	s.Windowed = true
	if w.Open {
		from, to := s.across(w.FromBPM), s.across(w.ToBPM)
		s.Window = &StripPart{FromBPM: w.FromBPM, ToBPM: w.ToBPM, X: from, Width: to - from}
	}
	return s
}
