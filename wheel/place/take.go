package place

import (
	"context"
	"iter"
	"slices"

	"pinwright/wheel"
)

// Take is what the work makes of a tap: how it is kept, and what it changes of
// the pins. Nothing changes where they are so already. m is the machine as it is
// now; log is what was said in the job before.
//
// A tap is refused where other work on the wheel was begun since: what it says
// may no longer be so ([wheel.ErrConflict]). A job that was merely stopped takes
// taps that come late, and any job takes trouble.
func (w *Work) Take(ctx context.Context, t Tap, m *wheel.Machine, log Log) (KeptTap, error) {
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
		k.Changes, err = w.done(ctx, t, log)
	case t.Kind == TapBack:
		k.Of, k.Changes, err = w.back(ctx, t.Of, log)
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
func (w *Work) done(ctx context.Context, t Tap, log Log) ([]wheel.PinChange, error) {
	at := func(pins []wheel.Pin) []wheel.Pin { return atStep(sorted(pins), t.Step) }
	pulls, drives := Apart(at(w.On), at(w.Target.Pins))
	has := func(pins []wheel.Pin, channel string) bool {
		return slices.ContainsFunc(pins, func(p wheel.Pin) bool { return p.Channel == channel })
	}
	var changes []wheel.PinChange
	var before []KeptTap // that said so of the step
	for _, channel := range slices.Compact(slices.Sorted(slices.Values(t.Channels))) {
		pin := wheel.Pin{Channel: channel, Step: t.Step}
		switch {
		case has(drives, channel):
			changes = append(changes, wheel.Drive(pin))
		case has(pulls, channel):
			changes = append(changes, wheel.Pull(pin))
		default:
			if before == nil {
				var err error
				if before, err = log.KindAt(ctx, TapDone, t.Step); err != nil {
					return nil, err
				}
			}
			if moved(channel, before) {
				continue
			}
			return nil, wheel.Refuse(wheel.ErrConflict, "there is nothing to pull or drive at step %d on %.60s; load the page again and look at the wheel", t.Step, channel)
		}
	}
	return changes, nil
}

// moved reports whether some tap at a step pulled or drove a pin of a channel.
func moved(channel string, done []KeptTap) bool {
	for _, k := range done {
		if slices.ContainsFunc(k.Changes, func(c wheel.PinChange) bool { return c.Channel == channel }) {
			return true
		}
	}
	return false
}

// back are the changes that take back what the tap with an id says was done, and
// the id of the tap that did it. Nothing changes where another tap has taken that
// back, or in holes that are no longer as it left them.
func (w *Work) back(ctx context.Context, id string, log Log) (of string, changes []wheel.PinChange, err error) {
	tap, kept, err := log.Tap(ctx, id)
	if err != nil {
		return "", nil, err
	}
	if !kept || tap.Kind != TapDone {
		return "", nil, wheel.Refuse(wheel.ErrConflict, "there is no such step to take back; look at what is left")
	}
	back, err := log.Kind(ctx, TapBack)
	if err != nil {
		return "", nil, err
	}
	if len(tap.Changes) == 0 {
		done, err := log.KindAt(ctx, TapDone, tap.Step)
		if err != nil {
			return "", nil, err
		}
		tap = didIt(tap, done, back)
	}
	if slices.ContainsFunc(back, func(k KeptTap) bool { return k.Of == tap.ID }) {
		return tap.ID, nil, nil
	}
	changes = slices.DeleteFunc(wheel.Inverse(tap.Changes), func(c wheel.PinChange) bool { return w.has(c.Step, c.Channel) != c.Was.Pin })
	return tap.ID, changes, nil
}

// didIt is the tap that did what a tap found done already: the last one at its
// step that did something and was not taken back. Where there is none it is the
// tap itself.
func didIt(tap KeptTap, done, back []KeptTap) KeptTap {
	if last, ok := LastDone(backward(slices.Concat(done, back))); ok { // a tap is taken back after it was made
		return last
	}
	return tap
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
