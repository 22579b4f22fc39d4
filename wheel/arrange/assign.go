package arrange

import "pinwright/wheel"

// placedNote is a note that has a channel and, there, a pin of its own.
type placedNote struct {
	channel, aim int32
}

// assign gives the notes their channels and counts them in the report.
func (g *grid) assign(m *wheel.Machine, km *keyMap, r *Report) []placedNote {
	to, heard := g.keysTo(km, r.Transpose)
	var why [allKeys]string
	mt := newMatching(km)
	pins := make([]placedNote, 0, heard.notes)
	r.Changes = []Change{}
	for _, c := range g.cells {
		switch k := to[c.key()]; {
		case k == nowhere:
			r.OutOfRange++
		case len(km.playing[k]) > 0:
			if channel := mt.take(c.step(), key(k)); channel >= 0 {
				pins = append(pins, placedNote{int32(channel), int32(c.step())})
			} else {
				r.Merged++
			}
		default:
			channel := &m.Channels[km.resting[k][0]]
			if why[k] == "" {
				why[k] = channel.Name + " is resting"
			}
			r.Dropped++
			r.Changes = append(r.Changes, Change{"dropped", channel.ID, c.step(), c.step(), why[k]})
		}
	}
	r.Notes, r.Placed = len(g.cells), len(pins)
	r.WorstErrorMS, r.RMSErrorMS = heard.worstMS, heard.rmsMS()
	return pins
}

// nowhere stands for a key that no channel has.
const nowhere = -1

// keysTo is the key that each key of the song becomes on the machine, or
// nowhere, and the errors of all the notes that channels in service play.
func (g *grid) keysTo(km *keyMap, semitones int) (to [allKeys]int, heard errorSum) {
	for n := range to {
		k, ok := key(n).moved(semitones)
		switch {
		case ok && len(km.playing[k]) > 0:
			heard.join(g.errors[n])
			fallthrough
		case ok && len(km.resting[k]) > 0:
			to[n] = int(k)
		default:
			to[n] = nowhere
		}
	}
	return to, heard
}
