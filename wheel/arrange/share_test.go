package arrange

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/timing"
	"pinwright/wheel"
)

// leastSlack is the smallest slack of notes on their channels by the rules as
// DESIGN.md has them, in seconds: D ≤ hold is forbidden, below all else. It goes
// from each note to the next of its channel and shares nothing with share.
func leastSlack(w *timing.Works, notes []placedNote, advance []int, tempoBPM float64) float64 {
	n, p := w.Machine.Wheel.Steps, w.Machine.Wheel.StepPeriod(tempoBPM)
	least := math.Inf(1)
	for i, a := range notes {
		c := &w.Channels[a.channel]
		pin := func(x placedNote) int { return w.Machine.Wheel.Wrap(int(x.aim) - advance[x.channel]) }
		d := n
		for j, b := range notes {
			if i != j && b.channel == a.channel {
				if between := w.Machine.Wheel.Wrap(pin(b) - pin(a)); between == 0 {
					return math.Inf(-1) // two notes, one pin
				} else {
					d = min(d, between)
				}
			}
		}
		gap := float64(d) * p
		slack := min(gap-c.Reload, gap-c.Clear, (float64(d)-c.Hold)*p-c.Return)
		for _, passage := range c.Passages {
			slack = min(slack, gap-w.Need(passage, passage))
		}
		if float64(d) <= c.Hold {
			slack -= forbiddenS
		}
		least = min(least, slack)
	}
	return least
}

// everyWay calls a function with every way of giving notes one of their
// channels.
func everyWay(notes []placedNote, try func([]placedNote)) {
	notes = slices.Clone(notes)
	var next func(i int)
	next = func(i int) {
		if i == len(notes) {
			try(notes)
			return
		}
		for _, c := range notes[i].choices {
			notes[i].channel = c
			next(i + 1)
		}
	}
	next(0)
}

func channelsOf(notes []placedNote) (list []int32) {
	for _, n := range notes {
		list = append(list, n.channel)
	}
	return list
}

// twins are notes at aims that may each go to any of some channels, given as a
// first fit: a note of the nth at its aim to the nth channel.
func twins(channels int32, aims ...int32) []placedNote {
	var choices []int32
	for c := range channels {
		choices = append(choices, c)
	}
	var notes []placedNote
	for _, aim := range aims {
		n := placedNote{aim: aim, choices: choices}
		for _, m := range notes {
			if m.aim == aim {
				n.channel++
			}
		}
		notes = append(notes, n)
	}
	return notes
}

func wantChannels(t *testing.T, notes []placedNote, want ...int32) {
	t.Helper()
	if got := channelsOf(notes); !slices.Equal(got, want) {
		t.Errorf("channels %v, want %v", got, want)
	}
}

// Worked by hand: four notes four steps apart on a turn of 16. All on one of two
// twins leave it 4 steps; in turn each has 8.
func TestTwinsPlayInTurn(t *testing.T) {
	w := compile(t, machine(16, 4, row{id: "a", reloadMS: 140}, row{id: "b", reloadMS: 140}))
	notes := twins(2, 0, 4, 8, 12)
	share(w, notes, 120)
	wantChannels(t, notes, 0, 1, 0, 1)
}

// Worked by hand: five notes at 0, 1, 2, 3, 4 of 16, two twins. In turn from the
// first, both get gaps of 2 within; the seam has room enough (12 steps). Where
// the five fill the turn evenly (16 = 3+3+3+3+4) in turn puts the last and the
// first on one channel, 4 steps apart and no note has less than 4: that is best,
// since of five notes round on two channels some two neighbours must share.
func TestOddNotesMeetOnOneTwinWhereTheRestIsLongest(t *testing.T) {
	w := compile(t, machine(16, 4, row{id: "a"}, row{id: "b"}))
	notes := twins(2, 0, 3, 6, 9, 12)
	share(w, notes, 120)
	if got, want := leastSlack(w, notes, make([]int, 2), 120), 4*0.125; math.Abs(got-want) > 1e-12 {
		t.Errorf("least slack %g s with %v, want %g", got, channelsOf(notes), want)
	}
	if notes[0].channel != notes[4].channel {
		t.Errorf("channels %v: the two notes 4 steps apart should share one", channelsOf(notes))
	}
}

