package pinnings

import (
	"encoding/json"
	"net/http"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// wheelData is the wheel's face for the drawing and for work on it: channels by
// row, pins by step.
func (s *area) wheelData(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	type channel struct {
		ID      string `json:"id"`
		Name    string `json:"name"`
		Kind    string `json:"kind"`
		Row     int    `json:"row"`
		Resting bool   `json:"resting"`
		Advance int    `json:"advance"`
		Pins    []int  `json:"pins"`
		// The aims that are given, by step.
		Aims map[int]float64 `json:"aims,omitempty"`
	}
	face := struct {
		Seq          int64     `json:"seq"` // of the last edit in it
		Steps        int       `json:"steps"`
		StepsPerBeat int       `json:"steps_per_beat"`
		BeatsPerBar  int       `json:"beats_per_bar"`
		Channels     []channel `json:"channels"`
	}{p.Seq, m.File.Wheel.Steps, m.File.Wheel.StepsPerBeat, m.File.Wheel.BeatsPerBar, nil}
	pins := map[string][]int{}
	aims := map[string]map[int]float64{}
	for _, pin := range p.File.Pins {
		pins[pin.Channel] = append(pins[pin.Channel], pin.Step)
		if !pin.Aim.Given {
			continue
		}
		if aims[pin.Channel] == nil {
			aims[pin.Channel] = map[int]float64{}
		}
		aims[pin.Channel][pin.Step] = pin.Aim.Step
	}
	for i := range m.File.Channels {
		c := &m.File.Channels[i]
		steps := pins[c.ID]
		slices.Sort(steps)
		if steps == nil {
			steps = []int{}
		}
		face.Channels = append(face.Channels, channel{
			c.ID, say.Steady(c.Name), string(c.Kind), c.Row, c.Service == wheel.Resting, p.File.Advance[c.ID], steps, aims[c.ID],
		})
	}
	slices.SortFunc(face.Channels, func(a, b channel) int { return a.Row - b.Row })
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(face)
}
