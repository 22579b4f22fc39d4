package song

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
)

// A header is what an MThd chunk says.
type header struct {
	format          int
	tracks          int
	ticksPerQuarter float64
	smpte           bool
}

// frameRates are the frames per second that a SMPTE division may name. The
// specification writes 30 drop frame as −29: it runs at 30,000/1001 a second.
var frameRates = map[int]float64{24: 24, 25: 25, 29: 30_000.0 / 1001, 30: 30}

var (
	headTag  = []byte("MThd")
	trackTag = []byte("MTrk")
)

// unwrap returns the MIDI file inside a RIFF file of kind RMID, or data itself
// if it is no RIFF file.
func unwrap(data []byte) ([]byte, error) {
	if len(data) < 12 || string(data[:4]) != "RIFF" {
		return data, nil
	}
	if string(data[8:12]) != "RMID" {
		return nil, fmt.Errorf("it is a RIFF file of kind %q; only RMID holds MIDI", data[8:12])
	}
	for rest := data[12:]; len(rest) >= 8; {
		size := int64(binary.LittleEndian.Uint32(rest[4:]))
		body := rest[8:min(8+size, int64(len(rest)))]
		if string(rest[:4]) == "data" {
			return body, nil
		}
		rest = rest[min(8+size+size%2, int64(len(rest))):]
	}
	return nil, errors.New(`it is a RIFF file without the "data" chunk that holds MIDI`)
}

// readHeader reads the MThd chunk and returns what comes after it.
func readHeader(data []byte, w *warnings) (h header, rest []byte, err error) {
	if !bytes.HasPrefix(data, headTag) {
		return h, nil, fmt.Errorf(`it is no Standard MIDI File: it begins with %q, not "MThd"`, data[:min(len(data), 4)])
	}
	if len(data) < 14 {
		return h, nil, fmt.Errorf("its header breaks off: it has %d bytes of 14", len(data))
	}
	size := int64(binary.BigEndian.Uint32(data[4:]))
	if size < 6 || 8+size > int64(len(data)) {
		if size != 6 && !bytes.HasPrefix(data[14:], trackTag) {
			return h, nil, fmt.Errorf("its header states a length of %s bytes; it has 6", count(size))
		}
		w.addf("the header states a length of %s bytes; it was read as 6", count(size))
		size = 6
	}
	h.format = int(binary.BigEndian.Uint16(data[8:]))
	h.tracks = int(binary.BigEndian.Uint16(data[10:]))
	if h.format > 2 {
		return h, nil, fmt.Errorf("its format is %d; Standard MIDI Files have format 0, 1 or 2", h.format)
	}
	if err := h.setDivision(binary.BigEndian.Uint16(data[12:])); err != nil {
		return h, nil, err
	}
	return h, data[8+size:], nil
}

// setDivision reads the header's word of time: ticks per quarter note, or with
// bit 15 set the negative of the frames per second and the ticks per frame.
func (h *header) setDivision(word uint16) error {
	if word == 0 {
		return errors.New("its division is 0 ticks per quarter note; it must be 1 to 32767")
	}
	if word < 0x8000 {
		h.ticksPerQuarter = float64(word)
		return nil
	}
	frames, ticks := -int(int8(word>>8)), int(word&0xFF)
	rate, known := frameRates[frames]
	if !known {
		return fmt.Errorf("its division is %d SMPTE frames a second; it must be 24, 25, 29 or 30", frames)
	}
	if ticks == 0 {
		return errors.New("its division is 0 ticks per SMPTE frame; it must be 1 to 255")
	}
	h.smpte = true
	h.ticksPerQuarter = smpteTicksPerQuarter(rate, ticks)
	return nil
}

// smpteTicksPerQuarter lays SMPTE ticks at 120 quarter notes a minute, two a
// second: (frames per second) × (ticks per frame) / 2.
func smpteTicksPerQuarter(rate float64, ticksPerFrame int) float64 {
	return rate * float64(ticksPerFrame) / 2
}

// A chunk is the body of one MTrk chunk.
type chunk struct {
	body   []byte // all that can belong to it
	stated int64  // the length that its header states, which may be wrong
}

// trackChunks walks the chunks after the header. A length that leads neither to
// another chunk nor to the file's end is not believed: such a track may reach
// to the next "MTrk", and its own end-of-track event settles where it ends.
// Chunks of other types are passed over, as the specification asks.
func trackChunks(rest []byte, w *warnings) []chunk {
	var found []chunk
	beyond := 0
	for len(rest) > 0 {
		if !isChunk(rest) {
			next := bytes.Index(rest, trackTag)
			if next < 0 || len(rest)-next < 8 {
				w.addf("%s after the last track left out", plural(len(rest), "byte"))
				break
			}
			w.addf("%s before track %d left out", plural(next, "byte"), len(found)+1)
			rest = rest[next:]
		}
		isTrack := bytes.HasPrefix(rest, trackTag)
		stated := int64(binary.BigEndian.Uint32(rest[4:]))
		rest = rest[8:]
		reach := min(stated, int64(len(rest)))
		if stated != int64(len(rest)) && (stated > int64(len(rest)) || !isChunk(rest[stated:])) {
			reach = int64(len(rest))
			if next := bytes.Index(rest, trackTag); next >= 0 {
				reach = int64(next)
			}
		}
		switch {
		case isTrack && len(found) < MaxTracks:
			found = append(found, chunk{rest[:reach], stated})
		case isTrack:
			beyond++
		}
		rest = rest[reach:]
	}
	if beyond > 0 {
		w.addf("%s beyond the first %s left out", plural(beyond, "track"), count(MaxTracks))
	}
	return found
}

// isChunk reports whether a chunk can start here: a type of four printable
// ASCII characters and a length.
func isChunk(b []byte) bool {
	if len(b) < 8 {
		return false
	}
	for _, c := range b[:4] {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return true
}
