package timing

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pinwright/wheel"
)

// asked is how a pinning stands on a machine, asked for one by one.
func asked(w *Works, p *wheel.Pinning, bpm float64) Marks {
	t := must(w.Turn(p))
	s := Marks{Faults: t.Faults(bpm), FlamS: t.Flam(bpm)}
	for _, of := range []struct {
		to  **float64
		ask func() (float64, bool)
	}{{&s.BareBPM, t.MaxSafe}, {&s.KeepBelowBPM, t.KeepBelow}, {&s.RedLineBPM, t.RedLine}} {
		if v, ok := of.ask(); ok {
			*of.to = &v
		}
	}
	if from, to, ok := t.Together(); ok {
		s.Together = &TempoRange{from, to}
	}
	return s
}

func (s Marks) numbers() []float64 {
	all := []float64{s.SpoiltPerTurn, s.JamsPerTurn, s.FlamS}
	for _, bpm := range []*float64{s.BareBPM, s.KeepBelowBPM, s.RedLineBPM} {
		all = append(all, gain(nil, bpm))
	}
	if s.Together != nil {
		all = append(all, s.Together.FromBPM, s.Together.ToBPM)
	}
	return all
}

// Every mend of the first limits is tried by the figures that it names, on a
// machine of its own.
func TestWhatAMendWinsIsWhatTryingItWins(t *testing.T) {
	kinds, ordered, moved := map[MendKind]int{}, 0, 0
	w, p := fullHailstone(t)
	m := w.Machine.Clone()
	m.Limits.HouseBPM = wheel.Known(86)
	slow := w.Machine.Clone()
	for i := range slow.Channels {
		if c := &slow.Channels[i]; !c.Holds() {
			c.Gate.ReloadMS, c.Gate.ReloadSDMS = wheel.Known(500), wheel.Known(20)
		}
	}
	for name, w := range map[string]*Works{"as it is": w, "in a house": must(Compile(m)), "slow gates": must(Compile(slow))} {
		turn := must(w.Turn(p))
		before := turn.Limits()
		for _, r := range turn.MendedLadder(84, 3) {
			last := Gains{}
			for i, mend := range r.Mends {
				kinds[mend.Kind]++
				says := fmt.Sprintf("%s, %s", name, w.MendSentence(r, mend))
				if strings.Contains(mend.Path, "clearance") || strings.HasPrefix(mend.Path, "limits.") {
					t.Errorf("%s: it spends a margin", says)
				}
				tried, err := w.With(mend.Sets...)
				if err != nil || len(mend.Sets) == 0 {
					t.Errorf("%s: tried with %v: %v", says, mend.Sets, err)
					continue
				}
				near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-6*max(1, math.Abs(b)) }
				if got, want := mend.After.numbers(), asked(tried, p, 84).numbers(); !slices.EqualFunc(got, want, near) {
					t.Errorf("%s: told %v, tried %v", says, got, want)
				}
				if got, want := mend.Before.numbers(), asked(w, p, 84).numbers(); !slices.EqualFunc(got, want, near) {
					t.Errorf("%s: told %v before, was %v", says, got, want)
				}
				if mend.Kind == OfSpread && (mend.KeepBelowGain() < leastGain || mend.BareGain() != 0) {
					t.Errorf("%s: wins %v of keep-below, %v of the bare limit", says, mend.KeepBelowGain(), mend.BareGain())
				}
				if i > 0 && mend.RedLineGain() > last.RedLineGain()+sameGain {
					t.Errorf("%s: wins %v, the one before it %v", says, mend.RedLineGain(), last.RedLineGain())
				} else if i > 0 && mend.RedLineGain() < last.RedLineGain() {
					ordered++
				}
				last = mend.Gains
				after := must(tried.Turn(p)).Limits()
				for _, move := range mend.Moves {
					moved++
					was := slices.ContainsFunc(before, func(l Limit) bool { return l.Cause == move.Cause && l.BPM == move.FromBPM })
					i := slices.IndexFunc(after, func(l Limit) bool { return l.Cause == move.Cause })
					if !was || move.Cause == r.Cause || i >= 0 && after[i].BPM != move.ToBPM || i < 0 && move.ToBPM != w.Machine.Limits.TempoMaxBPM || move.ToBPM < min(move.FromBPM, mend.Reaches)*(1-1e-8) {
						t.Errorf("%s: moves %+v", says, move)
					}
				}
			}
		}
	}
	t.Logf("mends by kind %v, %d win less than the one before, %d moves", kinds, ordered, moved)
	if kinds[OfFigure] == 0 || kinds[OfGroup] == 0 || kinds[OfSpread] == 0 || ordered == 0 || moved == 0 {
		t.Error("too few of some kind")
	}
}

