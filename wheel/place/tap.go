package place

import (
	"encoding/json"
	"hash/fnv"
	"time"

	"pinwright/wheel"
)

// TapKind is what someone at the wheel says.
type TapKind string

const (
	TapDone    TapKind = "done"    // pulls and drives of one step are done
	TapBack    TapKind = "back"    // what a tap said is done is not
	TapRead    TapKind = "read"    // a step was read aloud, and compared
	TapFound   TapKind = "found"   // a hole has a pin, or has none
	TapTrouble TapKind = "trouble" // something is wrong there
)

// What is kept among the taps besides those that are sent.
const (
	TapSaid   TapKind = "said"   // someone said what is on the wheel
	TapBegin  TapKind = "begin"  // a job began
	TapStop   TapKind = "stop"   // it was stopped
	TapResume TapKind = "resume" // and gone on with
)

// Tap is what someone at the wheel says, as it is sent.
type Tap struct {
	ID       string // the sender's own, at most 64 bytes: the same for the same tap sent again
	Kind     TapKind
	Step     int
	Channels []string      // of done: whose pulls and drives
	Channel  string        // of found; of trouble, empty for the whole step
	There    bool          // of found: the hole has a pin
	Of       string        // of back: the id of the tap that said so
	Trouble  TroubleKind   // of trouble
	Note     string        // of trouble
	Ago      time.Duration `json:"-"` // how long ago it was made: taps are sent later where the program was away
}

// maxAgo is the longest that a tap may have been on its way.
const maxAgo = 7 * 24 * time.Hour

// Check refuses a tap that no job can take.
func (t *Tap) Check() error {
	if err := wheel.CheckSent("tap", t.ID, ""); err != nil {
		return err
	}
	switch t.Kind {
	case TapDone:
		if len(t.Channels) == 0 || len(t.Channels) > wheel.MaxChannels {
			return wheel.Refuse(wheel.ErrInvalid, "the tap says that a step is done and names %d channels; it should be 1 to %d", len(t.Channels), wheel.MaxChannels)
		}
	case TapBack:
		if t.Of == "" || len(t.Of) > wheel.MaxSentID {
			return wheel.Refuse(wheel.ErrInvalid, "the tap takes another back and does not say which")
		}
	case TapTrouble:
		return t.checkTrouble()
	case TapRead, TapFound:
	default:
		return wheel.Refuse(wheel.ErrInvalid, "the tap says %.20q, which cannot be said at the wheel", string(t.Kind))
	}
	return nil
}

// Fingerprint is the same for the same tap of the same job, and in all likelihood
// another for any other. It is kept with the tap, so it must stay what it is.
func (t *Tap) Fingerprint(jobID int64) (int64, error) {
	h := fnv.New64a()
	if err := json.NewEncoder(h).Encode([]any{jobID, t}); err != nil {
		return 0, wheel.RefuseFor(wheel.ErrInvalid, err, "the tap cannot be kept: %s", err)
	}
	return int64(h.Sum64()), nil
}

// CheckRepeat refuses a tap whose id is kept already with another fingerprint
// ([wheel.ErrConflict]). With the same one it is the same tap, sent again, which is
// not kept twice.
func (t *Tap) CheckRepeat(kept, asked int64) error {
	if kept != asked {
		return wheel.Refuse(wheel.ErrConflict, "another tap with the id %s is kept already, and this one was not", t.ID)
	}
	return nil
}

// MadeAt is when a tap that comes now was made: never before its job began.
func (t *Tap) MadeAt(now, begun time.Time) time.Time {
	at := now.Add(-min(max(t.Ago, 0), maxAgo))
	if at.Before(begun) {
		return begun
	}
	return at
}

// KeptTap is a tap as it was kept.
type KeptTap struct {
	ID      string
	Kind    TapKind
	Step    int
	Of      string            // of back: the id of the tap that it takes back
	Changes []wheel.PinChange // what it changed of the pins
}
