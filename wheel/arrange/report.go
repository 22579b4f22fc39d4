package arrange

// Report says what became of a section's notes. For every section
//
//	Notes = Placed + Dropped + OutOfRange + Merged
type Report struct {
	Notes        int      // in the section; each repetition counts
	Placed       int      // that have a pin of their own: the pins of the pinning
	Shifted      int      // of those placed, moved from their step so that a tempo can be trusted
	Dropped      int      // left out: only resting channels have their key
	OutOfRange   int      // no channel has their key
	Merged       int      // sounded by a pin that another note has there already
	Transpose    int      // semitones
	TempoBPM     float64  // of the pinning
	WorstErrorMS float64  // largest absolute error of the notes that sound, placed and merged, before easing
	RMSErrorMS   float64  // root of the mean square of the same errors
	Cost         float64  // of what was shifted and left out for a tempo
	Changes      []Change // by step; never nil
	KeepBelowBPM *float64 // the tempo up to which it can be trusted; nil where there is none
	MaxSafeBPM   *float64 // the bare limit; nil where the machine's lowest tempo is not safe
	Unmeasured   string   // what has to be measured before any tempo can be called safe; empty for nothing

	Grid    *GridFit     // how the section's notes fit the wheel's steps
	Swing   float64      // the ratio, long to short, that was straightened; 0 for none
	Eased   *Eased       // nil where nothing was to be eased
	Parts   []PartReport // by track
	Remains []Remain     // of the strikes' errors, where advances were asked for and nothing is unknown
}

// Change is one note that is not where the song has it.
type Change struct {
	Kind      string // "dropped"; by easing also "shifted" to another step, "moved" to another channel
	Channel   string // id of the one that it had; empty where it had none
	FromStep  int    // its aim, 0 … N−1
	ToStep    int    // its aim now; FromStep if it is left out
	Why       string
	ToChannel string // id of the one that it has now, where that is another
}