// Steps of 1 mm and 15/T s, two bars with pins 1 step apart and gates of 140 ms:
// 107.14 BPM for both, 130.43 for the third's 115 ms (worked by hand). Alone a
// gate of 115 ms wins nothing; times 115/140, 0.82 in hundredths, both do.
func TestAGroupComesFirstWhereOneFigureWinsNothing(t *testing.T) {
	gate := func(ms float64) wheel.Channel {
		return wheel.Channel{Gate: wheel.Gate{ReloadMS: wheel.Known(ms), ReloadSDMS: wheel.Known(0)}}
	}
	m := bare(64, gate(140), gate(140), gate(115))
	m.Channels[2].Kind = "bell"
	w := must(Compile(m))
	var pins []wheel.Pin
	for i, id := range []string{"a", "b", "c"} {
		pins = append(pins, wheel.Pin{Channel: id, Step: 20 * i}, wheel.Pin{Channel: id, Step: 20*i + 1})
	}
	rungs := must(w.Turn(&wheel.Pinning{Format: wheel.PinningFormat, Title: "Two", TempoBPM: 60, Pins: pins})).MendedLadder(60, 1)
	var says []string
	for _, mend := range rungs[0].Mends {
		says = append(says, w.MendSentence(rungs[0], mend))
	}
	want := []string{"reload of all bars × 0.82 lifts this limit from 107.1 to 130.4 BPM", "reload 140 ms → 115 ms lifts this limit from 107.1 to 130.4 BPM"}
	if !slices.Equal(says, want) {
		t.Errorf("said %q, want %q", says, want)
	}
	if group, one := rungs[0].Mends[0], rungs[0].Mends[1]; math.Abs(group.BareGain()-(15/.115-15/.14)) > 1e-9 || one.BareGain() != 0 || !strings.HasPrefix(w.GainSentence(one), "wins nothing by itself: keep below stays at ") {
		t.Errorf("they win %v and %v; said %q", group.BareGain(), one.BareGain(), w.GainSentence(one))
	}
}

// What is shown of a mend: the tempo to keep below first, the house's limit where
// that holds it down, and all else that moves.
func TestWhatAMendWinsInWords(t *testing.T) {
	bpm := func(v float64) *float64 { return &v }
	w := must(Compile(bare(64, wheel.Channel{})))
	house := w.Machine.Clone()
	house.Limits.HouseBPM = wheel.Known(96)
	inHouse := must(Compile(house))
	before := Marks{BareBPM: bpm(107.14), KeepBelowBPM: bpm(88.2), RedLineBPM: bpm(88.2), Faults: Faults{0.031, 0.004}, FlamS: 0.012, Together: &TempoRange{30, 180}}
	after := before
	after.BareBPM, after.KeepBelowBPM, after.Faults, after.FlamS, after.Together = bpm(120), bpm(99.15), Faults{0.001, 0}, 0.031, nil
	lost := before
	lost.KeepBelowBPM = nil
	for _, c := range []struct {
		w    *Works
		m    Mend
		want string
	}{
		{w, Mend{Reaches: 125, Gains: Gains{before, after, make([]LimitMove, 2)}},
			"keep below 88.2 → 99.1 BPM; bare limit 107.1 → 120 BPM; spoilt notes and jams 0.035 → 0.001 a turn; flam 12 ms → 31 ms; chords together at 30 to 180 BPM → at no tempo; 2 other limits move"},
		{inHouse, Mend{Reaches: 120, Gains: Gains{before, after, nil}},
			"keep below 88.2 → 99.1 BPM; the house keeps below 96 BPM; spoilt notes and jams 0.035 → 0.001 a turn; flam 12 ms → 31 ms; chords together at 30 to 180 BPM → at no tempo"},
		{w, Mend{Reaches: 120, Gains: Gains{before, before, make([]LimitMove, 1)}}, "wins nothing by itself: keep below stays at 88.2 BPM; 1 other limit moves"},
		{w, Mend{Gains: Gains{Before: lost, After: before}}, "keep below none → 88.2 BPM"},
		{w, Mend{Gains: Gains{Before: lost, After: lost}}, "wins nothing by itself: keep below stays at no tempo"},
		{w, Mend{}, ""},
	} {
		if got := c.w.GainSentence(c.m); got != c.want {
			t.Errorf("said\n\t%s\nwant\n\t%s", got, c.want)
		}
	}
}
