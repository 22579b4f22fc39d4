package page

import (
	"encoding/json"
	"net/http"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Hearing is a pinning to be heard on a page.
type Hearing struct {
	URL  string // of its strikes; takes as=written or played and the fields of the form
	Form string // CSS selector of the form that says what is heard, tempo among it
	Face bool   // the wheel's face is on the page, and can go with it
}

// StrikesAnswer is what a browser needs to sound a pinning at a tempo.
type StrikesAnswer struct {
	TempoBPM     float64        `json:"tempo_bpm"`
	TurnS        float64        `json:"turn_s"`
	Steps        int            `json:"steps"`
	StepsPerBeat int            `json:"steps_per_beat"`
	BeatsPerBar  int            `json:"beats_per_bar"`
	Channels     []ChannelHeard `json:"channels"`
	Strikes      []StrikeHeard  `json:"strikes"`
}

type ChannelHeard struct {
	ID   string            `json:"id"`
	Name string            `json:"name"`
	Kind wheel.ChannelKind `json:"kind"`
	Key  *int              `json:"key"` // the first that it stands for; null where it stands for none
	Drum bool              `json:"drum"`
}

type StrikeHeard struct {
	Channel int     `json:"channel"` // index in channels
	Step    int     `json:"step"`
	AtS     float64 `json:"at_s"` // after step 0 passes; modulo the turn
	Missed  bool    `json:"missed"`
	Why     string  `json:"why"` // the rule that a missed one breaks
}

// AnswerStrikes writes the strikes of a turn on machine m in the way and at
// the tempo that the request's query asks for; left out they are as=written
// and ownBPM.
func AnswerStrikes(w http.ResponseWriter, r *http.Request, m *wheel.Machine, turn *timing.Turn, ownBPM float64) error {
	tempo := ownBPM
	if asked := r.URL.Query().Get("tempo"); asked != "" {
		var err error
		if tempo, err = ReadTempo(asked); err != nil {
			return err
		}
	}
	var strikes []timing.Strike
	switch as := r.URL.Query().Get("as"); as {
	case "", "written":
		strikes = turn.AsWritten(tempo, nil)
	case "played":
		strikes = turn.AsPlayed(tempo, nil)
	default:
		return wheel.Refuse(wheel.ErrInvalid, "The strikes are asked for as %q; it should be “written” or “played”.", say.Short(as))
	}
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(strikesOf(m, strikes, tempo))
}

func strikesOf(m *wheel.Machine, strikes []timing.Strike, tempoBPM float64) StrikesAnswer {
	a := StrikesAnswer{
		TempoBPM: tempoBPM, TurnS: m.Wheel.StepPeriod(tempoBPM) * float64(m.Wheel.Steps),
		Steps: m.Wheel.Steps, StepsPerBeat: m.Wheel.StepsPerBeat, BeatsPerBar: m.Wheel.BeatsPerBar,
		Channels: make([]ChannelHeard, len(m.Channels)), Strikes: make([]StrikeHeard, len(strikes)),
	}
	for i := range m.Channels {
		c := &m.Channels[i]
		a.Channels[i] = ChannelHeard{ID: c.ID, Name: say.Steady(c.Name), Kind: c.Kind, Drum: c.Drum}
		if len(c.Keys) > 0 {
			a.Channels[i].Key = &c.Keys[0]
		}
	}
	for i, s := range strikes {
		a.Strikes[i] = StrikeHeard{Channel: s.Channel, Step: s.Step, AtS: s.AtS, Missed: s.Missed}
		if s.Missed {
			a.Strikes[i].Why = s.Why.String()
		}
	}
	return a
}
