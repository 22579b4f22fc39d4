package arrange

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"pinwright/wheel"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// Seam is how well the end of a section leads back into its beginning when the
// wheel turns on.
type Seam struct {
	Likeness  float64 // 0, it does not, to 1, the song itself goes on so
	RestSteps float64 // silence of the unfilled turn
	RestBars  int     // the same in bars as long as the section's last one, where they are whole; else 0
	Text      string
}

// inaudibleSteps is a rest that nobody hears: bars of broken ticks can leave a
// sliver of a turn that they fill as music.
const inaudibleSteps = 0.01

// SeamOf judges the seam of a section by the song itself. Where the bar that
// follows the section is like the section's first, the song goes on from the
// end as it began; where the bar before the section is like its last, the song
// once came to this beginning from such an end. Two bars are as like as the sets
// A and B of their notes (step within the bar, key),
//
//	2 |A ∩ B| / (|A| + |B|)
//
// (the coefficient of Dice, Ecology 26, 1945), and the larger of the two
// likenesses counts. A note that is nearest to the next bar's first step is
// taken to be there, and two silent bars say nothing.
//
// Where the section is the whole song there is no such bar. Weaker evidence
// stands in: half of what the pitch classes of the last bar and the first have
// in common, ½ Σ min(share in one, share in the other), percussion aside.
//
// Silence between end and beginning breaks the seam: a rest of r steps leaves
// 1 − r/b of the likeness, b the steps of the section's last bar, and a bar of
// silence or more nothing.
//
// Only notes that include accepts count; nil accepts all.
func SeamOf(m *wheel.Machine, s *song.Song, sec Section, include func(song.Note) bool) Seam {
	return seamOf(m, s, sec, func(bar int) []barNote { return barShape(m.Wheel, s, bar, include) })
}

// seamOf is SeamOf with what bars sound like given, by index.
func seamOf(m *wheel.Machine, s *song.Song, sec Section, shape func(bar int) []barNote) Seam {
	first, after := sec.FromBar-1, sec.FromBar-1+sec.Bars
	if !hasTime(s) || sec.Bars < 1 || first < 0 || after > len(s.Bars) {
		return Seam{Text: "there is no section"}
	}
	e := evidence{first: first, after: after, ofSong: len(s.Bars)}
	if after < len(s.Bars) {
		e.weigh(shape(after), shape(first), goesOn)
	}
	if first > 0 {
		e.weigh(shape(first-1), shape(after-1), cameFrom)
	}
	if first == 0 && after == len(s.Bars) {
		e.likeness, e.kind = profileLikeness(shape(after-1), shape(first))/2, wholeSong
	}
	r := ruler{s.TicksPerQuarter, float64(m.Wheel.StepsPerBeat)}
	bar := r.steps(r.bar(s.Bars[after-1]))
	seam := Seam{RestSteps: max(0, float64(m.Wheel.Steps)-sec.Steps)}
	if seam.RestSteps < inaudibleSteps {
		seam.RestSteps = 0
	}
	if bars := math.Round(seam.RestSteps / bar); math.Abs(bars*bar-seam.RestSteps) < inaudibleSteps {
		seam.RestBars = int(bars)
	}
	seam.Likeness = e.likeness * max(0, 1-seam.RestSteps/bar)
	switch rest := silence(m.Wheel, seam); {
	case seam.RestSteps >= bar:
		seam.Text = "the turn ends with " + rest
	case seam.RestSteps > 0 && e.likeness >= leadsBack:
		seam.Text = e.text() + ", but the turn ends with " + rest
	case seam.RestSteps > 0:
		seam.Text = e.text() + ", and the turn ends with " + rest
	default:
		seam.Text = e.text()
	}
	return seam
}

// evidence is what the song says about a seam. Bars are indices.
type evidence struct {
	first, after, ofSong int
	kind                 evidenceKind
	likeness             float64
}

type evidenceKind int

const (
	untold    evidenceKind = iota
	goesOn                 // by the bar after the section
	cameFrom               // by the bar before it
	wholeSong              // by the first and the last bar
)

func (e *evidence) weigh(a, b []barNote, kind evidenceKind) {
	if len(a)+len(b) == 0 {
		return
	}
	if l := dice(a, b); e.kind == untold || l > e.likeness {
		e.likeness, e.kind = l, kind
	}
}

// leadsBack is the likeness from which an end is said to lead back at all, and
// asItBegan that from which it is said to do so wholly.
const (
	leadsBack = 0.2
	asItBegan = 0.95
)

