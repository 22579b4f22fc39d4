package arrange

import (
	"cmp"
	"context"
	"slices"

	"pinwright/wheel/song"
)

// Transposed is what a section comes to at one transposition, before easing.
type Transposed struct {
	Semitones    int
	Placed       int
	Lost         int // out of range or dropped
	Merged       int
	KeepBelowBPM *float64 // nil where no tempo can be trusted
	MaxSafeBPM   *float64 // the bare limit; nil where the machine's lowest tempo is not safe
	Auto         bool     // the one that "auto" takes
}

// Octave is how far [Compare] looks up and down, in semitones.
const Octave = 12

// Compare sets a section at every transposition from an octave down to an octave
// up, and at the one that "auto" takes if it lies farther, lowest first. The
// request's own transposition does not matter.
func Compare(ctx context.Context, mech Mechanics, s *song.Song, r Request) ([]Transposed, error) {
	r.Transpose = Transpose{}
	st, err := newSetting(mech, s, r)
	if err != nil {
		return nil, err
	}
	auto, err := st.best(ctx)
	if err != nil {
		return nil, err
	}
	var rows []Transposed
	for n := -Octave; n <= Octave; n++ {
		rows = append(rows, Transposed{Semitones: n})
	}
	if max(auto, -auto) > Octave {
		rows = append(rows, Transposed{Semitones: auto})
		slices.SortFunc(rows, func(a, b Transposed) int { return cmp.Compare(a.Semitones, b.Semitones) })
	}
	for i := range rows {
		row := &rows[i]
		_, report, err := st.at(ctx, row.Semitones, false)
		if err != nil {
			return nil, err
		}
		row.Placed, row.Merged, row.Lost = report.Placed, report.Merged, report.Dropped+report.OutOfRange
		row.KeepBelowBPM, row.MaxSafeBPM, row.Auto = report.KeepBelowBPM, report.MaxSafeBPM, row.Semitones == auto
	}
	return rows, nil
}
