package arrange

// Report says what became of a section's notes. Its JSON is that of
// "pinwright pin -json", in full precision. For every section
//
//	Notes = Placed + Dropped + OutOfRange + Merged
type Report struct {
	Notes        int      `json:"notes"`          // in the section; each repetition counts
	Placed       int      `json:"placed"`         // that have a pin of their own: the pins of the pinning
	Shifted      int      `json:"shifted"`        // of those placed, moved from their step to make a tempo safe
	Dropped      int      `json:"dropped"`        // left out: only resting channels have their key
	OutOfRange   int      `json:"out_of_range"`   // no channel has their key
	Merged       int      `json:"merged"`         // sounded by a pin that another note has there already
	Transpose    int      `json:"transpose"`      // semitones
	TempoBPM     float64  `json:"tempo_bpm"`      // of the pinning
	WorstErrorMS float64  `json:"worst_error_ms"` // largest absolute error of the notes that sound, placed and merged, before easing
	RMSErrorMS   float64  `json:"rms_error_ms"`   // root of the mean square of the same errors
	Cost         float64  `json:"cost"`           // of what was shifted and left out for a tempo
	Changes      []Change `json:"changes"`        // by step; never nil
	MaxSafeBPM   *float64 `json:"max_safe_bpm"`   // nil where the machine's lowest tempo is not safe

	Grid    *GridFit     `json:"-"`                 // how the section's notes fit the wheel's steps
	Swing   float64      `json:"swing,omitempty"`   // the ratio, long to short, that was straightened; 0 for none
	Eased   *Eased       `json:"eased,omitempty"`   // nil where nothing was to be eased
	Parts   []PartReport `json:"-"`                 // by track
	Remains []Remain     `json:"remains,omitempty"` // of the strikes' errors, where advances were asked for
}

// Change is one note that is not where the song has it.
type Change struct {
	Kind      string `json:"kind"`      // "dropped"; by easing also "shifted" to another step, "moved" to another channel
	Channel   string `json:"channel"`   // id of the one that it had; empty where it had none
	FromStep  int    `json:"from_step"` // its aim, 0 … N−1
	ToStep    int    `json:"to_step"`   // its aim now; FromStep if it is left out
	Why       string `json:"why"`
	ToChannel string `json:"to_channel,omitempty"` // id of the one that it has now, where that is another
}
