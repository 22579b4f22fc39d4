package arrange

import (
	"fmt"
	"slices"

	"pinwright/wheel"
)

// Decision is what the arranger decides on a change that was proposed. A
// change that is taken is kept, whatever else has to change for it; one that
// is refused is not proposed again.
type Decision struct {
	Channel   string // id of the note's channel before easing
	Step      int    // its aim before easing, 0 … N − 1
	Kind      string // "shifted", "dropped" or "moved"
	ToChannel string // id; of a note that is moved
	ToStep    int    // aim after easing; of a note that is shifted or moved
	Take      bool   // else it is refused
}

// wish is what was decided on a note.
type wish struct {
	out     bool   // it is to be left out
	stays   bool   // it is not to be left out
	taken   []site // one of these it must have
	refused []site
}

func (w *wish) allows(s site) bool {
	if w.out {
		return false
	}
	return (w.taken == nil || slices.Contains(w.taken, s)) && !slices.Contains(w.refused, s)
}

func (w *wish) mayLeaveOut() bool { return w.taken == nil && !w.stays }

// wishes are the decisions, by note. The error is a sentence on the first that
// cannot be.
func wishes(m *wheel.Machine, notes []placedNote, decisions []Decision) ([]wish, error) {
	all := make([]wish, len(notes))
	if len(decisions) == 0 {
		return all, nil
	}
	type place struct{ channel, aim int }
	at := make(map[place]int, len(notes))
	for i, n := range notes {
		at[place{int(n.channel), int(n.aim)}] = i
	}
	for i, d := range decisions {
		wrong := func(format string, args ...any) error {
			return fmt.Errorf("decisions[%d] %s", i, fmt.Sprintf(format, args...))
		}
		channel := m.Channel(d.Channel)
		if channel < 0 {
			return nil, wrong("is about channel %q; %s has none of that id", d.Channel, m.Name)
		}
		note, ok := at[place{channel, d.Step}]
		if !ok {
			return nil, wrong("is about a note of %s at step %d; there is none", m.Channels[channel].Name, d.Step)
		}
		w := &all[note]
		if d.Kind == "dropped" {
			if d.Take && (w.stays || w.taken != nil) || !d.Take && w.out {
				return nil, wrong("contradicts an earlier one on the same note")
			}
			w.out, w.stays = w.out || d.Take, w.stays || !d.Take
			continue
		}
		sites, err := d.sites(m, &notes[note])
		if err != nil {
			return nil, wrong("%v", err)
		}
		if !d.Take {
			w.refused = append(w.refused, sites...)
			if w.taken != nil && !slices.ContainsFunc(w.taken, w.allows) {
				return nil, wrong("contradicts an earlier one on the same note")
			}
			continue
		}
		if w.out || w.taken != nil && !slices.Equal(w.taken, sites) {
			return nil, wrong("contradicts an earlier one on the same note")
		}
		if w.taken = sites; !slices.ContainsFunc(sites, w.allows) {
			return nil, wrong("contradicts an earlier one on the same note")
		}
	}
	return all, nil
}

// sites are where a change puts a note: one site, but on a wheel of few steps,
// where two ways round end on the same.
func (d *Decision) sites(m *wheel.Machine, n *placedNote) (sites []site, err error) {
	to := int(n.channel)
	switch d.Kind {
	case "shifted":
		if d.ToChannel != "" && d.ToChannel != d.Channel {
			return nil, fmt.Errorf("shifts a note to channel %q; a note that changes its channel is moved", d.ToChannel)
		}
	case "moved":
		if to = m.Channel(d.ToChannel); to < 0 || to == int(n.channel) || !slices.Contains(n.choices, int32(to)) {
			return nil, fmt.Errorf("moves a note of %s to channel %q; it may go to another channel with its key, in service", m.Channels[n.channel].Name, d.ToChannel)
		}
	default:
		return nil, fmt.Errorf("is of kind %q; it should be \"shifted\", \"dropped\" or \"moved\"", d.Kind)
	}
	for later := int32(-farthest); later <= farthest; later++ {
		if m.Wheel.Wrap(int(n.aim+later)) == d.ToStep && (d.Kind == "moved" || later != 0) {
			sites = append(sites, site{int32(to), later})
		}
	}
	if sites == nil {
		return nil, fmt.Errorf("moves the note at step %d to step %d; it may go one or two steps", n.aim, d.ToStep)
	}
	return sites, nil
}
