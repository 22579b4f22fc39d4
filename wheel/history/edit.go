package history

import (
	"encoding/json"
	"hash/fnv"
	"strings"
	"time"

	"pinwright/wheel"
)

// The kinds of edits that are made here. All others are the sender's own words,
// such as drive, pull, move.
const (
	KindUndo   = "undo"
	KindRedo   = "redo"
	KindReturn = "return"
	KindBring  = "bring"  // the pinning as a whole, from a file
	KindRename = "rename" // a new title
	KindBars   = "bars"   // bars of another number of beats
)

const (
	maxKind  = 20  // letters
	maxWords = 200 // characters
)

// NewEdit is an edit as it is sent.
type NewEdit struct {
	ID      string // the sender's own, at most 64 bytes: the same for the same edit sent again
	Base    int64  // the last edit that the sender had seen, with all before it; 0 for none
	By      string // a name for who made it; may be empty
	Kind    string // one word in small letters
	Words   string // what it does, in one line
	Changes []wheel.PinChange
	Head    *HeadChange // nil: the head stays
}

// Edit is an edit as it is kept.
type Edit struct {
	Seq   int64 // 1, 2, 3 … within its pinning
	ID    string
	At    time.Time
	By    string
	Kind  string
	Words string
	// Of is the edit that an undo took back or a redo made again, or the one
	// that a return went back to, which may be 0, as the pinning came in.
	Of      int64
	Changes []wheel.PinChange // what it actually changed
	Head    *HeadChange       // what it actually changed; nil: nothing
	Held    []Conflict        // what was held back of it
}

// Conflict is a change that was held back: since the edit's base someone else
// has changed the hole, to something else. To make it all the same, it is sent
// again in a new edit whose base is the present one.
type Conflict struct {
	wheel.PinChange              // as it was asked for
	Is              wheel.InHole `json:"is,omitzero"` // what the hole holds
	Seq             int64        `json:"seq"`         // of the edit that touched the hole last
	By              string       `json:"by"`          // who made that one
}

// Check refuses what cannot be kept of any pinning.
func (n *NewEdit) Check() error {
	if err := CheckSender(n.ID, n.By); err != nil {
		return err
	}
	odd := func(r rune) bool { return r < 'a' || r > 'z' }
	switch {
	case n.Kind == "" || len(n.Kind) > maxKind || strings.ContainsFunc(n.Kind, odd):
		return wheel.Refuse(wheel.ErrInvalid, "the edit's kind is %.*q; it should be one word of at most %d small letters, such as drive", maxKind, n.Kind, maxKind)
	case n.Kind == KindUndo || n.Kind == KindRedo || n.Kind == KindReturn:
		return wheel.Refuse(wheel.ErrInvalid, "the edit's kind is %q, which has a call of its own", n.Kind)
	case len(n.Changes) == 0 && n.Head == nil:
		return wheel.Refuse(wheel.ErrInvalid, "the edit changes nothing; it should name at least one hole")
	case strings.TrimSpace(n.Words) == "":
		return wheel.Refuse(wheel.ErrInvalid, "the edit has no words; say in a line what it does")
	}
	return wheel.CheckLine("the edit's text", n.Words, maxWords)
}

// CheckSender refuses the id and the name of a sender that no edit can have.
func CheckSender(id, by string) error { return wheel.CheckSent("edit", id, by) }

// Fingerprint is a number that two edits share only if they ask for the same.
// Base and sender do not count: when an edit is sent again, its sender may have
// seen more edits, or have entered a different name. of is the edit that an
// undo, redo or return asks for.
func (n *NewEdit) Fingerprint(of int64) (int64, error) {
	h := fnv.New64a()
	err := json.NewEncoder(h).Encode([]any{n.Kind, n.Words, n.Changes, n.Head, of})
	if err != nil {
		return 0, wheel.RefuseFor(wheel.ErrInvalid, err, "the edit cannot be kept: %s", err)
	}
	return int64(h.Sum64()), nil
}

// CheckRepeat refuses an edit that has the id of one already kept and asks for
// something else. asked and kept are the fingerprints of the two.
func (e *Edit) CheckRepeat(kept, asked int64) error {
	if kept != asked {
		return wheel.Refuse(wheel.ErrConflict, "another edit with the id %s is kept already (%s), and this one was not; send it with an id of its own", e.ID, e.Words)
	}
	return nil
}

// Empty tells whether the edit changes nothing.
func (e *Edit) Empty() bool { return len(e.Changes) == 0 && e.Head == nil }

// Driven is by how many pins the edit makes the pinning larger.
func (e *Edit) Driven() int {
	n := 0
	for _, c := range e.Changes {
		switch {
		case c.Now.Pin && !c.Was.Pin:
			n++
		case c.Was.Pin && !c.Now.Pin:
			n--
		}
	}
	return n
}
