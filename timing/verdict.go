package timing

import "pinwright/wheel"

// Verdict is what mechanics says of a pinning on a machine at a tempo.
type Verdict struct {
	Machine, Pinning string // by name and title
	Pins             int
	TempoBPM         float64
	Safe             bool // no findings at this tempo
	Findings         []Finding
	Bands            []Band
	MaxSafeBPM       *float64 // nil where the lowest tempo is not safe
	Limits           []Limit
	FlamMS           float64
	Together         *TempoRange // nil where chords hold together at no tempo
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
		FlamMS:   t.Flam(tempoBPM) * 1000,
	}
	v.Safe = len(v.Findings) == 0
	t.scan()
	v.Bands, v.Limits = t.bands(), t.limits()
	if bpm, ok := maxSafe(v.Bands, m.Limits.TempoMinBPM); ok {
		v.MaxSafeBPM = &bpm
	}
	if from, to, ok := t.Together(); ok {
		v.Together = &TempoRange{from, to}
	}
	return v, nil
}
