package wheel

import (
	"encoding/json"
	"maps"
	"math"
	"slices"
)

// PinningFormat is the format line of a pinning file.
const PinningFormat = "pinwright-pinning/1"

// Pinning is a set of pins: one song as set on one machine.
type Pinning struct {
	Format   string  `json:"format"`
	Title    string  `json:"title"`
	Machine  string  `json:"machine"`
	TempoBPM float64 `json:"tempo_bpm"`

	// How its music is counted; left out, as the machine's wheel is.
	StepsPerBeat Count `json:"steps_per_beat,omitzero"`
	BeatsPerBar  Count `json:"beats_per_bar,omitzero"`

	Advance map[string]int `json:"advance,omitempty"` // by channel id, in steps
	Pins    []Pin          `json:"pins"`
}

// Pin is something at (channel, step) that trips the lever as the wheel turns.
type Pin struct {
	Channel string `json:"channel"`
	Step    int    `json:"step"`
	Aim     Aim    `json:"aim,omitzero"`
}

// Aim is the step at which a pin's note should sound. It may be fractional.
// An aim that is not given follows the pin: its step + its channel's advance.
type Aim struct {
	Step  float64
	Given bool
}

// AimAt is an aim that was given.
func AimAt(step float64) Aim { return Aim{Step: step, Given: true} }

func (a Aim) MarshalJSON() ([]byte, error) { return json.Marshal(a.Step) }

func (a *Aim) UnmarshalJSON(b []byte) error {
	a.Given = true
	return json.Unmarshal(b, &a.Step)
}

// AimOf is where pin's note should sound, in steps from the seam. It is not
// brought to the turn.
func (p *Pinning) AimOf(pin Pin) float64 {
	if pin.Aim.Given {
		return pin.Aim.Step
	}
	return float64(pin.Step + p.Advance[pin.Channel])
}

// Offset is step − aim of a pin on a wheel of n steps, in steps: usually the
// channel's advance, negative. Aims count modulo the turn, so of all equal
// ones it takes the one that is nearest the channel's advance.
func (p *Pinning) Offset(pin Pin, n int) float64 {
	adv := float64(p.Advance[pin.Channel])
	if !pin.Aim.Given {
		return -adv
	}
	stray := float64(pin.Step) - pin.Aim.Step + adv
	turn := float64(n)
	return stray - turn*math.Round(stray/turn) - adv
}

// Sort orders pins as the wheel turns: by step, then by channel id.
func (p *Pinning) Sort() { slices.SortFunc(p.Pins, comparePins) }

func comparePins(a, b Pin) int {
	if a.Step != b.Step {
		return a.Step - b.Step
	}
	switch {
	case a.Channel < b.Channel:
		return -1
	case a.Channel > b.Channel:
		return 1
	}
	return 0
}

// Clone returns a copy that shares nothing with p.
func (p *Pinning) Clone() *Pinning {
	q := *p
	q.Advance = maps.Clone(p.Advance)
	q.Pins = slices.Clone(p.Pins)
	return &q
}
