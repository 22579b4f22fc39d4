package arrange

import (
	"context"
	"maps"
	"math/big"
	"math/bits"
	"slices"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/song"
)

// plain is a second way to a setting: fractions throughout, every
// transposition in full, every way of giving channels to the notes of a step.
// It shares nothing with the package.
type plain struct {
	m           *wheel.Machine
	s           *song.Song
	from, until int64 // ticks
	repeat      bool
	rules       []PartRule
	percussion  map[int]int
}

type plainNote struct {
	aim   int
	key   int
	drum  bool
	errMS float64
	part  song.Part
}

func (r plain) rule(p song.Part) PartRule {
	for _, rule := range r.rules {
		if rule.Part == p {
			return rule
		}
	}
	return PartRule{}
}

func (r plain) steps(ticks int64) *big.Rat {
	x := new(big.Rat).SetFrac64(ticks*int64(r.m.Wheel.StepsPerBeat), int64(r.s.TicksPerQuarter))
	return x
}

func floor(x *big.Rat) int64 { return new(big.Int).Div(x.Num(), x.Denom()).Int64() } // Euclidean: down, as the denominator is positive

func (r plain) notes() []plainNote {
	turn := new(big.Rat).SetInt64(int64(r.m.Wheel.Steps))
	length := r.steps(r.until - r.from)
	times := int64(1)
	if r.repeat {
		times = floor(new(big.Rat).Quo(turn, length))
	}
	var list []plainNote
	for time := range times {
		for _, n := range r.s.Notes {
			if n.Tick < r.from || n.Tick >= r.until || r.rule(song.Part{Track: n.Track, Channel: n.Channel}).Off {
				continue
			}
			x := new(big.Rat).Mul(length, new(big.Rat).SetInt64(time))
			x.Add(x, r.steps(n.Tick-r.from))
			aim := floor(new(big.Rat).Add(x, big.NewRat(1, 2)))
			micros := int64(r.s.Tempos[0].MicrosPerQuarter)
			for _, tempo := range r.s.Tempos {
				if tempo.Tick <= n.Tick {
					micros = int64(tempo.MicrosPerQuarter)
				}
			}
			off := new(big.Rat).Sub(new(big.Rat).SetInt64(aim), x)
			off.Mul(off, big.NewRat(micros, 1000*int64(r.m.Wheel.StepsPerBeat)))
			ms, _ := off.Float64()
			list = append(list, plainNote{int(aim) % r.m.Wheel.Steps, int(n.Key), n.Channel == 10, ms, song.Part{Track: n.Track, Channel: n.Channel}})
		}
	}
	return list
}

// channels are those that may play a note at a transposition, and, where none
// may, those that could if they were in service.
func (r plain) channels(n plainNote, semitones int) (playing, resting []int) {
	rule := r.rule(n.part)
	if n.drum {
		if to, ok := r.percussion[n.key]; ok {
			n.key = to
		}
		if n.key == Silence {
			return nil, []int{-1}
		}
	} else {
		n.key += semitones + 12*rule.Octaves
		if n.key < 0 || n.key > 127 {
			return nil, nil
		}
	}
	of := func(kind wheel.ChannelKind, key int) (playing, resting []int) {
		for i, c := range r.m.Channels {
			if c.Drum != n.drum || kind != "" && c.Kind != kind || !slices.Contains(c.Keys, key) {
				continue
			}
			if c.Service == wheel.Playing {
				playing = append(playing, i)
			} else {
				resting = append(resting, i)
			}
		}
		return playing, resting
	}
	playing, resting = of(rule.Group, n.key)
	if len(playing) == 0 && rule.SamePitch {
		playing, _ = of("", n.key)
	}
	for off := 12; off < 128 && len(playing) == 0 && rule.Octave && !n.drum; off += 12 {
		if playing, _ = of(rule.Group, n.key+off); len(playing) == 0 {
			playing, _ = of(rule.Group, n.key-off)
		}
	}
	return playing, resting
}

type plainCount struct{ placed, merged, dropped, out int }

func (r plain) count(notes []plainNote, semitones int) plainCount {
	var c plainCount
	atStep := map[int][][]int{}
	for _, n := range notes {
		playing, resting := r.channels(n, semitones)
		switch {
		case len(playing) > 0:
			atStep[n.aim] = append(atStep[n.aim], playing)
		case len(resting) > 0:
			c.dropped++
		default:
			c.out++
		}
	}
	for _, choices := range atStep {
		placed := mostPlaced(choices)
		c.placed += placed
		c.merged += len(choices) - placed
	}
	return c
}

// mostPlaced tries every way of giving notes one of their channels or none;
// ways that took the same channels so far go on as one.
func mostPlaced(choices [][]int) int {
	taken := map[uint64]bool{0: true}
	for _, channels := range choices {
		for _, set := range slices.Collect(maps.Keys(taken)) {
			for _, c := range channels {
				taken[set|1<<c] = true
			}
		}
	}
	best := 0
	for set := range taken {
		best = max(best, bits.OnesCount64(set))
	}
	return best
}

// auto is the transposition that places most notes, of those the one with the
// highest safe tempo, of those the smallest move, upward first. What is safe is
// held elsewhere: it asks for each transposition by its number.
func (r plain) auto(notes []plainNote, safe func(semitones int) float64) int {
	melodic := slices.ContainsFunc(notes, func(n plainNote) bool { return !n.drum })
	best, placed, bpm := 0, r.count(notes, 0).placed, safe(0)
	for size := 1; size <= 127 && melodic; size++ {
		for _, semitones := range []int{size, -size} {
			n := r.count(notes, semitones).placed
			if n < placed {
				continue
			}
			if v := safe(semitones); n > placed || v > bpm {
				best, placed, bpm = semitones, n, v
			}
		}
	}
	return best
}

// safeAt is the highest safe tempo of a request at a transposition; 0 where the
// slowest is not safe.
func safeAt(w *timing.Works, s *song.Song, r Request) func(int) float64 {
	return func(semitones int) float64 {
		r.Transpose = Transpose{Semitones: semitones}
		_, report, err := Set(context.Background(), w, s, r)
		if err != nil || report.MaxSafeBPM == nil {
			return 0
		}
		return *report.MaxSafeBPM
	}
}
