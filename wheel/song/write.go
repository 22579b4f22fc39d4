package song

import (
	"bytes"
	"fmt"
	"io"
	"math"

	"gitlab.com/gomidi/midi/v2/smf"
)

// Write writes a song as a Standard MIDI File: of format 0 if it has one track,
// else of format 1, with tempos, time signatures, track names and notes.
//
// Parse reads the same song back. These take another form: Format follows the
// number of tracks; notes of one key that overlap in a track are paired first
// in, first out; a Title that is not the name of the first named track becomes
// the name of the first track; tempos and meters that change nothing go; and of
// a song in SMPTE time the tempo, which means nothing there, is left out.
// Warnings are not written.
//
// A song that a file cannot hold is refused, naming the field, and nothing is
// written. Notes need not be in order. Without tempos or meters, 120 BPM and
// 4/4 hold, and without tracks there is one.
func Write(w io.Writer, s *Song) error {
	if err := s.check(); err != nil {
		return err
	}
	file := smf.New()
	file.TimeFormat, _ = s.division()
	for _, track := range s.score() {
		if err := file.Add(track); err != nil {
			return err
		}
	}
	// gomidi does not pass on what the writer says, so it writes to memory.
	var buf bytes.Buffer
	if _, err := file.WriteTo(&buf); err != nil {
		return err
	}
	if buf.Len() > MaxBytes {
		return tooLarge(int64(buf.Len()))
	}
	_, err := w.Write(buf.Bytes())
	return err
}

// division finds how a file says the song's ticks per quarter note.
func (s *Song) division() (smf.TimeFormat, error) {
	if !s.SMPTE {
		if t := s.TicksPerQuarter; t < 1 || t > 0x7FFF || t != math.Trunc(t) {
			return nil, fmt.Errorf("TicksPerQuarter is %g; it must be a whole number from 1 to 32767", t)
		}
		return smf.MetricTicks(s.TicksPerQuarter), nil
	}
	for _, frames := range []int{25, 24, 30, 29} {
		for ticks := 1; ticks <= 255; ticks++ {
			if smpteTicksPerQuarter(frameRates[frames], ticks) == s.TicksPerQuarter {
				return smf.TimeCode{FramesPerSecond: uint8(frames), SubFrames: uint8(ticks)}, nil
			}
		}
	}
	return nil, fmt.Errorf("TicksPerQuarter is %g; in SMPTE time it must be half of 24, 25, 29.97 or 30 frames × 1 to 255 ticks", s.TicksPerQuarter)
}
