package timing

import "pinwright/wheel"

// Verdict is what mechanics says of a pinning on a machine at a tempo.
type Verdict struct {
	Machine, Pinning string // by name and title
	Pins             int
	TempoBPM         float64
	Trust            Trust
	Safe             bool // no findings at this tempo, and nothing unknown
	Findings         []Finding
	Bands            []Band
	Bare
	AtBestBPM *float64 // what the bare limit can be at most; the bare limit if nothing is unknown
	Stands    Standing
	// KeepBelowBPM and RedLineBPM are nil where there are none, and the faults to
	// be expected where a figure is unknown.
	KeepBelowBPM, RedLineBPM *float64
	Faults                   *Faults
	Limits                   []Limit
	FlamMS                   *float64    // nil where a figure is unknown
	Together                 *TempoRange // nil where chords hold together at no tempo, and where a figure is unknown
	Unknown                  []string    // paths of figures
	Assumed                  []string
	Warnings                 []string // what is odd about the machine, in sentences
}

// TempoRange is a range of tempo, both ends in it.
type TempoRange struct{ FromBPM, ToBPM float64 }

// Check is the verdict on a pinning at a tempo, in beats per minute. Its error
// is a tempo that no wheel can turn at, or [wheel.Problems] where the pinning
// does not fit the machine.
func (w *Works) Check(p *wheel.Pinning, tempoBPM float64) (*Verdict, error) {
	t, err := w.Turn(p)
	if err != nil {
		return nil, err
	}
	return t.Verdict(tempoBPM)
}

// Verdict is [Works.Check] of the pinning last loaded.
func (t *Turn) Verdict(tempoBPM float64) (*Verdict, error) {
	if err := checkTempo(tempoBPM); err != nil {
		return nil, err
	}
	m := t.works.Machine
	v := &Verdict{
		Machine:  m.Name,
		Pinning:  t.pinning.Title,
		Pins:     t.Pins(),
		TempoBPM: tempoBPM,
		Findings: t.Findings(tempoBPM, nil),
		Bands:    []Band{},
		Stands:   t.Standing(),
		Assumed:  t.Assumed(),
		Warnings: t.works.Warnings(),
	}
	v.Unknown = v.Stands.Unknown
	v.Safe = len(v.Findings)+len(v.Unknown) == 0
	if bpm, ok := t.AtBest(); ok {
		v.AtBestBPM = &bpm
	}
	v.Limits = t.limits()
	if len(v.Unknown) > 0 {
		return v, nil
	}
	v.Bands, v.Bare = t.bands(), t.bare()
	v.KeepBelowBPM, v.RedLineBPM = v.Stands.KeepBelowBPM, v.Stands.RedLineBPM
	faults := t.Faults(tempoBPM)
	v.Faults, v.Trust = &faults, v.Stands.Trust(tempoBPM, len(v.Findings) > 0)
	if v.Trust == Trusted && tempoBPM < m.Limits.TempoMinBPM && !faults.within(mostFaults(m)) {
		v.Trust = Close // slower than keep-below was looked for
	}
	flam := t.Flam(tempoBPM) * 1000
	v.FlamMS = &flam
	if from, to, ok := t.Together(); ok {
		v.Together = &TempoRange{from, to}
	}
	return v, nil
}
