package arrange

import (
	"fmt"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/song"
)

// Request is what is asked of a setting. Its zero value sets as much of a song
// as fits, from its first bar, as it stands and at its own tempo.
type Request struct {
	FromBar   int  // first bar of the section, counted from 1; 0 is 1
	Bars      int  // length of the section; 0 is as many as the wheel holds, or to the song's end
	Repeat    bool // set the section as many whole times as the turn holds
	Transpose Transpose
	TempoBPM  float64 // of the pinning; 0 is the song's at the section's first bar
	Advance   bool    // choose the channels' advances for the tempo; else there are none
}

// Set sets a section of a song on a machine. Its error is a sentence on what of
// the request or the song cannot be done and what could.
//
// A note goes to a channel that has its key, percussion (MIDI channel 10) to
// drum channels and all else to the others. Where several channels have the key
// it goes to the one whose last note is furthest back, and notes of one step
// change places if so more of them find a channel. A note that finds none free
// at its step is merged with one that has. Resting channels get no pins.
//
// The pinning's aims are the notes' steps, its pins stand at aim − advance.
func Set(w *timing.Works, s *song.Song, r Request) (*wheel.Pinning, *Report, error) {
	m := w.Machine
	if err := r.Transpose.check(); err != nil {
		return nil, nil, err
	}
	sec, notes, err := r.section(m, s)
	if err != nil {
		return nil, nil, err
	}
	tempo, err := r.tempo(s, sec)
	if err != nil {
		return nil, nil, err
	}
	km := newKeyMap(m)
	if err := playable(m, km, sec, notes); err != nil {
		return nil, nil, err
	}
	times := 1
	if r.Repeat {
		if times, err = repetitions(m.Wheel, sec, len(notes)); err != nil {
			return nil, nil, err
		}
	}
	g := newGrid(m.Wheel, s, sec, notes, times)
	report := &Report{Transpose: r.Transpose.Semitones, TempoBPM: tempo}
	if r.Transpose.Auto {
		report.Transpose = bestTranspose(g.cells, km)
	}
	placed := g.assign(m, km, report)
	if len(placed) > wheel.MaxPins {
		return nil, nil, fmt.Errorf("%s would take %d pins; a pinning has %d at most, so take a shorter section", sec, len(placed), wheel.MaxPins)
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: s.Title, Machine: m.Name, TempoBPM: tempo}
	if r.Advance {
		if p.Advance, err = advanceFor(w, placed, tempo); err != nil {
			return nil, nil, err
		}
	}
	p.Pins = drive(m, placed, p.Advance)
	p.Sort()
	if bpm, ok := w.MaxSafe(p); ok {
		report.MaxSafeBPM = &bpm
	}
	return p, report, nil
}

func (r Request) section(m *wheel.Machine, s *song.Song) (Section, []song.Note, error) {
	if len(s.Notes) == 0 {
		return Section{}, nil, fmt.Errorf("the song has no notes; a pinning needs some")
	}
	sec, err := SectionOf(m, s, r.FromBar, r.Bars)
	if err != nil {
		return sec, nil, err
	}
	notes := sec.notes(s)
	if len(notes) == 0 {
		nearest, where := s.Notes[0], "first"
		if nearest.Tick < sec.Tick {
			nearest, where = s.Notes[len(s.Notes)-1], "last"
		}
		return sec, nil, fmt.Errorf("there are no notes in %s; the song's %s is in bar %d", sec, where, s.BarAt(nearest.Tick)+1)
	}
	return sec, notes, nil
}

func (r Request) tempo(s *song.Song, sec Section) (float64, error) {
	bpm := r.TempoBPM
	if bpm != 0 {
		if !(bpm >= 1 && bpm <= wheel.MaxTempoBPM) {
			return 0, fmt.Errorf("the tempo is %s BPM; it should be 1 to %d BPM", wheel.Number(bpm), wheel.MaxTempoBPM)
		}
		return bpm, nil
	}
	bpm = s.TempoAt(sec.Tick).BPM()
	if !(bpm >= 1 && bpm <= wheel.MaxTempoBPM) {
		return 0, fmt.Errorf("the song's tempo at bar %d is %s BPM; give one of 1 to %d BPM", sec.FromBar, wheel.Number(bpm), wheel.MaxTempoBPM)
	}
	return bpm, nil
}

// playable refuses a section of which the machine lacks not keys but all
// channels of the kind.
func playable(m *wheel.Machine, km *keyMap, sec Section, notes []song.Note) error {
	var some [2]bool
	for _, n := range notes {
		if n.Drum() {
			some[1] = true
		} else {
			some[0] = true
		}
	}
	switch melodic, drums := km.has(false), km.has(true); {
	case some[0] && melodic || some[1] && drums:
		return nil
	case !melodic && !drums:
		return fmt.Errorf("%s has no channel with a key; a machine that is to play a song needs some", m.Name)
	case melodic:
		return fmt.Errorf("the notes in %s are all percussion and %s has no drum channels; take a section with melodic notes", sec, m.Name)
	}
	return fmt.Errorf("the notes in %s are all melodic and %s has drum channels only; take a section with percussion", sec, m.Name)
}
