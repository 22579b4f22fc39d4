package arrange

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

const (
	// MaxTurns is how many turns of the wheel Export writes at the most.
	MaxTurns = 100

	// percussionChannel is the MIDI channel of percussion, and sideStick its
	// key for a stick on a rim (General MIDI System Level 1).
	percussionChannel = 10
	sideStick         = 37

	// strikeVelocity is what MIDI 1.0 has instruments send that do not feel how
	// hard a key is struck, from memory. One marble strikes like another.
	strikeVelocity = 64

	// tickS is how long a tick may last at the most, in seconds: a strike is
	// then at most half of it, 0.1 ms, from its place.
	tickS = 200e-6

	// ticksPerStep divides the ticks of a step, so that halves, thirds and
	// quarters of a step fall on ticks.
	ticksPerStep = 12

	// maxTicks and maxMicros are the most ticks and µs per quarter note that a
	// Standard MIDI File can say.
	maxTicks  = 0x7FFF
	maxMicros = 0xFFFFFF

	// maxNotes is how many notes the largest song has room for, of two events
	// of 4 bytes each.
	maxNotes = song.MaxBytes / 8
)

// Export makes a song, for [song.Write], of so many turns of a pinning at a
// tempo in beats per minute: as written, or as the machine plays it, without
// the strikes that are missed. A beat is a quarter note, and the meter the wheel's beats to a bar.
//
// A MIDI tempo is a whole number of µs per quarter note, so that of the song is
// the nearest to the one asked for, at most half a µs a beat off. Notes as
// written stand on the beats: whole steps on whole ticks, in the song's tempo.
// Strikes as played stand at their seconds at the tempo asked for. There are as
// many ticks as bring a strike within 0.1 ms of its time, from 10 BPM up; below
// that as many as a file can say, at the slowest tempo, 3.58 BPM, within
// 0.27 ms. Where a strike comes before the turn begins, the song starts with
// whole bars of rest enough to hold it.
//
// The first track has the title and no notes. Each kind of channel has a track
// of its own, and a MIDI channel, the same for every machine: 1 to 7 in the
// order of [wheel.ChannelKinds]. Drum channels are on MIDI channel 10, in
// tracks of their own. A channel sounds on its first key. One without keys
// ticks as General MIDI's Side Stick, percussion key 37: it can be heard where
// it strikes, and no pitch is made up for it. A note lasts a beat, or to the
// next of its key or the end of the last turn where that is sooner: so a player
// can repeat the file, unless a strike comes after its turn.
//
// Its error is [wheel.Problems], where the pinning does not fit the machine, or
// a sentence on the tempo or the number of turns.
func Export(mech Strikes, p *wheel.Pinning, tempoBPM float64, asPlayed bool, turns int) (*song.Song, error) {
	if err := p.Check().Err(); err != nil {
		return nil, err
	}
	if err := p.CheckOn(mech.Description()).Err(); err != nil {
		return nil, err
	}
	e, err := newExport(mech.Description().CountedFor(p), tempoBPM, asPlayed)
	if err != nil {
		return nil, err
	}
	if turns < 1 || turns > MaxTurns {
		return nil, fmt.Errorf("the number of turns is %s; it should be 1 to %d", say.Whole(turns), MaxTurns)
	}
	sounding := mech.Written
	if asPlayed {
		sounding = mech.Played
	}
	sounds, err := sounding(p, tempoBPM)
	if err != nil {
		return nil, err
	}
	var strikes []strike
	for channel, atS := range sounds {
		strikes = append(strikes, strike{channel, atS})
	}
	return e.song(p.Title, strikes, turns)
}

// strike is one sound of a turn.
type strike struct {
	channel int
	atS     float64 // from where step 0 passes
}

// export lays strikes out in ticks.
type export struct {
	machine *wheel.Machine
	micros  uint32  // per quarter note
	ticks   int64   // per quarter note
	beatS   float64 // a beat, in seconds of the strikes
	turnS   float64 // a turn, likewise
}

func newExport(m *wheel.Machine, tempoBPM float64, asPlayed bool) (*export, error) {
	micros := math.Round(60e6 / tempoBPM)
	if !(tempoBPM <= wheel.MaxTempoBPM && micros >= 1 && micros <= maxMicros) {
		return nil, fmt.Errorf("the tempo is %s BPM; it should be 3.58, the slowest that a MIDI file can say, to %d BPM",
			wheel.Number(tempoBPM), wheel.MaxTempoBPM)
	}
	e := &export{machine: m, micros: uint32(micros), beatS: 60 / tempoBPM}
	if asPlayed {
		e.beatS = micros / 1e6
	}
	e.turnS = m.Wheel.StepPeriod(tempoBPM) * float64(m.Wheel.Steps)
	grain := int64(m.Wheel.StepsPerBeat * ticksPerStep)
	fine := int64(math.Ceil(micros / 1e6 / tickS / float64(grain)))
	e.ticks = grain * min(fine, maxTicks/grain)
	return e, nil
}

