package timing

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/song"
)

// Three rules that no machine has, one of each family. Their kinds are listed
// after the machine's own.
var (
	drowsy   = Kind{&kindFacts{name: "drowsy", mark: "M2 8h12", missed: "the channel sleeps", miss: missLater, order: uint8(len(rules))}}
	jostling = Kind{&kindFacts{name: "jostling", mark: "M8 2v12", order: uint8(len(rules) + 1)}}
	odd      = Kind{&kindFacts{name: "odd", mark: "M2 2l12 12", order: uint8(len(rules) + 2)}}
)

// drowsyRule: pins of one channel are more than 2 steps, and after those 20
// times its latch, apart. Its mend is of no matter here: the lever's return.
type drowsyRule struct{}

func (drowsyRule) kind() Kind { return drowsy }
func (drowsyRule) asks(c *Channel) (arcSteps, needS float64) {
	return 2, 20 * c.Release
}
func (drowsyRule) known(*Channel) bool { return true }

func (drowsyRule) sentence(w *Works, f Finding) string { return w.pinWords(f) + ": asleep" }
func (drowsyRule) limitSentence(w *Works, f Finding) string {
	return w.pinWords(f) + ": falls asleep"
}
func (drowsyRule) mends(m *mender, r Rung, p float64) []Mend {
	return []Mend{{Path: m.path(r.Channel, "trip.return_ms"), From: 0, To: p}}
}

// jostlingRule: strikes of all channels are 0.2 s apart, whatever plates they
// are of.
type jostlingRule struct{}

func (jostlingRule) kind() Kind { return jostling }
func (jostlingRule) groups(w *Works) [][]Passage {
	var strikes []Passage
	for i := range w.Channels {
		strikes = append(strikes, Passage{Lane: -1, Channel: i, Enter: w.Channels[i].Strike, Known: true})
	}
	return [][]Passage{strikes}
}
func (jostlingRule) ownToo() bool                         { return true }
func (jostlingRule) afterStrikes(_, _ *Passage) bool      { return false }
func (jostlingRule) need(_ *Works, _, _ *Passage) float64 { return 0.2 }
func (jostlingRule) sentence(w *Works, f Finding) string  { return w.pinWords(f) + ": jostles" }
func (jostlingRule) limitSentence(w *Works, f Finding) string {
	return w.pinWords(f) + ": comes to jostle"
}
func (jostlingRule) mends(*mender, Rung, float64) []Mend { return nil }

// oddRule: no pin stands on step 13.
type oddRule struct{}

func (oddRule) kind() Kind { return odd }
func (oddRule) scan(t *Turn) {
	for i := range t.rows {
		if t.Has(i, 13) {
			t.forbidAll(odd, i)
		}
	}
}
func (oddRule) find(t *Turn, dst []Finding) []Finding {
	for i := range t.rows {
		if t.Has(i, 13) {
			dst = append(dst, Finding{Kind: odd, Channel: i, Step: 13, Other: -1, OtherStep: -1, Lane: -1})
		}
	}
	return dst
}

// stops takes every drop of a channel whose lever takes more than a second to
// fall back.
func (oddRule) stops(c *Channel) bool { return c.Return > 1 }

func (oddRule) sentence(w *Works, f Finding) string { return w.pinWords(f) + ": a superstition" }

