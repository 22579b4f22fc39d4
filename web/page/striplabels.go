package page

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pinwright/timing"
	"pinwright/wheel/say"
)

// stripLabel is what is written over a strip, with a line down to its tempo.
type stripLabel struct {
	X    float64 // 0 to StripWide
	Text string
	Kind string // names it for the style sheet
	Row  int    // 0 is the highest
	Left bool   // it is written to the left of its line
}

// Labels are written on the side of their line where there is more room, so that
// none can leave the strip, unless the line of another would run through them
// there alone; this is how wide one is taken to be on the narrowest card, of
// 264 px.
const labelPerLetter = 6.9 / 264 * StripWide

// span is from where to where a label reaches.
func (l stripLabel) span() (from, to float64) {
	wide := float64(len([]rune(l.Text)))*labelPerLetter + 20
	if l.Left {
		return l.X - wide, l.X
	}
	return l.X, l.X + wide
}

// crossed reports whether the line of another label runs through it.
func (l stripLabel) crossed(all []stripLabel) bool {
	from, to := l.span()
	return slices.ContainsFunc(all, func(o stripLabel) bool { return o.X != l.X && o.X > from && o.X < to })
}

// turned is the label on the other side of its line, if it fits there.
func (l stripLabel) turned() (turned stripLabel, fits bool) {
	l.Left = !l.Left
	from, to := l.span()
	return l, from >= 0 && to <= StripWide
}

// anchor and aside tie a label's text to its line.
func (l stripLabel) anchor() string {
	if l.Left {
		return "end"
	}
	return "start"
}

func (l stripLabel) aside() string {
	if l.Left {
		return "-5"
	}
	return "5"
}

// labels are those over the strip, each in a row where it covers no other.
func (s Strip) labels() []stripLabel {
	var all []stripLabel
	if keep := s.Stands.KeepBelowBPM; keep != nil {
		if s.Stands.ByHouse() {
			red := *s.Stands.RedLineBPM
			all = append(all, stripLabel{X: s.across(red), Text: "house limit " + say.TempoDown(red), Kind: "peak"})
		}
		all = append(all, stripLabel{X: s.across(*keep), Text: "keep below " + say.TempoDown(*keep), Kind: keepKind(s.Stands)})
	}
	if s.Playable && (s.Stands.KeepBelowBPM == nil || *s.Stands.KeepBelowBPM < s.MaxSafe) {
		all = append(all, stripLabel{X: s.across(s.MaxSafe), Text: "bare limit " + say.TempoDown(s.MaxSafe), Kind: "bare"})
	}
	for _, m := range s.Marks {
		all = append(all, stripLabel{X: s.across(m.BPM), Text: m.Name + " " + say.Tempo(m.BPM), Kind: markKind(m.Name)})
	}
	if l, ok := s.islandsLabel(); ok {
		all = append(all, l)
	}
	slices.SortStableFunc(all, func(a, b stripLabel) int { return cmp.Compare(a.X, b.X) })
	for i := range all {
		all[i].Left = all[i].X >= StripWide/2
	}
	for i, l := range all {
		if turned, fits := l.turned(); fits && l.crossed(all) && !turned.crossed(all) {
			all[i] = turned
		}
	}
	for i := range all {
		for overlaps(all[i], all[:i]) {
			all[i].Row++
		}
	}
	return all
}

// keepKind names the mark of keep-below for the style sheet: it is the red line
// unless the house is.
func keepKind(s timing.Standing) string {
	if s.ByHouse() {
		return "bare"
	}
	return "peak"
}

// markKind names a mark for the style sheet. The own tempo's gives way to the
// tempo looked at where they are one.
func markKind(name string) string {
	if name == ownTempo {
		return "mark own"
	}
	return "mark"
}

func overlaps(l stripLabel, others []stripLabel) bool {
	from, to := l.span()
	return slices.ContainsFunc(others, func(o stripLabel) bool {
		oFrom, oTo := o.span()
		return o.Row == l.Row && from < oTo && oFrom < to
	})
}

