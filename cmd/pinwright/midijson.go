package main

// The JSON that "pinwright midi -json" answers with, in full precision.
type (
	midiJSON struct {
		Machine  string       `json:"machine"`
		Pinning  string       `json:"pinning"`
		TempoBPM float64      `json:"tempo_bpm"`
		AsPlayed bool         `json:"as_played"`
		Turns    int          `json:"turns"`
		Strikes  int          `json:"strikes"` // in the file, of all turns
		Missed   []missedJSON `json:"missed"`  // in a turn
		Seconds  float64      `json:"seconds"`
	}

	missedJSON struct {
		Channel string `json:"channel"`
		Step    int    `json:"step"`
		Why     string `json:"why"` // the rule that it breaks
	}
)

func newMidiJSON(r midiReport) midiJSON {
	out := midiJSON{
		Machine: r.machine, Pinning: r.pinning, TempoBPM: r.tempoBPM, AsPlayed: r.asPlayed,
		Turns: r.turns, Strikes: r.strikes, Missed: make([]missedJSON, len(r.missed)), Seconds: r.seconds,
	}
	for i, missed := range r.missed {
		out.Missed[i] = missedJSON{missed.channel, missed.step, missed.why.String()}
	}
	return out
}
