package wheel

import (
	"encoding/json"
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
	problems := decode(data, &m)
	if len(problems) == 0 {
		problems = m.Check()
	}
	if err := problems.Err(); err != nil {
		return nil, err
	}
	return &m, nil
}

// ReadPinning reads a pinning file and checks all that can be checked without
// its machine. Its error is [Problems].
func ReadPinning(data []byte) (*Pinning, error) {
	var p Pinning
	problems := decode(data, &p)
	if len(problems) == 0 {
		problems = p.Check()
	}
	if err := problems.Err(); err != nil {
		return nil, err
	}
	return &p, nil
}

// WriteTo writes the machine as a file that ReadMachine reads back the same.
func (m *Machine) WriteTo(w io.Writer) (int64, error) { return write(w, m) }

// WriteTo writes the pinning as a file that ReadPinning reads back the same.
func (p *Pinning) WriteTo(w io.Writer) (int64, error) { return write(w, p) }

func write(w io.Writer, v any) (int64, error) {
	b, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return 0, err
	}
	n, err := w.Write(append(b, '\n'))
	return int64(n), err
}
