package ease

// Problem is notes that have to share a wheel, and what each way of setting them
// costs. Solve only reads it. Steps are those of the wheel, channels are indices
// in Channels; one that is out of range makes Solve panic.
type Problem struct {
	Turn        int // steps of the wheel
	TripsAtOnce int // most notes on one step of the wheel; 0 is no limit
	Channels    []Channel
	Meetings    []Meeting
	Notes       []Note
	Limits      Limits
}

// Channel is what one channel asks of its own notes.
type Channel struct {
	// Gap is the fewest steps from one of its notes to the next, and from the
	// last to the first round the seam, 1 or more. A channel with a gap of more
	// than a turn can have no note.
	Gap int

	// Advance is by how many steps its pins stand before their notes sound.
	Advance int
}

// Meeting forbids that a pin of one channel comes From to To steps, both among
// them, after a pin of another: earlier where negative. The steps are not
// brought to the turn; in whichever turns two pins stand so, they exclude each
// other. It goes for both channels and need not be given the other way round.
type Meeting struct {
	Channel, Other int // two different ones
	From, To       int // steps from a pin of Channel to one of Other
}

// Note is a note with all that may become of it: it takes one of its candidates
// or is left out. The notes of a channel keep the order in which they should
// sound; of those that should sound together any may come first.
type Note struct {
	Aim        int     // the step at which it should sound, 0 … Turn − 1
	LeaveOut   float64 // what leaving it out costs, 0 or more
	Stays      bool    // it may not be left out while there is any answer that keeps it
	Candidates []Candidate
}

// Candidate is a way to keep a note. A way that may not be taken is no candidate.
type Candidate struct {
	Channel int
	Later   int     // steps from the note's aim to where it sounds; earlier where negative
	Cost    float64 // 0 or more
}

// Limits bound the memory that Solve takes and how far it goes for a proof. How
// long it takes is up to its context. 0 stands for the usual limit.
type Limits struct {
	// Pairs is how many candidates may exclude each other, each counted from
	// both sides. Where there are more, notes are placed first come, first
	// served, and nothing is proved. Each takes 4 bytes; 12 million are usual.
	Pairs int

	// States is how many states are kept after a note at the most while a proof
	// is looked for, see the package's documentation; 4,096 are usual.
	States int
}

// LeftOut stands in a [Result] for a note that takes none of its candidates.
const LeftOut = -1

// Result is an answer to a [Problem] and what is proved of it.
type Result struct {
	Chosen     []int   // by note: the index of its candidate, or [LeftOut]
	Cost       float64 // of all notes
	LowerBound float64 // no answer that keeps the notes that stay costs less; where Exact, it is Cost
	Exact      bool    // Cost is the least
	Unkept     []int   // notes that stay and are left out all the same
	Impossible bool    // that some note is Unkept is proved
}