// tick is the tick of a time in the strikes' seconds.
func (e *export) tick(atS float64) int64 {
	return int64(math.Round(atS / e.beatS * float64(e.ticks)))
}

func (e *export) song(title string, strikes []strike, turns int) (*song.Song, error) {
	if most := maxNotes / max(len(strikes), 1); turns > most {
		return nil, fmt.Errorf("%s of %s are more than a MIDI file has room for; take up to %s",
			say.Count(turns, "turn", "turns"), say.Count(len(strikes), "strike", "strikes"), say.Count(most, "turn", "turns"))
	}
	wh := e.machine.Wheel
	bar := e.ticks * int64(wh.BeatsPerBar)
	rest := int64(0)
	if len(strikes) > 0 {
		if first := e.tick(strikes[0].atS); first < 0 {
			rest = (bar - 1 - first) / bar * bar
		}
	}
	s := &song.Song{
		Title: title, Format: 1, TicksPerQuarter: float64(e.ticks),
		Tempos: []song.Tempo{{MicrosPerQuarter: e.micros}},
		Meters: []song.Meter{{Numerator: wh.BeatsPerBar, Denominator: 4}},
	}
	s.EndTick = rest + e.tick(e.turnS*float64(turns))
	voices := e.voices(s, title, strikes)
	s.Notes = make([]song.Note, 0, len(strikes)*turns)
	for turn := range turns {
		for _, one := range strikes {
			n := voices[one.channel]
			n.Tick = rest + e.tick(e.turnS*float64(turn)+one.atS)
			s.Notes = append(s.Notes, n)
		}
	}
	slices.SortFunc(s.Notes, func(a, b song.Note) int {
		return cmp.Or(cmp.Compare(a.Tick, b.Tick), a.Track-b.Track, int(a.Channel)-int(b.Channel), int(a.Key)-int(b.Key))
	})
	e.setLengths(s.Notes, s.EndTick)
	for _, n := range s.Notes {
		s.EndTick = max(s.EndTick, n.Tick+n.Ticks)
	}
	if bars := (s.EndTick + bar - 1) / bar; bars > song.MaxBars {
		return nil, fmt.Errorf("the song would have %d bars, %s of the wheel; a MIDI file may have %d at most",
			bars, say.Count(turns, "turn", "turns"), song.MaxBars)
	}
	return s, nil
}

// voices gives the song its tracks, and is a note, without its time, for every
// channel of the machine that strikes.
func (e *export) voices(s *song.Song, title string, strikes []strike) []song.Note {
	channels := e.machine.Channels
	struck := make([]bool, len(channels))
	for _, one := range strikes {
		struck[one.channel] = true
	}
	voices := make([]song.Note, len(channels))
	s.Tracks = []song.Track{{Name: title}}
	for k, kind := range wheel.ChannelKinds {
		melodic := song.Track{Name: string(kind), Channels: []int{k + 1}}
		percussion := song.Track{Name: string(kind) + " (percussion)", Channels: []int{percussionChannel}}
		for _, track := range []song.Track{melodic, percussion} {
			sounds := false
			for i := range channels {
				key, drum := firstKey(&channels[i])
				if !struck[i] || channels[i].Kind != kind || drum != (track.Channels[0] == percussionChannel) {
					continue
				}
				sounds = true
				voices[i] = song.Note{Track: len(s.Tracks), Key: key, Velocity: strikeVelocity, Channel: uint8(track.Channels[0])}
			}
			if sounds {
				s.Tracks = append(s.Tracks, track)
			}
		}
	}
	return voices
}

// firstKey is the key that a channel sounds on, and whether it is percussion.
func firstKey(c *wheel.Channel) (key uint8, drum bool) {
	if len(c.Keys) == 0 {
		return sideStick, true
	}
	return uint8(c.Keys[0]), c.Drum
}

// setLengths ends every note after a beat or, where that is sooner, with the
// last turn or where the next of its key starts.
func (e *export) setLengths(notes []song.Note, end int64) {
	var next [16 * keys]*song.Note
	for i := len(notes) - 1; i >= 0; i-- {
		n := &notes[i]
		n.Ticks = e.ticks
		if n.Tick < end {
			n.Ticks = min(n.Ticks, end-n.Tick)
		}
		later := &next[int(n.Channel-1)*keys+int(n.Key)]
		switch {
		case *later == nil:
		case (*later).Tick == n.Tick:
			n.Ticks = (*later).Ticks
		default:
			n.Ticks = min(n.Ticks, (*later).Tick-n.Tick)
		}
		*later = n
	}
}