// Worked by hand: at 120 BPM a step is 125 ms. Twin b reloads in 400 ms, a in
// 100 ms. Notes at 0, 2, 4, 6 of 16: in turn b gets two of them 4 steps apart,
// slack 500 − 400 = 100 ms. All but one on a leaves a 2 steps, 250 − 100 = 150 ms,
// and b alone 16 steps. Three on a are 2 steps apart at least once, whichever b
// has, or twice; 150 ms is best.
func TestSlowTwinGetsFewerNotes(t *testing.T) {
	w := compile(t, machine(16, 4, row{id: "a", reloadMS: 100}, row{id: "b", reloadMS: 400}))
	notes := twins(2, 0, 2, 4, 6)
	share(w, notes, 120)
	if got := leastSlack(w, notes, make([]int, 2), 120); math.Abs(got-0.150) > 1e-12 {
		t.Errorf("least slack %g s with %v, want 0.150", got, channelsOf(notes))
	}
}

// Worked by hand: with hold 2.5 steps, notes 2 steps apart must not share a
// channel at any tempo, though 8 s a step leaves time for all else.
func TestHoldArcKeepsNotesApartAtAnyTempo(t *testing.T) {
	m := machine(32, 4, row{id: "a"}, row{id: "b", reloadMS: 60_000})
	for i := range m.Channels {
		m.Channels[i].Trip.HoldMM = wheel.Known(2.5)
	}
	w := compile(t, m)
	notes := twins(2, 0, 2, 4, 6)
	share(w, notes, 30)
	wantChannels(t, notes, 0, 1, 0, 1)
}

// The bottleneck, notes 1 step apart at the start of the turn, must not make the
// rest of the song careless: a single twin there would keep to it as well.
func TestRestOfTheTurnIsSharedInTurnToo(t *testing.T) {
	w := compile(t, machine(64, 4, row{id: "a"}, row{id: "b"}))
	notes := twins(2, 0, 0, 1, 1, 8, 12, 16, 20, 24, 28)
	share(w, notes, 120)
	rest := channelsOf(notes)[4:]
	for i := range rest[1:] {
		if rest[i] == rest[i+1] {
			t.Fatalf("channels %v: neighbours share one", channelsOf(notes))
		}
	}
}

func TestNotesWithoutAChoiceStay(t *testing.T) {
	w := compile(t, machine(16, 4, row{id: "a"}, row{id: "b"}))
	notes := []placedNote{{channel: 1, aim: 3, choices: []int32{1}}, {channel: 0, aim: 3, choices: []int32{0}}, {channel: 1, aim: 4, choices: []int32{1}}}
	share(w, notes, 120)
	wantChannels(t, notes, 1, 0, 1)
	share(w, nil, 120)
}

