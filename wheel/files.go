package wheel

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
)

func (l *Lane) setDefaults() { l.Keep = 1 }

func (c *Channel) setDefaults() { c.Service = Playing }

func (l *Limits) setDefaults() {
	l.TempoMinBPM, l.TempoMaxBPM, l.FlamMS = 30, 240, 20
}

// ReadMachine reads a machine file and checks all that can be checked without
// mechanics. Its error is [Problems]: every problem, each with its place. What
// only mechanics can tell, such as a marble that stalls, package timing adds.
func ReadMachine(data []byte) (*Machine, error) {
	var m Machine
	m.Limits.setDefaults()
	if err := m.checkAfter(decode(data, &m)).Err(); err != nil {
		return nil, err
	}
	return &m, nil
}

// ReadPinning reads a pinning file and checks all that can be checked without
// its machine. Its error is [Problems].
func ReadPinning(data []byte) (*Pinning, error) {
	var p Pinning
	if err := p.checkAfter(decode(data, &p)).Err(); err != nil {
		return nil, err
	}
	return &p, nil
}

// WriteTo writes the machine as a file that ReadMachine reads back the same.
func (m *Machine) WriteTo(w io.Writer) (int64, error) {
	text, err := marshal(m, "  ")
	if err != nil {
		return 0, err
	}
	return write(w, text)
}

// WriteTo writes the pinning as a file that ReadPinning reads back the same,
// one pin a line.
func (p *Pinning) WriteTo(w io.Writer) (int64, error) {
	head := *p
	head.Pins = nil
	text, err := marshal(head, "  ")
	if err != nil {
		return 0, err
	}
	var b bytes.Buffer
	b.Write(bytes.TrimSuffix(text, []byte("]\n}\n")))
	for i, pin := range p.Pins {
		if i > 0 {
			b.WriteByte(',')
		}
		line, err := marshal(pin, "")
		if err != nil {
			return 0, err
		}
		b.WriteString("\n    ")
		b.Write(bytes.TrimSuffix(line, []byte("\n")))
	}
	if len(p.Pins) > 0 {
		b.WriteString("\n  ")
	}
	b.WriteString("]\n}\n")
	return write(w, b.Bytes())
}

func write(w io.Writer, text []byte) (int64, error) {
	if len(text) > MaxFileBytes {
		return 0, fmt.Errorf("the file would be larger than %d MiB, and larger ones are not read", MaxFileBytes>>20)
	}
	n, err := w.Write(text)
	return int64(n), err
}

// marshal writes text as it stands: files are for people, not for pages.
func marshal(v any, indent string) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", indent)
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
	return marshal(plain(m), "")
}

// MarshalJSON writes lists without entries as empty ones.
func (c Channel) MarshalJSON() ([]byte, error) {
	type plain Channel
	c.Keys, c.Path, c.Exit = notNil(c.Keys), notNil(c.Path), notNil(c.Exit)
	return marshal(plain(c), "")
}

// MarshalJSON writes a list without pins as an empty one.
func (p Pinning) MarshalJSON() ([]byte, error) {
	type plain Pinning
	p.Pins = notNil(p.Pins)
	return marshal(plain(p), "")
}

func notNil[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
