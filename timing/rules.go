package timing

// Kind is a rule that a pinning can break.
type Kind uint8

const (
	Crowded  Kind = iota // the lever has not fallen back
	Unready              // the gate has not taken in the next marble
	Unclear              // the plate still has the last marble
	Meeting              // two marbles nearer than the least spacing in one lane
	Overload             // more pins on one step than the wheel may trip at once
	Silent               // a pin on a channel that is out of service
)

var kindNames = [...]string{"crowded", "unready", "unclear", "meeting", "overload", "silent"}

func (k Kind) String() string { return kindNames[k] }

func (k Kind) MarshalText() ([]byte, error) { return []byte(kindNames[k]), nil }

// met is the slack within which a bound counts as met exactly, and so as
// safe: one nanosecond. It keeps the last bit of a tempo that was printed and
// typed in again from deciding whether a pinning is safe.
const met = 1e-9
