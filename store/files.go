package store

import (
	"bytes"
	"io"

	"pinwright/wheel"
	"pinwright/wheel/file"
)

// textOf is the text to keep of a machine or a pinning: that of its file.
// What is wrong with it, or cannot be read back, is not kept.
func textOf[T interface{ Check() wheel.Problems }](v T, write func(T) io.WriterTo, read func([]byte) (T, error)) (string, error) {
	if err := v.Check().Err(); err != nil {
		return "", wheel.RefuseFor(wheel.ErrInvalid, err, "%s", err)
	}
	var b bytes.Buffer
	if _, err := write(v).WriteTo(&b); err != nil {
		return "", wheel.RefuseFor(wheel.ErrTooLarge, err, "%s", err)
	}
	if _, err := read(b.Bytes()); err != nil {
		return "", wheel.RefuseFor(wheel.ErrInvalid, err, "%s", err)
	}
	return b.String(), nil
}

func machineText(m *wheel.Machine) (string, error) { return textOf(m, file.Machine, file.ReadMachine) }

func pinningText(p *wheel.Pinning) (string, error) { return textOf(p, file.Pinning, file.ReadPinning) }
