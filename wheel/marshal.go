package wheel

import (
	"bytes"
	"encoding/json"
)

// marshal writes text as it stands: files are for people, not for pages.
func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// MarshalJSON writes lists without entries as empty ones: a reader refuses
// null.
func (m Machine) MarshalJSON() ([]byte, error) {
	type plain Machine
	m.Lanes, m.Channels = notNil(m.Lanes), notNil(m.Channels)
	return marshal(plain(m))
}

// MarshalJSON writes lists without entries as empty ones.
func (c Channel) MarshalJSON() ([]byte, error) {
	type plain Channel
	c.Keys, c.Path, c.Exit = notNil(c.Keys), notNil(c.Path), notNil(c.Exit)
	return marshal(plain(c))
}

// MarshalJSON writes a list without pins as an empty one.
func (p Pinning) MarshalJSON() ([]byte, error) {
	type plain Pinning
	p.Pins = notNil(p.Pins)
	return marshal(plain(p))
}

func notNil[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
