package wheel

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
)

// InHole is what a hole holds: a pin, with its aim where one is given, or, as
// the zero value, none. In JSON it is {"aim": 16}, {} or null.
type InHole struct {
	Pin bool
	Aim Aim
}

// InHole is what the pin's hole holds.
func (p Pin) InHole() InHole { return InHole{Pin: true, Aim: p.Aim} }

// pinInHole is a hole's pin as JSON has it.
type pinInHole struct {
	Aim *float64 `json:"aim,omitempty"`
}

func (h InHole) MarshalJSON() ([]byte, error) {
	switch {
	case !h.Pin:
		return []byte("null"), nil
	case !h.Aim.Given:
		return []byte("{}"), nil
	}
	return json.Marshal(pinInHole{&h.Aim.Step})
}

func (h *InHole) UnmarshalJSON(text []byte) error {
	switch string(text) { // most of a long history is these
	case "null", "{}":
		*h = InHole{Pin: text[0] == '{'}
		return nil
	}
	var pin *pinInHole
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&pin); err != nil {
		return fmt.Errorf(`what a hole holds is %s; it should be {"aim": 16}, {} or null`, ShowJSON(text))
	}
	*h = InHole{Pin: pin != nil}
	if h.Pin && pin.Aim != nil {
		h.Aim = AimAt(*pin.Aim)
	}
	return nil
}

// String says it in words: "no pin", "a pin", "a pin aimed at 16".
func (h InHole) String() string {
	switch {
	case !h.Pin:
		return "no pin"
	case !h.Aim.Given:
		return "a pin"
	}
	return "a pin aimed at " + Number(h.Aim.Step)
}

func (h InHole) check(c *checker, place string) {
	switch {
	case !h.Aim.Given:
		if h.Aim.Step != 0 {
			c.Add(place+".aim", "is %s and not given", Number(h.Aim.Step))
		}
	case !h.Pin:
		c.Add(place, "has an aim and no pin")
	case !(math.Abs(h.Aim.Step) <= 4*MaxSteps):
		c.Add(place+".aim", "is %s; it should be a step of the wheel", Number(h.Aim.Step))
	}
}
