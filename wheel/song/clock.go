package song

import "sort"

// A clock holds the seconds that have passed at each tempo, so that a song with
// many tempos is timed in a search and not in a walk.
type clock struct {
	first    *Tempo // of the tempos it was laid for
	elapsedS []float64
}

func (s *Song) layClock() {
	elapsed := make([]float64, len(s.Tempos))
	for i := 1; i < len(elapsed); i++ {
		elapsed[i] = elapsed[i-1] + s.seconds(s.Tempos[i-1], float64(s.Tempos[i].Tick-s.Tempos[i-1].Tick))
	}
	s.clock = clock{&s.Tempos[0], elapsed}
}

// seconds is the length of so many ticks at one tempo:
//
//	ticks / (ticks per quarter) × (µs per quarter) / 1,000,000
func (s *Song) seconds(t Tempo, ticks float64) float64 {
	return ticks / s.TicksPerQuarter * float64(t.MicrosPerQuarter) / 1e6
}

// SecondsAt returns the time of a tick, which may be fractional, in seconds from
// tick 0: over the tempos up to it, the sum of
//
//	ticks / (ticks per quarter) × (µs per quarter) / 1,000,000
//
// Ticks below 0 lie before the start, at the first tempo. The time takes
// O(log tempos) for a song from Parse, O(tempos) for one made by hand.
func (s *Song) SecondsAt(tick float64) float64 {
	if len(s.Tempos) == 0 {
		return s.seconds(defaultTempo, tick)
	}
	i := sort.Search(len(s.Tempos), func(i int) bool { return float64(s.Tempos[i].Tick) > tick })
	i = max(i-1, 0)
	if s.clock.first != &s.Tempos[0] || len(s.clock.elapsedS) != len(s.Tempos) {
		timed := Song{TicksPerQuarter: s.TicksPerQuarter, Tempos: s.Tempos[:i+1]}
		timed.layClock()
		s = &timed
	}
	return s.clock.elapsedS[i] + s.seconds(s.Tempos[i], tick-float64(s.Tempos[i].Tick))
}
