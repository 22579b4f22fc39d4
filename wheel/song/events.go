package song

import (
	"errors"
	"fmt"

	"gitlab.com/gomidi/midi/v2/smf"
)

// events walks the events of one track and hands each on as a gomidi message,
// which says what it means. Where events begin and end is found here and not by
// gomidi's own reader, so that what comes before a damaged place is kept: that
// reader (v2.3.16) gives up a whole file for one bad byte, panics on SMPTE time
// and on data without a status, makes room for any length it is told, and takes
// time quadratic in the number of tempos.
type events struct {
	body []byte
	pos  int   // end of the last whole event
	tick int64 // its time

	status  byte // the running status, 0 before the first
	lapsed  bool // a system exclusive or meta event has ended it since
	lenient bool // it was used all the same

	voice [3]byte
}

var (
	errCut    = errors.New("it ends inside an event")
	errDelta  = errors.New("a delta time is longer than four bytes")
	errLength = errors.New("the length of an event is longer than four bytes")
	errStatus = errors.New("an event has no status byte, and none came before")
	errData   = errors.New("a data byte is above 127")
)

// next returns the next event; it is valid until the call after. On an error
// pos and tick stay with the last whole event.
func (e *events) next() (message smf.Message, err error) {
	delta, at := quantity(e.body, e.pos)
	if at < 0 {
		return nil, quantityError(at, errDelta)
	}
	if at == len(e.body) {
		return nil, errCut
	}
	switch first := e.body[at]; {
	case first < 0xF0:
		message, err = e.channelEvent(at)
	case first == 0xFF:
		message, err = e.longEvent(at, at+2)
	case first == 0xF0 || first == 0xF7:
		message, err = e.longEvent(at, at+1)
	default:
		err = fmt.Errorf("an event begins with %02X, which has no place in a file", first)
	}
	if err == nil {
		e.tick += int64(delta)
	}
	return message, err
}

// channelEvent reads an event of a channel: a status byte, unless the last one
// still runs, and one or two bytes of data.
func (e *events) channelEvent(at int) (smf.Message, error) {
	status, lapsed := e.status, e.lapsed
	if e.body[at] >= 0x80 {
		status, lapsed = e.body[at], false
		at++
	}
	if status == 0 {
		return nil, errStatus
	}
	size := 2
	if status >= 0xC0 && status < 0xE0 { // program change, channel pressure
		size = 1
	}
	if len(e.body)-at < size {
		return nil, errCut
	}
	e.voice = [3]byte{status, e.body[at], e.body[at+size-1]}
	if (e.voice[1]|e.voice[2])&0x80 != 0 {
		return nil, errData
	}
	e.status, e.lapsed, e.lenient = status, lapsed, e.lenient || lapsed
	e.pos = at + size
	return e.voice[:1+size], nil
}

// longEvent reads a meta or system exclusive event, whose length stands at a
// position after its start. It ends the running status.
func (e *events) longEvent(at, lengthAt int) (smf.Message, error) {
	length, start := quantity(e.body, lengthAt)
	if start < 0 {
		return nil, quantityError(start, errLength)
	}
	if length > len(e.body)-start {
		return nil, errCut
	}
	e.pos, e.lapsed = start+length, true
	return e.body[at:e.pos], nil
}

// What quantity returns in place of a position.
const (
	quantityCut  = -1 // the bytes end inside it
	quantityLong = -2 // it is longer than four bytes
)

// quantity reads the variable-length quantity at a position, 0 … 0x0FFFFFFF,
// and returns the position after it.
func quantity(b []byte, at int) (value, next int) {
	for i := range 4 {
		if at+i >= len(b) {
			return 0, quantityCut
		}
		value = value<<7 | int(b[at+i]&0x7F)
		if b[at+i] < 0x80 {
			return value, at + i + 1
		}
	}
	return 0, quantityLong
}

func quantityError(code int, long error) error {
	if code == quantityCut {
		return errCut
	}
	return long
}
