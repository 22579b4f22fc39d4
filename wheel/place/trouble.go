package place

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// TroubleKind is what is wrong somewhere on the machine.
type TroubleKind string

// TroubleKinds lists every kind of trouble.
var TroubleKinds = []TroubleKind{"bent pin", "split hole", "jammed lever", "other"}

const (
	maxNote      = 500 // characters of a note
	maxChannelID = 256 // bytes and characters of a channel's id
)

// Trouble is something wrong somewhere on the machine.
type Trouble struct {
	ID        int64
	MachineID int64
	At        time.Time
	Kind      TroubleKind
	Step      int
	Channel   string // empty: the whole step
	Note      string
	Mended    time.Time // zero while it is wrong
}

func (t *Tap) checkTrouble() error {
	if !slices.Contains(TroubleKinds, t.Trouble) {
		return wheel.Refuse(wheel.ErrInvalid, "the trouble is %.40q; it should be bent pin, split hole, jammed lever or other", string(t.Trouble))
	}
	if len(t.Channel) > maxChannelID {
		return wheel.Refuse(wheel.ErrInvalid, "the trouble is on a channel whose id is too long to be one")
	}
	if err := wheel.CheckLine("the channel of the trouble", t.Channel, maxChannelID); err != nil {
		return err
	}
	return wheel.CheckLine("the note", t.Note, maxNote)
}

// checkPlace refuses trouble on a channel that the machine does not have.
func (t *Tap) checkPlace(m *wheel.Machine) error {
	if t.Channel != "" && m.Channel(t.Channel) < 0 {
		return wheel.Refuse(wheel.ErrInvalid, "the trouble is on the channel %.64q, and %s has no such channel", t.Channel, m.Name)
	}
	return nil
}

// Where says where the trouble is on the machine as it is now, which may no
// longer have the channel or the step.
func (t Trouble) Where(m *wheel.Machine) string {
	where := "step " + strconv.Itoa(t.Step)
	if t.Step < m.Wheel.Steps {
		where += ", " + m.Wheel.PlaceText(t.Step)
	}
	if c := m.Channel(t.Channel); c >= 0 {
		where = fmt.Sprintf("row %d, %s, %s", m.Channels[c].Row, m.Channels[c].Name, where)
	} else if t.Channel != "" {
		where = t.Channel + ", " + where
	}
	return say.Capital(where)
}