// inventive is a machine of two channels that is held to the invented rules:
// steps of 1 mm, 4 to the beat, 32 round the wheel. Both have one key and a
// latch of 15 ms.
func inventive(t *testing.T, pins ...[2]int) *Turn {
	t.Helper()
	own := wheel.Channel{Keys: []int{72}, Trip: wheel.Trip{LatchMS: wheel.Known(15)}}
	w, err := compile(bare(32, own, own), append(slices.Clone(rules), drowsyRule{}, jostlingRule{}, oddRule{}))
	if err != nil {
		t.Fatal(err)
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Invented", TempoBPM: 60}
	for _, pin := range pins {
		p.Pins = append(p.Pins, wheel.Pin{Channel: w.Machine.Channels[pin[0]].ID, Step: pin[1]})
	}
	return must(w.Turn(p))
}

// A step takes 15/T s. Pins 5 steps apart on one channel have 3 of them to be
// awake again in, for which 20 × 15 ms are asked: 45/T ≥ 0.3 s up to 150 BPM. Strikes 3 steps apart leave 45/T
// ≥ 0.2 s up to 225 BPM, beyond the machine's 180; 2 steps apart 30/T, up to
// 150; 1 step apart 15/T, up to 75 (worked by hand).
func TestAnInventedRuleIsSeenWhereverRulesAre(t *testing.T) {
	for _, c := range []struct {
		what   string
		pins   [][2]int
		kind   Kind
		limit  float64
		cause  Cause
		says   string // at 160 BPM
		limits string
		label  string
	}{
		{"between pins of a channel", [][2]int{{0, 0}, {0, 5}}, drowsy, 150, Cause{drowsy, 0, 0, -1},
			"A, bar 1 beat 1: asleep", "A, bar 1 beat 1: falls asleep", "drowsy: A"},
		{"between two marbles", [][2]int{{1, 4}, {0, 5}}, jostling, 75, Cause{jostling, 0, 1, -1},
			"B, bar 1 beat 2: jostles", "B, bar 1 beat 2: comes to jostle", "jostling: A, B"},
		{"of a pin", [][2]int{{1, 13}}, odd, 30, Cause{odd, 1, -1, -1},
			"B, bar 1 beat 4 +1/4: a superstition", "B, bar 1 beat 4 +1/4: a superstition", "odd: B"},
	} {
		turn := inventive(t, c.pins...)
		w := turn.works
		bands, limits, rungs := turn.Bands(), turn.Limits(), turn.MendedLadder(60, 1)
		if c.limit > 30 && (len(bands) != 1 || bands[0].From != 30 || math.Abs(bands[0].To-c.limit) > 1e-9 || *bands[0].StoppedBy != c.cause) ||
			c.limit == 30 && len(bands) != 0 {
			t.Errorf("%s: bands %+v", c.what, bands)
		}
		if len(limits) != 1 || limits[0].Cause != c.cause || math.Abs(limits[0].BPM-c.limit) > 1e-9 {
			t.Errorf("%s: limits %+v", c.what, limits)
		}
		found := turn.Findings(160, nil)
		if len(found) != 1 || found[0].Kind != c.kind || found[0].Cause() != c.cause || w.Sentence(found[0]) != c.says {
			t.Errorf("%s: findings %+v", c.what, found)
		}
		if below := turn.Findings(c.limit*(1-1e-9), nil); c.limit > 30 && len(below) != 0 {
			t.Errorf("%s: findings below the limit %+v", c.what, below)
		}
		if len(rungs) != 1 || rungs[0].Cause != c.cause || rungs[0].Where.Cause() != c.cause || w.LimitSentence(rungs[0].Where) != c.limits || rungs[0].Freed != 180 {
			t.Errorf("%s: rungs %+v", c.what, rungs)
		}
		if mends := rungs[0].Mends; (len(mends) > 0) != (c.kind == drowsy) || len(mends) > 0 && (mends[0].Path != "channels.a.trip.return_ms" || mends[0].Reaches != 180) {
			t.Errorf("%s: mended by %+v", c.what, mends)
		}
		if got := w.Label(c.cause); got != c.label {
			t.Errorf("%s: labelled %q, want %q", c.what, got, c.label)
		}
		if got := fmt.Sprint(c.kind, c.kind.Mark() != ""); got != c.kind.name+" true" {
			t.Errorf("%s: its kind is %s", c.what, got)
		}
		tried, err := w.With(wheel.Set{Path: "channels.a.gate.reload_ms", Value: 1})
		if err != nil || len(must(tried.Turn(turn.pinning)).Limits()) != 1 {
			t.Errorf("%s: a trial forgets the rule: %v", c.what, err)
		}
	}
}

// At 150 BPM a step takes 0.1 s: 5 steps are 2 and 0.3 s. At 120 BPM, 125 ms,
// they are 2 and 0.375 s, 4 steps 2 and 0.25 s. No two pins of a channel are
// jostling from there: 0.2 s is 2 steps (worked by hand).
func TestAnInventedRuleIsAskedForWhatAChannelsPinsNeed(t *testing.T) {
	w := inventive(t).works
	if gaps := w.LeastGaps([]int{0, 1}, 120); gaps[0] != 5 || gaps[1] != 5 {
		t.Errorf("the least gaps are %v, want 5 steps each", gaps)
	}
	// Strikes less than 0.2 s apart at 150 BPM, or any slower tempo: 1 step.
	var forbidden [][3]int
	w.Forbidden(0, 1, 150, func(lane, from, to int) { forbidden = append(forbidden, [3]int{lane, from, to}) })
	if !slices.Equal(forbidden, [][3]int{{-1, -1, 1}}) {
		t.Errorf("forbidden differences are %v", forbidden)
	}
	// Twin channels share notes by rests: 2 steps and 0.3 s, at 0.1 s a step.
	if rest, hold := w.Rest(0, 0.1), w.Hold(0); math.Abs(rest-0.5) > 1e-12 || hold != 2 {
		t.Errorf("a channel rests for %g s and %g steps, want 0.5 s and 2 steps", rest, hold)
	}
}

// The first test's pins of one channel: above 150 BPM the later one finds its
// channel asleep, and drops nothing. With a lever that takes 2 s to fall back
// the channel drops nothing at all; by the machine's own rule of crowded levers
// the later of two pins would be missed too, but a channel that stands still
// comes first.
func TestDropsAreMissedByAnInventedRule(t *testing.T) {
	turn := inventive(t, [2]int{0, 0}, [2]int{0, 5}, [2]int{1, 20})
	missed := func(turn *Turn, bpm float64) (got []string) {
		for _, s := range turn.AsPlayed(bpm, nil) {
			if s.Missed {
				got = append(got, fmt.Sprintf("%d.%d %s: %s", s.Channel, s.Step, s.Why, s.Why.Missed()))
			}
		}
		slices.Sort(got)
		return got
	}
	if got := missed(turn, 149); got != nil {
		t.Errorf("at 149 BPM %q", got)
	}
	if got, want := missed(turn, 151), []string{"0.5 drowsy: the channel sleeps"}; !slices.Equal(got, want) {
		t.Errorf("at 151 BPM %q, want %q", got, want)
	}
	slow, err := turn.works.With(wheel.Set{Path: "channels.a.trip.return_ms", Value: 2000})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := missed(must(slow.Turn(turn.pinning)), 60), []string{"0.0 odd: ", "0.5 odd: "}; !slices.Equal(got, want) {
		t.Errorf("where the channel stands still %q, want %q", got, want)
	}
}

// Six notes of one key, five steps apart, may go to two twins. The machine's own
// rules ask for nothing here, so they play in turn. Then one has a latch of 200
// ms, and 2 steps and 20 times that are asked for: at 120 BPM, 125 ms a step,
// 4.25 s, more than the turn of 4 s. The other, with 15 ms, is asked for 550 ms,
// and five steps are 625: it has room for all six (worked by hand).
func TestTwinsShareNotesByAnInventedRule(t *testing.T) {
	tune := &song.Song{
		Title: "Six", TicksPerQuarter: 4, EndTick: 32,
		Tempos: []song.Tempo{{MicrosPerQuarter: 500_000}}, Meters: []song.Meter{{Numerator: 4, Denominator: 4}},
		Tracks: []song.Track{{}},
	}
	for bar := range 2 {
		tune.Bars = append(tune.Bars, song.Bar{Tick: int64(16 * bar), Ticks: 16, Numerator: 4, Denominator: 4})
	}
	for i := range 6 {
		tune.Notes = append(tune.Notes, song.Note{Tick: int64(5 * i), Ticks: 1, Key: 72, Velocity: 90, Channel: 1})
	}
	w := inventive(t).works
	m, err := w.Machine.WithSets(wheel.Set{Path: "channels.b.trip.latch_ms", Value: 200})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		rules []rule
		slow  int
	}{{rules, 3}, {w.rules.all, 0}} {
		p, _, err := arrange.Set(t.Context(), must(compile(m, c.rules)), tune, arrange.Request{TempoBPM: 120})
		if err != nil {
			t.Fatal(err)
		}
		slow := 0
		for _, pin := range p.Pins {
			if pin.Channel == "b" {
				slow++
			}
		}
		if len(p.Pins) != 6 || slow != c.slow {
			t.Errorf("with %d rules the slow one of two twins has %d of %d notes, want %d", len(c.rules), slow, len(p.Pins), c.slow)
		}
	}
}
