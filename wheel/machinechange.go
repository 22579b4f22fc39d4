package wheel

import (
	"slices"
	"strings"
	"time"
)

// MaxReason is how long the reason for a change of a machine may be, in
// characters.
const MaxReason = 500

// NewFileReason is the reason for a change that came with a whole new file.
const NewFileReason = "a new file was brought in"

// MachineChange is a dated change of a machine.
type MachineChange struct {
	ID      int64
	At      time.Time
	Reason  string
	Figures []ChangedFigure // by path
	Texts   []ChangedText   // what else changed, by path
}

// ChangedFigure is one figure of a change, before and after.
type ChangedFigure struct {
	Path     string // as in [Figure]
	From, To Maybe  // one that the file leaves out is not known
}

// ChangeReason is a reason as a change of a machine takes it, without spaces
// around it. One that a change cannot have is refused.
func ChangeReason(reason string) (string, error) {
	reason = strings.TrimSpace(reason)
	if reason == "" {
		return "", Refuse(ErrInvalid, "the change has no reason; say in a few words why, and who did it")
	}
	return reason, CheckLine("the reason", reason, MaxReason)
}

// Change is a copy of the machine with other values for some figures, and the
// figures that changed. A change that leaves every figure as it is, or after
// which the machine could not be used, is refused ([ErrInvalid]).
func (m *Machine) Change(sets ...Set) (*Machine, []ChangedFigure, error) {
	after, err := m.WithSets(sets...)
	if err == nil {
		after.dropMeasured(m)
		err = after.Check().Err()
	}
	if err != nil {
		return nil, nil, RefuseFor(ErrInvalid, err, "the change cannot be kept: %s", err)
	}
	changed := m.ChangedFigures(after)
	if len(changed) == 0 {
		return nil, nil, Refuse(ErrInvalid, "the change leaves every figure as it is; nothing was kept")
	}
	return after, changed, nil
}

// WithHouse is a copy of the machine with another top speed of the house and the
// reason for it; with neither where no tempo is given. What was measured of the
// old one is dropped. It refuses ([ErrInvalid]) a limit without a reason, one
// that the machine cannot have, and a change that leaves both as they are.
func (m *Machine) WithHouse(bpm Maybe, why string) (*Machine, error) {
	why = strings.TrimSpace(why)
	switch {
	case !bpm.IsKnown():
		why = ""
	case why == "":
		return nil, Refuse(ErrInvalid, "the house limit has no reason; say in a few words why the machine must not be turned faster")
	}
	after := m.Clone()
	after.Limits.HouseBPM, after.Limits.HouseWhy = bpm, why
	after.dropMeasured(m)
	if err := after.Check().Err(); err != nil {
		return nil, RefuseFor(ErrInvalid, err, "the house limit cannot be kept: %s", err)
	}
	if bpm == m.Limits.HouseBPM && why == m.Limits.HouseWhy {
		return nil, Refuse(ErrInvalid, "the house limit and its reason are as they were; nothing was kept")
	}
	return after, nil
}

// ChangedFigures are the figures that two states of a machine both have and
// that differ, in the order of [Machine.Figures].
func (m *Machine) ChangedFigures(after *Machine) []ChangedFigure {
	is := map[string]Maybe{}
	for _, f := range after.Figures() {
		is[f.Path] = f.maybe()
	}
	var changed []ChangedFigure
	for _, was := range m.Figures() {
		if to, there := is[was.Path]; there && to != was.maybe() {
			changed = append(changed, ChangedFigure{was.Path, was.maybe(), to})
		}
	}
	return changed
}

func (f Figure) maybe() Maybe {
	if !f.Given {
		return Maybe{}
	}
	return Known(f.Value)
}

// dropMeasured forgets what was measured of figures that are no longer what
// they were: a number typed by hand was not measured.
func (m *Machine) dropMeasured(before *Machine) {
	m.kept = nil
	changed := map[string]bool{}
	for _, f := range before.ChangedFigures(m) {
		changed[f.Path] = true
	}
	m.Measured = slices.DeleteFunc(m.Measured, func(e Measured) bool { return changed[e.Figure] })
	if len(m.Measured) == 0 {
		m.Measured = nil
	}
}
