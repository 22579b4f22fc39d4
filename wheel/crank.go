package wheel

// Cranking is how a hand turns the crank at a tempo, and how the wheel goes
// round with it.
type Cranking struct {
	TempoBPM   float64
	StepS      float64 // one step of the wheel takes
	TurnS      float64 // one turn of the wheel takes
	WheelTurns float64 // of the wheel in a minute
	SurfaceMMS float64 // speed of the pins' tips
	Turns      float64 // of the crank in a minute; 0 where the machine's file has no crank_turns
	EveryS     float64 // one turn of the crank takes; 0 where Turns is
	Beats      float64 // in one turn of the crank; 0 where Turns is
}

// CrankAt is the crank of a wheel at a tempo T in beats per minute. With N steps
// to the turn of the wheel, q to the beat, R the radius to the pins' tips and k
// turns of the crank to one of the wheel, a step takes p = 60/(T q) seconds, the
// wheel
//
//	goes round in N p seconds, 60/(N p) times a minute,
//	its tips at 2 π R/(N p) mm/s
//
// and a turn of the crank has N/(q k) beats, of which there are T q k/N in a
// minute. The tempo is above 0.
func (w Wheel) CrankAt(bpm float64) Cranking {
	period := w.StepPeriod(bpm)
	c := Cranking{TempoBPM: bpm, StepS: period, TurnS: period * float64(w.Steps), SurfaceMMS: w.ArcMM() / period}
	c.WheelTurns = 60 / c.TurnS
	if w.CrankTurns > 0 {
		c.Beats = float64(w.Steps) / float64(w.StepsPerBeat) / w.CrankTurns
		c.Turns = bpm / c.Beats
		c.EveryS = 60 / c.Turns
	}
	return c
}
