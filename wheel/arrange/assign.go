package arrange

import "pinwright/wheel"

// cast is who plays what at one transposition.
type cast struct {
	of      []casting // by voice; of those that have notes
	choices [][]int32 // the same, for the matching
}

func newCast(voices int) *cast {
	return &cast{make([]casting, voices), make([][]int32, voices)}
}

func (c *cast) set(g *grid, vs *voices, semitones int) {
	for _, v := range g.voices {
		c.of[v] = vs.cast(v, semitones)
		c.choices[v] = c.of[v].choices
	}
}

// assign gives the notes their channels and counts them in the report.
func (g *grid) assign(m *wheel.Machine, vs *voices, c *cast, mt *matching, r *Report) []placedNote {
	mt.reset(c.choices)
	pins := make([]placedNote, 0, len(g.cells))
	r.Changes = []Change{}
	for start := 0; start < len(g.cells); {
		end := start
		for ; end < len(g.cells) && g.cells[end].step() == g.cells[start].step(); end++ {
			g.take(g.cells[end], m, c, mt, r)
		}
		pins = g.pinsOf(g.cells[start:end], c, mt, pins)
		start = end
	}
	r.Notes, r.Placed = len(g.cells), len(pins)
	r.Merged = r.Notes - r.Placed - r.Dropped - r.OutOfRange
	var heard errorSum
	for _, v := range g.voices {
		if len(c.choices[v]) > 0 {
			heard.join(g.errors[v])
		}
	}
	r.WorstErrorMS, r.RMSErrorMS = heard.worstMS, heard.rmsMS()
	return pins
}

func (g *grid) take(n cell, m *wheel.Machine, c *cast, mt *matching, r *Report) {
	v := n.voice()
	leave := func(id, why string) {
		r.Dropped++
		r.Changes = append(r.Changes, Change{Kind: "dropped", Channel: id, FromStep: n.step(), ToStep: n.step(), Why: why})
	}
	switch c.of[v].fate {
	case lost:
		r.OutOfRange++
	case rests:
		channel := &m.Channels[c.of[v].resting]
		leave(channel.ID, channel.Name+" is resting")
	case silenced:
		leave("", "the percussion table leaves its key out")
	default:
		mt.take(n.step(), v)
	}
}

// pinsOf appends the pins of one step to which notes were matched. A note is
// the pin's own that a channel holds for its voice; one that found none free is
// merged with the pin of the first channel it could have had, which then weighs
// what both weigh.
func (g *grid) pinsOf(notes []cell, c *cast, mt *matching, pins []placedNote) []placedNote {
	first := len(pins)
	if notes[0].step() != mt.step {
		return pins
	}
	for _, channel := range mt.list {
		pins = append(pins, placedNote{channel: channel, aim: int32(mt.step)})
	}
	here := pins[first:]
	for i := 0; i < len(notes); {
		v := notes[i].voice()
		choices := c.choices[v]
		end := i
		for end < len(notes) && notes[end].voice() == v {
			end++
		}
		if len(choices) == 0 {
			i = end
			continue
		}
		own, room := end-1, -1 // the heaviest are the pins' own
		for p := range here {
			switch {
			case mt.holder[here[p].channel] == v && own >= i:
				here[p].join(notes[own], choices)
				own--
				room = p
			case room < 0 && here[p].channel == choices[0]:
				room = p
			}
		}
		for ; own >= i; own-- {
			here[room].join(notes[own], nil)
		}
		i = end
	}
	return pins
}

func (p *placedNote) join(n cell, choices []int32) {
	p.weight += n.weight()
	p.notes++
	if choices != nil {
		p.choices = choices
	}
}