// islandsLabel names the islands of a strip once, at the widest of them.
func (s Strip) islandsLabel() (stripLabel, bool) {
	var widest StripPart
	n := 0
	for _, p := range s.Parts {
		if p.Island {
			n++
			if p.Width > widest.Width {
				widest = p
			}
		}
	}
	l := stripLabel{X: widest.X + widest.Width/2, Kind: "isle"}
	switch n {
	case 0:
		return l, false
	case 1:
		l.Text = "island " + say.TempoRange(widest.FromBPM, widest.ToBPM)
	default:
		l.Text = fmt.Sprintf("%d islands, here %s", n, say.Tempo(say.Up(widest.FromBPM)))
	}
	return l, true
}

// rows is how many rows labels take.
func rows(all []stripLabel) int {
	n := 0
	for _, l := range all {
		n = max(n, l.Row+1)
	}
	return n
}

// word is what is written in a stretch that is wide enough for it on the
// narrowest card.
func (p StripPart) word() string {
	word := "not safe"
	switch {
	case p.Island:
		return ""
	case p.Unknown:
		word = "unknown"
	case p.Close:
		word = "close"
	case p.Safe:
		word = "trusted"
	}
	if p.Width < float64(len(word))*labelPerLetter+20 {
		return ""
	}
	return word
}

// reason is what is written instead where the strip is 620 px wide or more; empty
// where it does not fit then.
func (p StripPart) reason() string {
	if p.Safe || p.Unknown || p.Label == "" {
		return ""
	}
	text := "not safe, " + p.Label
	if float64(len([]rune(text)))*6.9+20 > p.Width/StripWide*620 {
		return ""
	}
	return text
}

// bracket is a range under a strip with what it is in words.
type bracket struct {
	Kind string // names it for the style sheet
	Part *StripPart
	Text string
}

// brackets are the ranges under a strip.
func (s Strip) brackets() []bracket {
	visitors, together := bracket{"window", s.Window, "no tempo for visitors"}, bracket{"together", s.Together, "chords together at no tempo"}
	if s.Window != nil {
		visitors.Text = "visitors " + say.TempoRange(s.Window.FromBPM, s.Window.ToBPM)
	}
	if s.Together != nil {
		together.Text = "chords together " + say.TempoRange(s.Together.FromBPM, s.Together.ToBPM)
	}
	switch {
	case s.IsUnknown():
		return nil
	case !s.Windowed:
		return []bracket{together}
	}
	return []bracket{visitors, together}
}

// labelAt is where the text of a range is tied: to its start in the left half of
// the strip, to its end in the right half.
func (b bracket) labelAt() float64 {
	switch {
	case b.Part == nil:
		return 0
	case b.Part.X < StripWide/2:
		return b.Part.X
	}
	return b.Part.X + b.Part.Width
}

// side is the end of a text that is tied to a place on the strip.
func side(x float64) string {
	if x < StripWide/2 {
		return "start"
	}
	return "end"
}

// aside moves a text off its line.
func aside(x float64) string {
	if x < StripWide/2 {
		return "5"
	}
	return "-5"
}

// share writes a place on the strip as a share of its width.
func share(x float64) string { return Pixels(x/StripWide*100) + "%" }

// miniText says the little that a miniature shows beside the red line.
func (s Strip) miniText(tempo string) string {
	var words []string
	if s.Windowed {
		words = append(words, s.WindowWords())
	}
	if tempo != "" {
		words = append(words, "own tempo "+tempo+" BPM")
	}
	return "Tempo strip: " + strings.Join(append(words, s.peakWords()), "; ")
}

// peakWords is the red line in a few words.
func (s Strip) peakWords() string {
	switch {
	case s.IsUnknown():
		return "unknown"
	case !s.Playable:
		return "no safe tempo"
	case s.Stands.RedLineBPM == nil:
		return "no trusted tempo"
	}
	return "keep below " + say.TempoDown(*s.Stands.RedLineBPM)
}

// class names a stretch without a broken rule for the style sheet.
func (p StripPart) class() string {
	switch {
	case p.Island:
		return "island"
	case p.Close:
		return "close-part"
	}
	return "band"
}

// top and tall are where a stretch begins and how high it is: lower where it is
// close to the limit.
func (p StripPart) top(full, low float64) string { return Pixels(p.of(full, low)) }

func (p StripPart) tall(full, low float64) string { return Pixels(p.of(full, low)) }

func (p StripPart) of(full, low float64) float64 {
	if p.Close {
		return low
	}
	return full
}
