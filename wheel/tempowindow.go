package wheel

// TempoWindow is the range of tempo, in beats per minute, in which visitors can
// turn a pinning: chords hold together, and the red line is the house's margin
// away.
type TempoWindow struct {
	// FromBPM and ToBPM are its ends, both in it. Where it is not open they are
	// where each end would be: To below From, or both 0 where chords hold
	// together at no tempo.
	FromBPM, ToBPM float64
	Open           bool
	// Unknown is true while a figure is unknown that the pinning's channels need.
	// Nothing can be said then: all tempos are 0, and Fastest says what to measure.
	Unknown bool
	// RedLineBPM is the fastest that the machine should be played, whoever turns
	// it: the lower of KeepBelowBPM and the house's own limit. Both are 0 where no
	// tempo can be trusted.
	RedLineBPM, KeepBelowBPM float64
	// MaxSafeBPM is the bare limit, if every figure were exact; 0 where the
	// machine's lowest tempo is not safe.
	MaxSafeBPM float64
	// TopBPM is the fastest that visitors are asked to turn, whether or not chords
	// hold together there: RedLineBPM less the house's margin; 0 where that is 0.
	TopBPM float64

	// Sentences: what ends it below and above, and why it is not open, which is
	// empty where it is.
	Slowest, Fastest, Closed string
}

// Holds reports whether a tempo lies in the window.
func (w TempoWindow) Holds(bpm float64) bool {
	return w.Open && bpm >= w.FromBPM*(1-TempoSlack) && bpm <= w.ToBPM*(1+TempoSlack)
}
