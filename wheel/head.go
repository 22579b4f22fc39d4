package wheel

import "maps"

// Head is what a pinning says besides its pins.
type Head struct {
	Title    string  `json:"title"`
	TempoBPM float64 `json:"tempo_bpm"`

	StepsPerBeat Count `json:"steps_per_beat,omitzero"`
	BeatsPerBar  Count `json:"beats_per_bar,omitzero"`

	Advance map[string]int `json:"advance,omitempty"` // by channel id, in steps
}

// Head is the pinning's head. It shares nothing with p.
func (p *Pinning) Head() Head {
	return Head{p.Title, p.TempoBPM, p.StepsPerBeat, p.BeatsPerBar, maps.Clone(p.Advance)}
}

// SetHead gives the pinning a head, with which it shares nothing.
func (p *Pinning) SetHead(h Head) {
	p.Title, p.TempoBPM, p.Advance = h.Title, h.TempoBPM, maps.Clone(h.Advance)
	p.StepsPerBeat, p.BeatsPerBar = h.StepsPerBeat, h.BeatsPerBar
}

// Equal tells whether two heads say the same.
func (h Head) Equal(other Head) bool {
	return h.Title == other.Title && h.TempoBPM == other.TempoBPM &&
		h.StepsPerBeat == other.StepsPerBeat && h.BeatsPerBar == other.BeatsPerBar && maps.Equal(h.Advance, other.Advance)
}
