package main

import (
	"encoding/json"

	"pinwright/timing"
)

// The JSON that "pinwright check -json" answers with, in full precision.
type (
	verdictJSON struct {
		Machine    string        `json:"machine"`
		Pinning    string        `json:"pinning"`
		Pins       int           `json:"pins"`
		TempoBPM   float64       `json:"tempo_bpm"`
		Safe       bool          `json:"safe"`
		Findings   []findingJSON `json:"findings"`
		Bands      []bandJSON    `json:"bands"`
		MaxSafeBPM *float64      `json:"max_safe_bpm"`
		Verdict    string        `json:"verdict"`
		KeepBelow  *float64      `json:"keep_below_bpm"`
		RedLine    *float64      `json:"red_line_bpm"`
		Spoilt     *float64      `json:"spoilt_per_turn"` // to be expected at the tempo
		Jams       *float64      `json:"jams_per_turn"`
		NotesBPM   *float64      `json:"notes_bpm"`
		LanesBPM   *float64      `json:"lanes_bpm"`
		StopBPM    *float64      `json:"stop_bpm"`
		AtBestBPM  *float64      `json:"at_best_bpm"`
		Unknown    []string      `json:"unknown"`
		Assumed    []string      `json:"assumed"`
		Warnings   []string      `json:"warnings"`
		Limits     []limitJSON   `json:"limits"`
		FlamMS     *float64      `json:"flam_ms"`
		Together   *rangeJSON    `json:"together"`
		Costs      *[]costJSON   `json:"costs,omitempty"` // these two if they are asked for
		Divide     *divideJSON   `json:"divide,omitempty"`
	}

	// costJSON is by how much keep-below would rise with a figure measured ten
	// times.
	costJSON struct {
		Figure string  `json:"figure"`
		BPM    float64 `json:"bpm"`
	}

	// divideJSON is what the distance between keep-below and the bare limit comes
	// from, in beats per minute.
	divideJSON struct {
		Spread float64 `json:"spread_bpm"`
		Doubt  float64 `json:"doubt_bpm"`
		Pins   float64 `json:"pins_bpm"`
		Crank  float64 `json:"hand_bpm"`
	}

	findingJSON struct {
		Kind         string   `json:"kind"`
		Channel      idJSON   `json:"channel"`
		Step         int      `json:"step"`
		OtherChannel idJSON   `json:"other_channel"`
		OtherStep    *int     `json:"other_step"`
		Lane         idJSON   `json:"lane"`
		GapMS        *float64 `json:"gap_ms"`
		NeedMS       *float64 `json:"need_ms"`
		Text         string   `json:"text"`
	}

	causeJSON struct {
		Kind         string `json:"kind"`
		Channel      idJSON `json:"channel"`
		OtherChannel idJSON `json:"other_channel"`
		Lane         idJSON `json:"lane"`
	}

	bandJSON struct {
		rangeJSON
		StoppedBy *causeJSON `json:"stopped_by"`
	}

	limitJSON struct {
		causeJSON
		BPM float64 `json:"bpm"`
	}

	rangeJSON struct {
		FromBPM float64 `json:"from_bpm"`
		ToBPM   float64 `json:"to_bpm"`
	}
)

// idJSON is an id, written as null where none applies.
type idJSON string

func (id idJSON) MarshalJSON() ([]byte, error) {
	if id == "" {
		return []byte("null"), nil
	}
	return json.Marshal(string(id))
}

func newVerdictJSON(w *timing.Works, v *timing.Verdict) verdictJSON {
	out := verdictJSON{
		Machine: v.Machine, Pinning: v.Pinning, Pins: v.Pins, TempoBPM: v.TempoBPM, Safe: v.Safe,
		Findings:   make([]findingJSON, len(v.Findings)),
		Bands:      make([]bandJSON, len(v.Bands)),
		MaxSafeBPM: v.MaxSafeBPM, Verdict: v.Trust.String(), KeepBelow: v.KeepBelowBPM, RedLine: v.RedLineBPM, NotesBPM: v.NotesBPM, LanesBPM: v.LanesBPM, StopBPM: v.StopBPM, AtBestBPM: v.AtBestBPM,
		Unknown: notNil(v.Unknown), Assumed: notNil(v.Assumed), Warnings: notNil(v.Warnings),
		Limits: make([]limitJSON, len(v.Limits)),
		FlamMS: v.FlamMS,
	}
	if v.Faults != nil {
		out.Spoilt, out.Jams = &v.Faults.SpoiltPerTurn, &v.Faults.JamsPerTurn
	}
	for i, f := range v.Findings {
		out.Findings[i] = newFindingJSON(w, f)
	}
	for i, b := range v.Bands {
		out.Bands[i].rangeJSON = rangeJSON{b.From, b.To}
		if b.StoppedBy != nil {
			cause := newCauseJSON(w, *b.StoppedBy)
			out.Bands[i].StoppedBy = &cause
		}
	}
	for i, l := range v.Limits {
		out.Limits[i] = limitJSON{newCauseJSON(w, l.Cause), l.BPM}
	}
	if v.Together != nil {
		out.Together = &rangeJSON{v.Together.FromBPM, v.Together.ToBPM}
	}
	return out
}

// addCosts adds what measuring figures would win, and what the distance to the
// bare limit comes from. Without a tempo to keep below there is neither.
func (v *verdictJSON) addCosts(t *timing.Turn) {
	costs := []costJSON{}
	for _, c := range t.DoubtCosts() {
		costs = append(costs, costJSON{c.Figure, c.BPM})
	}
	v.Costs = &costs
	if shares := t.Divide(); shares != nil {
		v.Divide = &divideJSON{shares[timing.BySpread].BPM, shares[timing.ByDoubt].BPM, shares[timing.ByPins].BPM, shares[timing.ByCrank].BPM}
	}
}

func newFindingJSON(w *timing.Works, f timing.Finding) findingJSON {
	out := findingJSON{
		Kind: f.Kind.String(), Channel: channelID(w, f.Channel), Step: f.Step,
		OtherChannel: channelID(w, f.Other), Lane: laneID(w, f.Lane),
		Text: w.Sentence(f),
	}
	if f.Other >= 0 {
		gap, need := f.GapS*1000, f.NeedS*1000
		out.OtherStep, out.GapMS, out.NeedMS = &f.OtherStep, &gap, &need
	}
	return out
}

func newCauseJSON(w *timing.Works, c timing.Cause) causeJSON {
	return causeJSON{c.Kind.String(), channelID(w, c.Channel), channelID(w, c.Other), laneID(w, c.Lane)}
}

func channelID(w *timing.Works, channel int) idJSON {
	if channel < 0 {
		return ""
	}
	return idJSON(w.Machine.Channels[channel].ID)
}

func laneID(w *timing.Works, lane int) idJSON {
	if lane < 0 {
		return ""
	}
	return idJSON(w.Machine.Lanes[lane].ID)
}

// notNil is a list that JSON writes as [] where it is empty.
func notNil[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
