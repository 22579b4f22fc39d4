package place

import (
	"fmt"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// TitleOn names what a wheel carries, within a sentence.
func TitleOn(h wheel.Head) string {
	if h.Title == NothingOn {
		return "a bare wheel"
	}
	return h.Title
}

// ReadBy names what a proofreading of a machine's wheel reads: the pinning that
// the wheel carried, or that it stood between two, or had become other than the
// last. apart is how many pins it was apart from what it last carried as a
// whole, toward the changeover on which it stood, or nil.
func ReadBy(machine string, carried wheel.Head, apart int, toward *Job) string {
	switch {
	case apart == 0:
		return TitleOn(carried)
	case toward != nil:
		return fmt.Sprintf("what is on the wheel of %s, between %s and %s", machine, TitleOn(carried), toward.Head.Title)
	}
	return fmt.Sprintf("what is on the wheel of %s, %s except for %s", machine, TitleOn(carried), say.Count(apart, "pin", "pins"))
}

// Words says what was done, in a line. reads is what a proofreading reads, see
// [ReadBy].
func (j Job) Words(reads string) string {
	var words string
	switch j.Kind {
	case JobSaid:
		return "Said to be on the wheel: " + j.Head.Title
	case JobChangeover:
		words = "Changeover to " + j.Head.Title + ", " + movesText(j.Moves)
	case JobProof:
		words = "Proofreading of " + reads
	default:
		words = "Correction after a proofreading, " + movesText(j.Moves)
	}
	switch {
	case j.UnderWay():
		words += ": under way"
	case !j.Finished:
		words += ": stopped"
	}
	return words
}

// LeftWords says how far work has come.
func (w *Work) LeftWords() string {
	return fmt.Sprintf("%d of %s left", w.Left(), movesText(w.Moves))
}

func movesText(n int) string { return say.Count(n, "pull or drive", "pulls and drives") }

// Words says whether there are pins enough.
func (s Stock) Words() string {
	switch {
	case s.Have == nil:
		return fmt.Sprintf("%d needed; the machine's file does not say how many there are", s.Needed)
	case *s.Short > 0:
		return fmt.Sprintf("%d needed of %d: %d short", s.Needed, *s.Have, *s.Short)
	}
	return fmt.Sprintf("%d needed of %d: %d left over", s.Needed, *s.Have, *s.Left)
}

// PlacingWords says where the new pinning stands and which channels exchange
// their rows.
func (p *Plan) PlacingWords(w wheel.Wheel) []string {
	var says []string
	if n := p.RotationSteps; n != 0 {
		says = append(says, fmt.Sprintf("It is set %s later on the wheel: its step 0 is at step %d, %s.", say.Count(n, "step", "steps"), n, w.PlaceText(n)))
	}
	var pairs []string
	for _, e := range p.Exchanged {
		pairs = append(pairs, "the pins of "+e.Channel+" go to "+e.To)
	}
	if len(pairs) > 0 {
		says = append(says, "Rows are exchanged: "+say.List(pairs)+".")
	}
	return says
}
