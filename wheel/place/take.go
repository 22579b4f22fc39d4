package place

import (
	"iter"
	"slices"

	"pinwright/wheel"
)

// Take is what the work makes of a tap: how it is kept, and what it changes of
// the pins. Nothing changes where they are so already. m is the machine as it is
// now; past are the job's done taps at the step of the tap, or at that of the
// tap which it takes back, and its taps that take back, in order.
//
// A tap is refused where other work on the wheel was begun since: what it says
// may no longer be so ([wheel.ErrConflict]). A job that was merely stopped takes
// taps that come late, and any job takes trouble.
func (w *Work) Take(t Tap, m *wheel.Machine, past []KeptTap) (KeptTap, error) {
	k := KeptTap{ID: t.ID, Kind: t.Kind, Step: t.Step, Of: t.Of}
	if !w.Latest && t.Kind != TapTrouble {
		return k, wheel.Refuse(wheel.ErrConflict, "other work on the wheel was begun since this tap; it was not kept. Look at step %d on the wheel, and proofread it if in doubt", t.Step)
	}
	if t.Step < 0 || t.Step >= w.Steps {
		return k, wheel.Refuse(wheel.ErrInvalid, "the tap is for step %d; the wheel has steps 0 to %d", t.Step, w.Steps-1)
	}
	var err error
	switch {
	case t.Kind == TapDone && w.Kind.Moves():
		k.Changes, err = w.done(t, past)
	case t.Kind == TapBack:
		var of KeptTap
		if of, err = takenBack(t.Of, past); err != nil {
			return k, err
		}
		k.Of, k.Changes = of.ID, w.back(of, past)
	case t.Kind == TapRead && w.Kind == JobProof:
	case t.Kind == TapFound && w.Kind == JobProof:
		k.Changes, err = w.found(t, m)
	case t.Kind == TapTrouble:
		err = t.checkPlace(m)
	default:
		err = wheel.Refuse(wheel.ErrInvalid, "a tap that says %q does not belong to this work on the wheel", string(t.Kind))
	}
	return k, err
}

// done are the pulls and drives that a tap says are done and that are left.
// Those of its channels that another tap did already are done; a channel with
// nothing to do there is refused, as hands may be at another place than the page
// says.
func (w *Work) done(t Tap, past []KeptTap) ([]wheel.PinChange, error) {
	at := func(pins []wheel.Pin) []wheel.Pin { return atStep(sorted(pins), t.Step) }
	pulls, drives := Apart(at(w.On), at(w.Target.Pins))
	has := func(pins []wheel.Pin, channel string) bool {
		return slices.ContainsFunc(pins, func(p wheel.Pin) bool { return p.Channel == channel })
	}
	var changes []wheel.PinChange
	for _, channel := range slices.Compact(slices.Sorted(slices.Values(t.Channels))) {
		pin := wheel.Pin{Channel: channel, Step: t.Step}
		switch {
		case has(drives, channel):
			changes = append(changes, wheel.Drive(pin))
		case has(pulls, channel):
			changes = append(changes, wheel.Pull(pin))
		case !moved(pin, past):
			return nil, wheel.Refuse(wheel.ErrConflict, "there is nothing to pull or drive at step %d on %.60s, and there was not; load the page again and look at the wheel", t.Step, channel)
		}
	}
	return changes, nil
}

// moved reports whether some tap pulled or drove a pin in a hole.
func moved(pin wheel.Pin, past []KeptTap) bool {
	for _, k := range past {
		if k.Kind == TapDone && k.Step == pin.Step &&
			slices.ContainsFunc(k.Changes, func(c wheel.PinChange) bool { return c.Channel == pin.Channel }) {
			return true
		}
	}
	return false
}

// takenBack is the tap that did what the tap with an id says was done: itself or,
// where it found all done already, the last one that did something at its step
// and was not taken back.
func takenBack(id string, past []KeptTap) (KeptTap, error) {
	i := slices.IndexFunc(past, func(k KeptTap) bool { return k.Kind == TapDone && k.ID == id })
	if i < 0 {
		return KeptTap{}, wheel.Refuse(wheel.ErrConflict, "there is no such step to take back; look at what is left")
	}
	of := past[i]
	if len(of.Changes) > 0 {
		return of, nil
	}
	same := slices.DeleteFunc(slices.Clone(past), func(k KeptTap) bool { return k.Kind == TapDone && k.Step != of.Step })
	if last, ok := LastDone(backward(same)); ok {
		return last, nil
	}
	return of, nil
}

func backward(taps []KeptTap) iter.Seq[KeptTap] {
	return func(yield func(KeptTap) bool) {
		for _, k := range slices.Backward(taps) {
			if !yield(k) {
				return
			}
		}
	}
}

// LastDone is the last tap that did something and was not taken back. It looks
// at taps from the latest on, and no further than it must.
func LastDone(latestFirst iter.Seq[KeptTap]) (last KeptTap, ok bool) {
	back := map[string]bool{}
	for k := range latestFirst {
		switch {
		case k.Kind == TapBack:
			back[k.Of] = true
		case k.Kind == TapDone && len(k.Changes) > 0 && !back[k.ID]:
			return k, true
		}
	}
	return KeptTap{}, false
}

// back are the changes that take a tap back, where its holes are still as it left
// them and no other tap has taken it back.
func (w *Work) back(of KeptTap, past []KeptTap) []wheel.PinChange {
	if slices.ContainsFunc(past, func(k KeptTap) bool { return k.Kind == TapBack && k.Of == of.ID }) {
		return nil
	}
	return slices.DeleteFunc(wheel.Inverse(of.Changes), func(c wheel.PinChange) bool { return w.has(c.Step, c.Channel) != c.Was.Pin })
}

// found is what a proofreading changes of the record of the wheel.
func (w *Work) found(t Tap, m *wheel.Machine) ([]wheel.PinChange, error) {
	pin := wheel.Pin{Channel: t.Channel, Step: t.Step}
	change := wheel.Pull(pin)
	if t.There {
		change = wheel.Drive(pin)
	}
	if err := m.CheckChanges([]wheel.PinChange{change}).Err(); err != nil {
		return nil, wheel.RefuseFor(wheel.ErrInvalid, err, "what was found does not fit %s, and nothing was changed: %s", m.Name, err)
	}
	if w.has(t.Step, t.Channel) == t.There {
		return nil, nil
	}
	return []wheel.PinChange{change}, nil
}

// Apply makes changes of the pins on the wheel.
func (w *Work) Apply(changes []wheel.PinChange) {
	w.On = slices.Clone(sorted(w.On))
	for _, c := range changes {
		pin := wheel.Pin{Channel: c.Channel, Step: c.Step}
		switch i, there := slices.BinarySearchFunc(w.On, pin, byStep); {
		case c.Now.Pin && !there:
			w.On = slices.Insert(w.On, i, pin)
		case !c.Now.Pin && there:
			w.On = slices.Delete(w.On, i, i+1)
		}
	}
}

func (w *Work) has(step int, channel string) bool {
	_, there := slices.BinarySearchFunc(sorted(w.On), wheel.Pin{Channel: channel, Step: step}, byStep)
	return there
}

// atStep are the pins at a step, of pins in order.
func atStep(pins []wheel.Pin, step int) []wheel.Pin {
	from, _ := slices.BinarySearchFunc(pins, wheel.Pin{Step: step}, byStep)
	to, _ := slices.BinarySearchFunc(pins, wheel.Pin{Step: step + 1}, byStep)
	return pins[from:to:to]
}
