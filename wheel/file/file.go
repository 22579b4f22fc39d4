package file

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"

	"pinwright/wheel"
)

// ReadMachine reads a machine file and checks all that can be checked without
// mechanics. Its error is [wheel.Problems]: every problem, each with its place.
// What only mechanics can tell, such as a marble that stalls, package timing
// adds.
func ReadMachine(data []byte) (*wheel.Machine, error) {
	var m wheel.Machine
	m.Limits.SetDefaults()
	if err := m.CheckAfter(decode(data, &m)).Err(); err != nil {
		return nil, err
	}
	return &m, nil
}

// ReadPinning reads a pinning file and checks all that can be checked without
// its machine. Its error is [wheel.Problems].
func ReadPinning(data []byte) (*wheel.Pinning, error) {
	var p wheel.Pinning
	if err := p.CheckAfter(decode(data, &p)).Err(); err != nil {
		return nil, err
	}
	return &p, nil
}

// Machine is a machine as a file that [ReadMachine] reads back the same.
func Machine(m *wheel.Machine) io.WriterTo { return machineFile{m} }

// Pinning is a pinning as a file that [ReadPinning] reads back the same, one
// pin a line.
func Pinning(p *wheel.Pinning) io.WriterTo { return pinningFile{p} }

type machineFile struct{ *wheel.Machine }

type pinningFile struct{ *wheel.Pinning }

func (f machineFile) WriteTo(w io.Writer) (int64, error) {
	text, err := marshal(f.Machine, "  ")
	if err != nil {
		return 0, err
	}
	return write(w, text)
}

func (f pinningFile) WriteTo(w io.Writer) (int64, error) {
	head := *f.Pinning
	head.Pins = nil
	text, err := marshal(head, "  ")
	if err != nil {
		return 0, err
	}
	var b bytes.Buffer
	b.Write(bytes.TrimSuffix(text, []byte("]\n}\n")))
	for i, pin := range f.Pins {
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
	if len(f.Pins) > 0 {
		b.WriteString("\n  ")
	}
	b.WriteString("]\n}\n")
	return write(w, b.Bytes())
}

func write(w io.Writer, text []byte) (int64, error) {
	if len(text) > MaxBytes {
		return 0, fmt.Errorf("the file would be larger than %d MiB, and larger ones are not read", MaxBytes>>20)
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