func (e *evidence) text() string {
	switch {
	case e.kind == wholeSong && e.likeness == 0:
		return "the whole song is on the wheel; its last bar and its first have no note in common"
	case e.kind == wholeSong:
		return "the whole song is on the wheel; the notes of its last bar and its first agree by " + fraction(2*e.likeness)
	case e.kind == untold:
		return "the bars at the seam are silent, so nothing can be said"
	case e.likeness >= asItBegan && e.kind == goesOn:
		return "the song itself goes on from here as it began"
	case e.likeness >= asItBegan:
		return fmt.Sprintf("the end leads back: bar %d, before the beginning, is like bar %d", e.first, e.after)
	case e.likeness >= leadsBack:
		return "the end leads back by " + fraction(e.likeness)
	case e.after < e.ofSong:
		return fmt.Sprintf("the end does not lead back: after bar %d the song goes elsewhere", e.after)
	}
	return fmt.Sprintf("the end does not lead back: the song ends with bar %d and comes to bar %d another way", e.after, e.first+1)
}

// fraction is a share of a whole as people say it.
func fraction(x float64) string {
	words := []struct {
		share float64
		text  string
	}{{0.1, "a tenth"}, {0.25, "a quarter"}, {1. / 3, "a third"}, {0.5, "half"}, {2. / 3, "two thirds"}, {0.75, "three quarters"}, {0.9, "nine tenths"}, {1, "all"}}
	best := words[0]
	for _, w := range words {
		if math.Abs(w.share-x) < math.Abs(best.share-x) {
			best = w
		}
	}
	return best.text
}

// silence is a seam's rest in words: in bars or beats where they are whole.
func silence(w wheel.Wheel, seam Seam) string {
	q := float64(w.StepsPerBeat)
	beats := math.Round(seam.RestSteps / q)
	switch {
	case seam.RestBars > 0:
		return say.Count(seam.RestBars, "bar", "bars") + " of silence"
	case math.Abs(beats*q-seam.RestSteps) < inaudibleSteps:
		return say.Count(int(beats), "beat", "beats") + " of silence"
	case seam.RestSteps == 1:
		return "1 step of silence"
	}
	return say.Rounded(seam.RestSteps, 2) + " steps of silence"
}

// barNote is a note's step within its bar and its key, in one word.
type barNote uint64

func newBarNote(step int64, n song.Note) barNote {
	k := barNote(n.Key)
	if n.Drum() {
		k += keys
	}
	return barNote(step)<<8 | k
}

func (n barNote) key() key { return key(n) }

// barShape is the set of a bar's notes, in order, by the bar's index.
func barShape(w wheel.Wheel, s *song.Song, bar int, include func(song.Note) bool) []barNote {
	r := ruler{s.TicksPerQuarter, float64(w.StepsPerBeat)}
	b := s.Bars[bar]
	steps := r.steps(r.bar(b))
	if bar == len(s.Bars)-1 {
		steps = math.Inf(1)
	}
	early := b.Tick - int64(math.Ceil(r.ticksPerQuarter/r.stepsPerQuarter/2))
	from := sort.Search(len(s.Notes), func(i int) bool { return s.Notes[i].Tick >= early })
	var shape []barNote
	for _, n := range s.Notes[from:] {
		if n.Tick >= b.Tick+b.Ticks {
			break
		}
		step := math.Floor(r.steps(length{ticks: n.Tick - b.Tick}) + 0.5)
		if step >= 0 && step < steps && (include == nil || include(n)) {
			shape = append(shape, newBarNote(int64(step), n))
		}
	}
	slices.Sort(shape)
	return slices.Compact(shape)
}

// dice is the coefficient of Dice of two sets in order, of which one has
// something in it.
func dice(a, b []barNote) float64 {
	both := 0
	for i, j := 0, 0; i < len(a) && j < len(b); {
		switch {
		case a[i] < b[j]:
			i++
		case a[i] > b[j]:
			j++
		default:
			both, i, j = both+1, i+1, j+1
		}
	}
	return 2 * float64(both) / float64(len(a)+len(b))
}

// profileLikeness is how much of their melodic notes two bars have in common by
// pitch class, 0 to 1.
func profileLikeness(a, b []barNote) float64 {
	pa, pb := profile(a), profile(b)
	sum := 0.0
	for i := range pa {
		sum += min(pa[i], pb[i])
	}
	return sum
}

// profile is the share of each pitch class in a bar's melodic notes.
func profile(notes []barNote) (share [12]float64) {
	all := 0.0
	for _, n := range notes {
		if k := n.key(); !k.drum() {
			share[k%12]++
			all++
		}
	}
	for i := range share {
		share[i] /= max(all, 1)
	}
	return share
}
