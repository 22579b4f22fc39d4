package timing

import (
	"encoding/json"

	"pinwright/wheel"
)

// Verdict is what mechanics says of a pinning on a machine at a tempo. Its
// JSON is that of "pinwright check -json", in full precision.
type Verdict struct {
	Machine    string           `json:"machine"`
	Pinning    string           `json:"pinning"`
	Pins       int              `json:"pins"`
	TempoBPM   float64          `json:"tempo_bpm"`
	Safe       bool             `json:"safe"` // no findings at this tempo
	Findings   []VerdictFinding `json:"findings"`
	Bands      []VerdictBand    `json:"bands"`
	MaxSafeBPM *float64         `json:"max_safe_bpm"` // nil where the lowest tempo is not safe
	Limits     []VerdictLimit   `json:"limits"`
	FlamMS     float64          `json:"flam_ms"`
	Together   *VerdictRange    `json:"together"`
}

// Ref is an id that JSON has as null where it does not apply.
type Ref string

func (r Ref) MarshalJSON() ([]byte, error) {
	if r == "" {
		return []byte("null"), nil
	}
	return json.Marshal(string(r))
}

// VerdictFinding is a [Finding] with ids and its sentence.
type VerdictFinding struct {
	Kind         Kind     `json:"kind"`
	Channel      Ref      `json:"channel"`
	Step         int      `json:"step"`
	OtherChannel Ref      `json:"other_channel"`
	OtherStep    *int     `json:"other_step"`
	Lane         Ref      `json:"lane"`
	GapMS        *float64 `json:"gap_ms"`
	NeedMS       *float64 `json:"need_ms"`
	Text         string   `json:"text"`
}

// VerdictCause is a [Cause] with ids.
type VerdictCause struct {
	Kind         Kind `json:"kind"`
	Channel      Ref  `json:"channel"`
	OtherChannel Ref  `json:"other_channel"`
	Lane         Ref  `json:"lane"`
}

// VerdictBand is a [Band] with ids.
type VerdictBand struct {
	FromBPM   float64       `json:"from_bpm"`
	ToBPM     float64       `json:"to_bpm"`
	StoppedBy *VerdictCause `json:"stopped_by"`
}

// VerdictLimit is a [Limit] with ids.
type VerdictLimit struct {
	VerdictCause
	BPM float64 `json:"bpm"`
}

// VerdictRange is a range of tempo.
type VerdictRange struct {
	FromBPM float64 `json:"from_bpm"`
	ToBPM   float64 `json:"to_bpm"`
}

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
	w := t.works
	findings := t.Findings(tempoBPM, nil)
	t.scan()
	bands, limits := t.bands(), t.limits()
	v := &Verdict{
		Machine:  w.Machine.Name,
		Pinning:  t.pinning.Title,
		Pins:     t.Pins(),
		TempoBPM: tempoBPM,
		Safe:     len(findings) == 0,
		Findings: make([]VerdictFinding, len(findings)),
		Bands:    make([]VerdictBand, len(bands)),
		Limits:   make([]VerdictLimit, len(limits)),
		FlamMS:   t.Flam(tempoBPM) * 1000,
	}
	for i, f := range findings {
		v.Findings[i] = w.finding(f)
	}
	for i, b := range bands {
		v.Bands[i] = VerdictBand{b.From, b.To, nil}
		if b.StoppedBy != nil {
			c := w.cause(*b.StoppedBy)
			v.Bands[i].StoppedBy = &c
		}
	}
	if bpm, ok := maxSafe(bands, w.Machine.Limits.TempoMinBPM); ok {
		v.MaxSafeBPM = &bpm
	}
	for i, l := range limits {
		v.Limits[i] = VerdictLimit{w.cause(l.Cause), l.BPM}
	}
	if from, to, ok := t.Together(); ok {
		v.Together = &VerdictRange{from, to}
	}
	return v, nil
}

func (w *Works) channelRef(i int) Ref {
	if i < 0 {
		return ""
	}
	return Ref(w.Machine.Channels[i].ID)
}

func (w *Works) laneRef(i int) Ref {
	if i < 0 {
		return ""
	}
	return Ref(w.Machine.Lanes[i].ID)
}

func (w *Works) cause(c Cause) VerdictCause {
	return VerdictCause{c.Kind, w.channelRef(c.Channel), w.channelRef(c.Other), w.laneRef(c.Lane)}
}

func (w *Works) finding(f Finding) VerdictFinding {
	v := VerdictFinding{
		Kind: f.Kind, Channel: w.channelRef(f.Channel), Step: f.Step,
		OtherChannel: w.channelRef(f.Other), Lane: w.laneRef(f.Lane),
		Text: w.Sentence(f),
	}
	if f.Other >= 0 {
		gap, need := f.GapS*1000, f.NeedS*1000
		v.OtherStep, v.GapMS, v.NeedMS = &f.OtherStep, &gap, &need
	}
	return v
}
