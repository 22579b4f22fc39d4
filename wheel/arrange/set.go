package arrange

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

// Set sets a section of a song on a machine. Its error is a sentence on what of
// the request or the song cannot be done and what could.
//
// A note goes to a channel that has its key, percussion (MIDI channel 10) to
// drum channels and all else to the others, as far as no part's rule says
// otherwise. Notes of one step share the channels so that as many as can find
// one; a note that finds none free is merged with one that has. Resting channels
// get no pins.
//
// Channels that share notes do so with the longest rest for each at the tempo.
//
// The pinning counts its bars as the section does, where that has bars of one
// length. Its aims are the notes' steps, its pins stand at aim − advance.
// Easing comes last: it moves and leaves out what keeps the tempo from being
// trusted, and takes until ctx or its limit ends at the most. The error is that of
// ctx where it was cancelled.
func Set(ctx context.Context, mech Mechanics, s *song.Song, r Request) (*wheel.Pinning, *Report, error) {
	st, err := newSetting(mech, s, r)
	if err != nil {
		return nil, nil, err
	}
	semitones := r.Transpose.Semitones
	if r.Transpose.Auto {
		if semitones, err = st.best(ctx); err != nil {
			return nil, nil, err
		}
	}
	p, report, err := st.at(ctx, semitones, r.Ease)
	if err != nil {
		return nil, nil, err
	}
	report.Parts, report.Grid = st.partReports(), st.fit
	if st.swing > 0 {
		report.Swing = st.fit.SwingRatio
	}
	return p, report, nil
}

// setting is a request on its way to a pinning: all that does not depend on the
// transposition.
type setting struct {
	mech    Mechanics
	machine *wheel.Machine
	song    *song.Song
	request Request
	section Section
	notes   []song.Note // of the section
	beats   wheel.Count // of each of its bars, 0 where they differ
	times   int         // that it is set one after the other
	tempo   float64
	voices  *voices
	fit     *GridFit
	swing   float64 // the point that is straightened, 0 for none
	grid    *grid

	// Working memory, of the transposition last looked at.
	cast     *cast
	matching *matching
}

func newSetting(mech Mechanics, s *song.Song, r Request) (*setting, error) {
	m := mech.Description()
	if err := r.check(m, s); err != nil {
		return nil, err
	}
	sec, notes, err := r.section(m, s)
	if err != nil {
		return nil, err
	}
	beats := wheel.Count(sec.BeatsPerBar(s))
	m = m.CountedFor(&wheel.Pinning{BeatsPerBar: beats})
	mech = counted{mech, m}
	tempo, err := r.tempo(s, sec)
	if err != nil {
		return nil, err
	}
	st := &setting{mech: mech, machine: m, song: s, request: r, section: sec, notes: notes, beats: beats, times: 1, tempo: tempo, voices: newVoices(m, r)}
	if err := playable(m, st.voices, sec, notes); err != nil {
		return nil, err
	}
	if r.Repeat {
		if st.times, err = repetitions(m.Wheel, sec, len(notes)); err != nil {
			return nil, err
		}
	}
	fit := GridFitOf(m, s, sec, st.voices.on)
	st.fit = &fit
	if r.Straighten && fit.Feel == Swung {
		st.swing = fit.Swing
	}
	st.grid = newGrid(m.Wheel, s, sec, notes, st.voices, st.times, st.swing)
	st.cast = newCast(st.voices.count())
	st.matching = newMatching(len(m.Channels), st.voices.count())
	return st, nil
}

// best is the transposition that "auto" takes.
func (st *setting) best(ctx context.Context) (int, error) {
	moves := st.most()
	if len(moves) == 1 {
		return moves[0], nil
	}
	best, fastest := 0, (*Report)(nil)
	for _, n := range moves {
		_, report, err := st.at(ctx, n, false)
		if err != nil {
			return 0, err
		}
		if fastest == nil || CompareTempos(report.KeepBelowBPM, report.MaxSafeBPM, fastest.KeepBelowBPM, fastest.MaxSafeBPM) > 0 {
			best, fastest = n, report
		}
	}
	return best, nil
}

