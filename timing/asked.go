package timing

import (
	"iter"
	"math"

	"pinwright/wheel"
)

// What those who set a song ask of mechanics, in plain values: they declare
// what they need on their side and know nothing of this package.

// Description returns the machine as its file describes it.
func (w *Works) Description() *wheel.Machine { return w.Machine }

// HowFast is up to which tempos a pinning can be played, in beats per minute: to
// be trusted, as [Turn.KeepBelow] has it, and if every figure were exact, as
// [Turn.MaxSafe] has it. Each is nil where there is none, and both where the
// pinning does not fit the machine.
func (w *Works) HowFast(p *wheel.Pinning) (keepBPM, bareBPM *float64) {
	t := w.borrow()
	defer w.giveBack(t)
	if t.Load(p) != nil {
		return nil, nil
	}
	bare, ok := t.MaxSafe()
	if !ok {
		return nil, nil
	}
	if keep, ok := t.keepBelowOf(w.scatter(), bare); ok {
		keepBPM = &keep
	}
	return keepBPM, &bare
}

// Unmeasured says which figures have to be measured before any tempo of a pinning
// can be called safe; it is empty where none is unknown.
func (w *Works) Unmeasured(p *wheel.Pinning) string {
	t := w.borrow()
	defer w.giveBack(t)
	if t.Load(p) != nil || t.isKnown() {
		return ""
	}
	return w.UnknownSentence(t.Unknown())
}

// Slowest is the slowest tempo of a pinning's window for visitors, in beats per
// minute, see [Turn.Window]; nil where no window is open.
func (w *Works) Slowest(p *wheel.Pinning, margin float64) *float64 {
	t := w.borrow()
	defer w.giveBack(t)
	if t.Load(p) != nil || !t.isKnown() {
		return nil
	}
	if win := t.Window(margin); win.Open {
		return &win.FromBPM
	}
	return nil
}

// borrow is a turn with any pins on it, its working memory grown. It is for one
// question, and is given back then.
func (w *Works) borrow() *Turn {
	if t, ok := w.turns.Get().(*Turn); ok {
		t.works = w // machines that are only counted otherwise share turns
		return t
	}
	return w.NewTurn()
}

func (w *Works) giveBack(t *Turn) {
	t.pinning, t.chorded = nil, false
	w.turns.Put(t)
}

// Spreads returns how far the strikes of a pinning are spread at a tempo in
// beats per minute, from the earliest error to the latest, in seconds: those of
// all pins, of one chord or not, and those of the widest chord. The error is
// [wheel.Problems] where the pinning does not fit the machine.
func (w *Works) Spreads(p *wheel.Pinning, tempoBPM float64) (allS, chordS float64, err error) {
	t, err := w.Turn(p)
	if err != nil {
		return 0, 0, err
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range t.ErrorsByChannel(tempoBPM) {
		low, high = min(low, c.EarliestS), max(high, c.LatestS)
	}
	return max(0, high-low), t.Flam(tempoBPM), nil
}

// Written yields channel and time of every strike of a turn of a pinning as it
// is written, see [Turn.AsWritten].
func (w *Works) Written(p *wheel.Pinning, tempoBPM float64) (iter.Seq2[int, float64], error) {
	return w.sounding(p, tempoBPM, (*Turn).AsWritten)
}

// Played yields channel and time of every strike of a turn of a pinning as the
// machine plays it, but for those that are missed, see [Turn.AsPlayed].
func (w *Works) Played(p *wheel.Pinning, tempoBPM float64) (iter.Seq2[int, float64], error) {
	return w.sounding(p, tempoBPM, (*Turn).AsPlayed)
}

func (w *Works) sounding(p *wheel.Pinning, tempoBPM float64, strikes func(*Turn, float64, []Strike) []Strike) (iter.Seq2[int, float64], error) {
	t, err := w.Turn(p)
	if err != nil {
		return nil, err
	}
	return func(yield func(channel int, atS float64) bool) {
		for _, s := range strikes(t, tempoBPM, nil) {
			if !s.Missed && !yield(s.Channel, s.AtS) {
				return
			}
		}
	}, nil
}
