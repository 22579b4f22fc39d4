package arrange

import (
	"errors"
	"fmt"
	"time"

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

	Parts      []PartRule  // of the parts that are to be played otherwise than as they are
	Percussion map[int]int // General MIDI percussion keys to the drum key that plays them, or Silence; others stay as they are

	TempoBPM float64 // of the pinning; 0 is the song's at the section's first bar
	Advance  bool    // choose the channels' advances for the tempo; else there are none

	Straighten  bool          // remove the section's swing from its beats
	Ease        bool          // change notes until the tempo can be trusted
	WithinHouse bool          // where the tempo is above the house's limit, ease for that instead of refusing
	EaseLimit   time.Duration // that this may take; 0 is [EaseLimit]
	Decisions   []Decision    // on changes that easing proposed
}

// check refuses what no section of the song can be set with.
func (r Request) check(m *wheel.Machine, s *song.Song) error {
	return errors.Join(r.Transpose.check(), r.checkPercussion(), r.checkParts(m, s))
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
func playable(m *wheel.Machine, vs *voices, sec Section, notes []song.Note) error {
	km, some, on := vs.all, [2]bool{}, false
	for _, n := range notes {
		if _, ok := vs.voiceOf(n); !ok {
			continue
		}
		on = true
		if n.Drum() {
			some[1] = true
		} else {
			some[0] = true
		}
	}
	switch melodic, drums := km.has(false), km.has(true); {
	case !on:
		return fmt.Errorf("all parts that have notes in %s are switched off; switch one on", sec)
	case some[0] && melodic || some[1] && drums:
		return nil
	case !melodic && !drums:
		return fmt.Errorf("%s has no channel with a key; a machine needs such channels to play a song", m.Name)
	case melodic:
		return fmt.Errorf("the notes in %s are all percussion and %s has no drum channels; take a section with melodic notes", sec, m.Name)
	}
	return fmt.Errorf("the notes in %s are all melodic and %s has drum channels only; take a section with percussion", sec, m.Name)
}