// drawShared is a machine of 2 or 3 channels that share notes in part, and notes
// that all have a place.
func drawShared(t *rapid.T, mostNotes int) (*wheel.Machine, []placedNote) {
	steps := rapid.IntRange(3, 24).Draw(t, "steps")
	same := rapid.Bool().Draw(t, "alike")
	var rows []row
	for i := range rapid.IntRange(2, 3).Draw(t, "channels") {
		r := row{id: fmt.Sprint(i), reloadMS: 140, reachMM: 0}
		if !same {
			r.reloadMS = float64(rapid.IntRange(0, 12).Draw(t, "reload/50")) * 50
			r.reachMM = rapid.Float64Range(0, 5).Draw(t, "reach")
		}
		rows = append(rows, r)
	}
	m := machine(steps, 4, rows...)
	m.Lanes = []wheel.Lane{{ID: "fall", Kind: wheel.Fall, LengthMM: wheel.Known(240), Keep: wheel.Known(1)}, {ID: "chute", Kind: wheel.Ramp, LengthMM: wheel.Known(600), SlopeDeg: wheel.Known(3), Keep: wheel.Known(0.5)}}
	for i := range m.Channels {
		c := &m.Channels[i]
		if !same {
			c.Trip.HoldMM = wheel.Known(float64(rapid.IntRange(0, 5).Draw(t, "hold*2")) / 2)
			c.Trip.ReturnMS = wheel.Known(float64(rapid.IntRange(0, 3).Draw(t, "return/60") * 60))
			c.Strike.ClearMS = wheel.Known(float64(rapid.IntRange(0, 3).Draw(t, "clear/90") * 90))
		}
		if rapid.Bool().Draw(t, "lanes") {
			c.Path, c.Exit, c.ExitMMS = []string{"fall"}, []string{"chute"}, wheel.Known(200)
		}
	}
	n := int32(len(rows))
	var lists [][]int32
	for range 3 {
		first := rapid.Int32Range(0, n-1).Draw(t, "choice")
		list := []int32{first}
		for c := range n {
			if c != first && rapid.IntRange(0, 2).Draw(t, "and") > 0 {
				list = append(list, c)
			}
		}
		slices.Sort(list)
		lists = append(lists, list)
	}
	var notes []placedNote
	for range rapid.IntRange(2, mostNotes).Draw(t, "notes") {
		note := placedNote{aim: rapid.Int32Range(0, int32(steps)-1).Draw(t, "aim"), choices: rapid.SampledFrom(lists).Draw(t, "list")}
		for _, c := range note.choices { // the first that is free there, or no note
			if !slices.ContainsFunc(notes, func(m placedNote) bool { return m.aim == note.aim && m.channel == c }) {
				note.channel = c
				notes = append(notes, note)
				break
			}
		}
	}
	return m, notes
}

func TestSharedNotesHaveTheLongestLeastRestOfAllWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, notes := drawShared(t, 8)
		w := compileRapid(t, m)
		tempo := rapid.SampledFrom([]float64{30, 84, 180}).Draw(t, "tempo")
		var advance []int
		for range m.Channels {
			advance = append(advance, rapid.IntRange(0, m.Wheel.Steps).Draw(t, "advance"))
		}
		best := math.Inf(-1)
		everyWay(notes, func(way []placedNote) { best = max(best, leastSlack(w, way, advance, tempo)) })
		shared := slices.Clone(notes)
		share(w, shared, tempo)
		for i, n := range shared {
			if !slices.Contains(n.choices, n.channel) || n.aim != notes[i].aim {
				t.Fatalf("note %d went from %+v to %+v", i, notes[i], n)
			}
		}
		if got := leastSlack(w, shared, advance, tempo); math.Abs(got-best) > 1e-7 {
			t.Fatalf("least slack %g s with %v, of all ways %g", got, channelsOf(shared), best)
		}
	})
}

func TestSharingAgainChangesNoSlackAndAnyOrderOfNotesWillDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, notes := drawShared(t, 40)
		w := compileRapid(t, m)
		advance := make([]int, len(m.Channels))
		given := leastSlack(w, notes, advance, 84)
		once := slices.Clone(notes)
		share(w, once, 84)
		again := slices.Clone(notes)
		share(w, again, 84)
		if !slices.Equal(channelsOf(once), channelsOf(again)) {
			t.Fatalf("the same notes got %v and then %v", channelsOf(once), channelsOf(again))
		}
		first := leastSlack(w, once, advance, 84)
		if first < given-1e-9 {
			t.Fatalf("least slack %g s, given %g", first, given)
		}
		mixed := rapid.Permutation(once).Draw(t, "mixed")
		share(w, mixed, 84)
		if got := leastSlack(w, mixed, advance, 84); math.Abs(got-first) > 1e-7 {
			t.Fatalf("shared again, least slack %g s, was %g", got, first)
		}
	})
}
