package store

import (
	"bytes"
	"io"

	"pinwright/wheel"
)

// file is a machine or a pinning.
type file interface {
	io.WriterTo
	Check() wheel.Problems
}

// textOf is the text to keep of a file: that of its own format. What is wrong
// with the file, or cannot be read back, is not kept.
func textOf[T any](f file, read func([]byte) (T, error)) (string, error) {
	if err := f.Check().Err(); err != nil {
		return "", wheel.RefuseFor(wheel.ErrInvalid, err, "%s", err)
	}
	var b bytes.Buffer
	if _, err := f.WriteTo(&b); err != nil {
		return "", wheel.RefuseFor(wheel.ErrTooLarge, err, "%s", err)
	}
	if _, err := read(b.Bytes()); err != nil {
		return "", wheel.RefuseFor(wheel.ErrInvalid, err, "%s", err)
	}
	return b.String(), nil
}
