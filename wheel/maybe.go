package wheel

import (
	"encoding/json"
	"math"
)

// Maybe is a number that a machine file may leave out. 0 is a number like
// others: it has to be written to be meant. The zero value is one left out.
type Maybe struct {
	value float64
	known bool
}

// Known is a number that is given.
func Known(value float64) Maybe { return Maybe{value, true} }

// Get is the number; ok is false where it was left out.
func (m Maybe) Get() (value float64, ok bool) { return m.value, m.known }

// IsKnown reports whether the number is given.
func (m Maybe) IsKnown() bool { return m.known }

// Or is the number, or another where it was left out.
func (m Maybe) Or(other float64) float64 {
	if m.known {
		return m.value
	}
	return other
}

// IsZero reports whether the number was left out: a file leaves it out again.
func (m Maybe) IsZero() bool { return !m.known }

// MarshalJSON writes the number; one that is left out is null.
func (m Maybe) MarshalJSON() ([]byte, error) {
	if !m.known || math.IsNaN(m.value) || math.IsInf(m.value, 0) {
		return []byte("null"), nil
	}
	return json.Marshal(m.value)
}

// UnmarshalJSON reads a number, or null for one that is left out.
func (m *Maybe) UnmarshalJSON(text []byte) error {
	if string(text) == "null" {
		*m = Maybe{}
		return nil
	}
	var value float64
	if err := json.Unmarshal(text, &value); err != nil {
		return err
	}
	*m = Known(value)
	return nil
}
