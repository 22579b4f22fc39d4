package history

import (
	"strings"
	"time"

	"pinwright/wheel"
)

// MaxMarks is how many marks a pinning may have.
const MaxMarks = 1000

// Mark is a name for a pinning as an edit left it.
type Mark struct {
	ID        int64
	PinningID int64
	Seq       int64 // of that edit; 0: as the pinning came in
	Name      string
	At        time.Time // when it was set
}

// MarkName is a name as a mark takes it, without spaces around it. One that a
// mark cannot have is refused.
func MarkName(name string) (string, error) {
	name = strings.TrimSpace(name)
	if name == "" {
		return "", wheel.Refuse(wheel.ErrInvalid, "the mark has no name; give it one, such as “before the school visit”")
	}
	return name, wheel.CheckLine("the mark's name", name, wheel.MaxName)
}

// FindMark finds the mark of a pinning that a name, as [MarkName] gave it, sets
// on the state after its last edit, seq: the one that is there already, or nil
// if a new one is to be set. A name that marks a different state is refused
// ([wheel.ErrConflict]), as is one mark too many. title names the pinning in
// the sentence.
func FindMark(marks []Mark, title string, seq int64, name string) (*Mark, error) {
	for i := range marks {
		switch m := &marks[i]; {
		case m.Name == name && m.Seq == seq:
			return m, nil
		case m.Name == name:
			return nil, wheel.Refuse(wheel.ErrConflict, "%s has a mark called %s already; give this one another name, or remove that one first", title, name)
		}
	}
	if len(marks) >= MaxMarks {
		return nil, wheel.Refuse(wheel.ErrConflict, "%s has %d marks; %d at most, so remove some first", title, len(marks), MaxMarks)
	}
	return nil, nil
}