// CompareTempos orders two pinnings by how fast they can be played: by keep-below,
// and where that is the same by the bare limit; nil is slower than any.
func CompareTempos(keep, bare, otherKeep, otherBare *float64) int {
	bpm := func(of *float64) float64 {
		if of == nil {
			return 0
		}
		return *of
	}
	return cmp.Or(cmp.Compare(bpm(keep), bpm(otherKeep)), cmp.Compare(bpm(bare), bpm(otherBare)))
}

// at sets the song at a transposition.
func (st *setting) at(ctx context.Context, semitones int, ease bool) (*wheel.Pinning, *Report, error) {
	m, r := st.machine, &Report{Transpose: semitones, TempoBPM: st.tempo}
	st.cast.set(st.grid, st.voices, semitones)
	placed := st.grid.assign(m, st.voices, st.cast, st.matching, r)
	if len(placed) > wheel.MaxPins {
		return nil, nil, fmt.Errorf("%s would take %d pins; a pinning has %d at most, so take a shorter section", st.section, len(placed), wheel.MaxPins)
	}
	share(st.mech, placed, st.tempo)
	advance := make([]int, len(m.Channels))
	if st.request.Advance {
		var err error
		if advance, err = advanceFor(st.mech, placed, st.tempo); err != nil {
			return nil, nil, err
		}
	}
	p := st.pinning(placed, advance)
	if r.KeepBelowBPM, r.MaxSafeBPM = st.mech.HowFast(p); r.MaxSafeBPM == nil {
		r.Unmeasured = st.mech.Unmeasured(p)
	}
	if ease {
		left, err := st.ease(ctx, placed, advance, r)
		if err != nil {
			return nil, nil, err
		}
		p = st.pinning(left, advance)
	}
	if st.request.Advance && r.Unmeasured == "" { // nobody should move a lever by a figure that is not known
		r.Remains = Remains(st.mech, p, st.tempo)
	}
	return p, r, nil
}

// pinning is notes as pins. Only channels with pins have an advance in it.
func (st *setting) pinning(notes []placedNote, advance []int) *wheel.Pinning {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: st.song.Title, Machine: st.machine.Name, TempoBPM: st.tempo, BeatsPerBar: st.beats}
	for _, n := range notes {
		if a := advance[n.channel]; a != 0 {
			if p.Advance == nil {
				p.Advance = map[string]int{}
			}
			p.Advance[st.machine.Channels[n.channel].ID] = a
		}
	}
	p.Pins = drive(st.machine, notes, advance)
	p.Sort()
	return p
}

// ease changes placed notes until the tempo can be trusted, as far as that can be,
// and writes it to the report.
func (st *setting) ease(ctx context.Context, placed []placedNote, advance []int, r *Report) ([]placedNote, error) {
	tempo := st.tempo
	if st.request.WithinHouse {
		tempo = min(tempo, st.machine.Limits.HouseBPM.Or(tempo))
	}
	left, eased, err := easeNotes(ctx, st.mech, placed, advance, tempo, EaseOptions{st.request.EaseLimit, st.request.Decisions})
	if err != nil {
		return nil, err
	}
	eased.BeforeBPM, eased.BeforeKeepBPM = r.MaxSafeBPM, r.KeepBelowBPM
	if eased.EasedToBPM == nil { // as it was
		eased.MaxSafeBPM, eased.KeepBelowBPM = r.MaxSafeBPM, r.KeepBelowBPM
	}
	eased.LeftOut = notesOf(placed) - notesOf(left)
	pins := len(placed) - len(left)
	r.Placed -= pins
	r.Merged -= eased.LeftOut - pins
	r.Dropped += eased.LeftOut
	for _, c := range eased.Changes {
		if c.FromStep != c.ToStep {
			r.Shifted++
		}
		r.Changes = append(r.Changes, c.Change)
	}
	slices.SortStableFunc(r.Changes, func(a, b Change) int { return cmp.Compare(a.FromStep, b.FromStep) })
	r.Eased, r.Cost, r.MaxSafeBPM, r.KeepBelowBPM = eased, eased.Cost, eased.MaxSafeBPM, eased.KeepBelowBPM
	return left, nil
}

// notesOf is how many notes of the song the pins sound.
func notesOf(placed []placedNote) int {
	sum := 0
	for _, n := range placed {
		sum += int(n.notes)
	}
	return sum
}
