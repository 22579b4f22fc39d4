package place

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/place/placetest"
)

// Worked by hand on 8 steps, 4 steps to the beat. c0: 0 stays, 2 is pulled, 5 is
// driven; c1: 7 stays, 3 is driven. From step 3 on the turn meets 3, 5 and, over
// the seam, 2: two drives before the first pull.
func TestPlanListsFewestPullsAndDrivesAsTheWheelTurns(t *testing.T) {
	m := machine(8, 60, 62)
	from, to := pinning("Mill Race", []int{0, 2}, []int{7}), pinning("Nine Knocks", []int{0, 5}, []int{3, 7})
	p := mustPlan(t, m, from, to, Options{Start: 3, PinsPerMin: 6})
	want := []Move{
		{3, 1, 1.75, 1, "c1", Drive},
		{5, 1, 2.25, 0, "c0", Drive},
		{2, 1, 1.5, 0, "c0", Pull},
	}
	if !reflect.DeepEqual(p.List, want) {
		t.Errorf("the list is\n%v\nwant\n%v", p.List, want)
	}
	if p.Kept != 2 || p.Pulls != 1 || p.Drives != 2 || p.Loose != 2 || p.Saved != 0 {
		t.Errorf("kept %d, pulls %d, drives %d, loose %d, saved %d", p.Kept, p.Pulls, p.Drives, p.Loose, p.Saved)
	}
	if p.Minutes == nil || *p.Minutes != 0.5 { // 3 moves at 6 a minute
		t.Errorf("minutes are %v", p.Minutes)
	}
	if p.Machine != "Hailstone" || p.From != "Mill Race" || p.To != "Nine Knocks" || p.RotationSteps != 0 || len(p.Exchanged) != 0 {
		t.Errorf("the plan is %+v", p)
	}
	if want := (Stock{new(1500), 4, new(0), new(1496)}); !reflect.DeepEqual(p.Stock, want) {
		t.Errorf("of the machine's 1500 pins %s", stockText(p.Stock))
	}
}

func stockText(s Stock) string {
	text := func(n *int) string {
		if n == nil {
			return "nil"
		}
		return strconv.Itoa(*n)
	}
	return fmt.Sprintf("there are %s, needed %d, short %s, left %s", text(s.Have), s.Needed, text(s.Short), text(s.Left))
}

func TestStockSaysWhatIsShortOrLeftOrNothing(t *testing.T) {
	m := machine(8, 60)
	from, to := pinning("A", []int{0}), pinning("B", []int{1, 2, 3})
	for _, c := range []struct {
		stock int
		want  Stock
	}{
		{0, Stock{Needed: 3}},
		{2, Stock{new(2), 3, new(1), new(0)}},
		{3, Stock{new(3), 3, new(0), new(0)}},
		{5, Stock{new(5), 3, new(0), new(2)}},
	} {
		m.Wheel.PinStock = c.stock
		p := mustPlan(t, m, from, to, Options{})
		if !reflect.DeepEqual(p.Stock, c.want) {
			t.Errorf("with %d in stock %s, want %s", c.stock, stockText(p.Stock), stockText(c.want))
		}
		if p.Minutes != nil {
			t.Errorf("an estimate of %v minutes from no rate", *p.Minutes)
		}
	}
}

// Worked by hand: turned on by 3 steps of 16, c0's {0, 4, 14} become {3, 7, 1}
// and c1's {1} becomes {4}, which is all that is on the wheel; as it stands
// nothing stays.
func TestRotationKeepsWhatASongSetElsewhereLeavesInPlace(t *testing.T) {
	m := machine(16, 60, 62)
	from, to := pinning("A", []int{1, 3, 7}, []int{4}), pinning("B", []int{0, 4, 14}, []int{1})
	to.Pins[0].Aim = wheel.AimAt(15.5)
	to.Advance = map[string]int{"c1": 2}
	p := mustPlan(t, m, from, to, Options{Rotate: true})
	if p.RotationSteps != 3 || p.Kept != 4 || p.Pulls != 0 || p.Drives != 0 || p.Saved != 8 || len(p.List) != 0 {
		t.Errorf("rotation %d, kept %d, pulls %d, drives %d, saved %d", p.RotationSteps, p.Kept, p.Pulls, p.Drives, p.Saved)
	}
	want := []wheel.Pin{{Channel: "c0", Step: 1}, {Channel: "c0", Step: 3, Aim: wheel.AimAt(2.5)}, {Channel: "c1", Step: 4}, {Channel: "c0", Step: 7}}
	if !reflect.DeepEqual(p.Target.Pins, want) || p.Target.Advance["c1"] != 2 {
		t.Errorf("the target is %+v with advance %v, want %+v", p.Target.Pins, p.Target.Advance, want)
	}
	if to.Pins[0].Step != 0 || to.Pins[0].Aim != wheel.AimAt(15.5) {
		t.Error("the new pinning itself was changed")
	}
}

// Worked by hand: c0 and c2 have the same key, so that B's pins of c0 find
// theirs on c2's row and the other way round. c1 has another key, c3 rests.
func TestExchangeTakesRowsOfEqualKeysAndPlayingChannelsOnly(t *testing.T) {
	m := machine(16, 60, 62, 60, 60)
	m.Channels[3].Service = wheel.Resting
	from := pinning("A", []int{8}, []int{3}, []int{0, 4}, []int{12, 13})
	to := pinning("B", []int{0, 4}, []int{8}, []int{12, 13})
	to.Advance = map[string]int{"c0": 2, "c1": 1}
	p := mustPlan(t, m, from, to, Options{Exchange: true})
	if want := []Exchanged{{"c0", "c2"}, {"c2", "c0"}}; !reflect.DeepEqual(p.Exchanged, want) || p.Kept != 2 || p.Saved != 4 {
		t.Errorf("exchanged %v, kept %d, saved %d", p.Exchanged, p.Kept, p.Saved)
	}
	if want := map[string]int{"c2": 2, "c1": 1}; !reflect.DeepEqual(p.Target.Advance, want) {
		t.Errorf("advances are %v, want %v", p.Target.Advance, want)
	}
	if p := mustPlan(t, m, from, to, Options{}); len(p.Exchanged) != 0 || p.Kept != 0 || p.Saved != 0 {
		t.Errorf("unasked, it exchanged %v", p.Exchanged)
	}
	m.Channels[2].Drum = true // the same number, and another instrument
	if p := mustPlan(t, m, from, to, Options{Exchange: true}); len(p.Exchanged) != 0 {
		t.Errorf("it exchanged a drum: %v", p.Exchanged)
	}
}

// bruteKept counts pin by pin what stays under a rotation and rows exchanged.
func bruteKept(from, to *wheel.Pinning, n, rotation int, goes func(channel string) string) int {
	kept := 0
	for _, x := range from.Pins {
		for _, y := range to.Pins {
			if x.Channel == goes(y.Channel) && x.Step == (y.Step+rotation)%n {
				kept++
			}
		}
	}
	return kept
}

// permutations calls f with every order of 0 … n−1.
func permutations(n int, f func([]int)) {
	order := make([]int, 0, n)
	var grow func()
	grow = func() {
		if len(order) == n {
			f(order)
			return
		}
		for i := range n {
			if !slices.Contains(order, i) {
				order = append(order, i)
				grow()
				order = order[:len(order)-1]
			}
		}
	}
	grow()
}

func TestBestPlacingIsThatOfTryingAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, from, to := placetest.Pinnings(t, 4)
		n := m.Wheel.Steps
		o := Options{Rotate: rapid.Bool().Draw(t, "rotate"), Exchange: rapid.Bool().Draw(t, "exchange"), Start: rapid.IntRange(0, n-1).Draw(t, "start")}
		best, bestRotation, fewest := -1, 0, 0
		for r := range n {
			if r > 0 && !o.Rotate {
				break
			}
			permutations(len(m.Channels), func(order []int) {
				moved := 0
				for i, j := range order {
					if i != j {
						moved++
						if !o.Exchange || m.Channels[i].Keys[0] != m.Channels[j].Keys[0] {
							return
						}
					}
				}
				goes := func(id string) string { return m.Channels[order[m.Channel(id)]].ID }
				kept := bruteKept(from, to, n, r, goes)
				if kept > best || kept == best && r == bestRotation && moved < fewest {
					best, bestRotation, fewest = kept, r, moved
				}
			})
		}
		p := mustPlanIn(t, m, from, to, o)
		if p.Kept != best || p.RotationSteps != bestRotation || len(p.Exchanged) != fewest {
			t.Fatalf("kept %d at rotation %d with %d exchanged; trying all: %d at %d with %d", p.Kept, p.RotationSteps, len(p.Exchanged), best, bestRotation, fewest)
		}
		if plain := bruteKept(from, to, n, 0, func(id string) string { return id }); p.Saved != 2*(best-plain) {
			t.Fatalf("saved %d, want %d", p.Saved, 2*(best-plain))
		}
		checkByHands(t, m, from, p)
	})
}

func mustPlanIn(t *rapid.T, m *wheel.Machine, from, to *wheel.Pinning, o Options) *Plan {
	p, err := Changeover(m, from, to, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// checkByHands does what the plan says on a wheel of holes: no hole is pulled
// that is empty nor driven that is full, the wheel never goes back, the tray of
// loose pins suffices and just so, and the target is what stands in the end.
func checkByHands(t *rapid.T, m *wheel.Machine, from *wheel.Pinning, p *Plan) {
	t.Helper()
	row := map[string]int{}
	for _, c := range m.Channels {
		row[c.ID] = c.Row
	}
	holes := map[hole]bool{}
	for _, pin := range from.Pins {
		holes[hole{row[pin.Channel], pin.Step}] = true
	}
	tray, least, turned := p.Loose, p.Loose, 0
	for i, move := range p.List {
		h := hole{move.Row, move.Step}
		if row[move.Channel] != move.Row || holes[h] != (move.Do == Pull) {
			t.Fatalf("move %d, %v, cannot be done", i, move)
		}
		holes[h] = move.Do == Drive
		if move.Do == Drive {
			tray--
		} else {
			tray++
		}
		least = min(least, tray)
		way := (move.Step - p.Start + m.Wheel.Steps) % m.Wheel.Steps
		if way < turned {
			t.Fatalf("move %d turns the wheel back", i)
		}
		turned = way
	}
	if least != 0 {
		t.Fatalf("of %d loose pins %d are never used", p.Loose, least)
	}
	want := map[hole]bool{}
	for _, pin := range p.Target.Pins {
		want[hole{row[pin.Channel], pin.Step}] = true
	}
	for h := range holes {
		if !holes[h] {
			delete(holes, h)
		}
	}
	if !reflect.DeepEqual(holes, want) {
		t.Fatalf("in the end there stands %v, want %v", holes, want)
	}
	stops := 0
	for _, stop := range p.Stops() {
		for _, move := range stop.Moves {
			if move != p.List[stops] || move.Step != stop.Step {
				t.Fatalf("stop %+v is out of order", stop)
			}
			stops++
		}
	}
	if stops != len(p.List) {
		t.Fatalf("%d of %d moves are at stops", stops, len(p.List))
	}
}

type hole struct{ row, step int }

// Both ways of counting, against counting pair by pair, on lengths that are no
// power of two and rows dense enough for the correlation theorem.
func TestCorrelationCountsEveryPair(t *testing.T) {
	dense := 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{1, 2, 97, 256, 1000, 1021}).Draw(t, "n")
		row := func(label string) []int {
			var steps []int
			every := rapid.IntRange(1, 5).Draw(t, label)
			for s := rapid.IntRange(0, min(3, n-1)).Draw(t, label); s < n; s += 1 + (s*7+every)%every {
				steps = append(steps, s)
			}
			return steps
		}
		a, b := row("a"), row("b")
		if len(a)*len(b) > 4*2048*12 {
			dense++
		}
		want := make([]int, n)
		on := make([]bool, n)
		for _, s := range a {
			on[s] = true
		}
		for r := range want {
			for _, s := range b {
				if on[(s+r)%n] {
					want[r]++
				}
			}
		}
		got := make([]int, n)
		correlate(got, a, b)
		if !slices.Equal(got, want) {
			t.Fatalf("n = %d: counts are %v, want %v", n, got, want)
		}
	})
	if dense == 0 {
		t.Error("no rows were dense enough")
	}
}

func TestAssignmentIsThatOfTryingAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(1, 6).Draw(t, "k")
		worths := rapid.SliceOfN(rapid.IntRange(0, 5), k*k, k*k).Draw(t, "worths")
		worth := func(i, j int) int { return worths[i*k+j] }
		best, own := -1, -1
		permutations(k, func(order []int) {
			sum, stay := 0, 0
			for i, j := range order {
				sum += worth(i, j)
				if i == j {
					stay++
				}
			}
			if sum > best || sum == best && stay > own {
				best, own = sum, stay
			}
		})
		sum, to := assign(k, worth)
		check, stay := 0, 0
		for i, j := range to {
			check += worth(i, j)
			if i == j {
				stay++
			}
		}
		if sum != best || check != best || stay != own {
			t.Fatalf("assign says %d by %v (%d stay); trying all says %d (%d stay)", sum, to, stay, best, own)
		}
	})
}

func TestChangeoverRefusesInWords(t *testing.T) {
	m := machine(16, 60, 62)
	good := pinning("A", []int{0})
	refuse := func(from, to *wheel.Pinning, o Options, want ...string) {
		t.Helper()
		_, err := Changeover(m, from, to, o)
		if err == nil || err.Error() != strings.Join(want, "\n") {
			t.Errorf("the error is %v\nwant %s", err, strings.Join(want, "\n"))
		}
	}
	other := pinning("B", []int{0, 16}, nil, []int{3})
	refuse(good, other, Options{},
		"the new pinning: pins[1].step is 16; the wheel of Hailstone has steps 0 to 15",
		`the new pinning: pins[2].channel is "c2", and Hailstone has no such channel`)
	refuse(other, good, Options{},
		"the pinning on the wheel: pins[1].step is 16; the wheel of Hailstone has steps 0 to 15",
		`the pinning on the wheel: pins[2].channel is "c2", and Hailstone has no such channel`)
	refuse(good, pinning("C", []int{3, 3}), Options{}, "the new pinning: pins[1] is at step 3 of c0, where pins[0] is already; a hole takes one pin")
	refuse(good, good, Options{Start: 16}, "the start is step 16; the wheel of Hailstone has steps 0 to 15")
	refuse(good, good, Options{Start: -1}, "the start is step −1; the wheel of Hailstone has steps 0 to 15")
	for _, rate := range []float64{-1, math.NaN(), math.Inf(1), 1001} {
		refuse(good, good, Options{PinsPerMin: rate}, "the rate is "+wheel.Number(rate)+"; pulls and drives in a minute are a number from 0.001 to 1000")
	}
	large := machine(4096, make([]int, 64)...)
	if _, err := Changeover(large, good, good, Options{Rotate: true, Exchange: true}); err == nil || !strings.Contains(err.Error(), "64 channels have equal keys") {
		t.Errorf("64 equal channels at 4,096 shifts: %v", err)
	}
	if _, err := Changeover(large, good, good, Options{Exchange: true}); err != nil {
		t.Errorf("64 equal channels: %v", err)
	}
}

func TestNothingOnTheWheelAndNothingToPinAreChangeoversToo(t *testing.T) {
	m := machine(16, 60, 62)
	empty, song := pinning("Empty"), pinning("B", []int{1, 5}, []int{1})
	for _, o := range []Options{{}, {Rotate: true, Exchange: true}} {
		if p := mustPlan(t, m, empty, song, o); p.Drives != 3 || p.Pulls != 0 || p.RotationSteps != 0 || p.Loose != 3 {
			t.Errorf("%+v onto an empty wheel: %+v", o, p)
		}
		if p := mustPlan(t, m, song, empty, o); p.Drives != 0 || p.Pulls != 3 || p.Loose != 0 {
			t.Errorf("%+v to an empty wheel: %+v", o, p)
		}
		if p := mustPlan(t, m, empty, empty, o); p.List == nil || len(p.List) != 0 {
			t.Errorf("%+v from nothing to nothing: %+v", o, p)
		}
	}
}

func BenchmarkChangeover(b *testing.B) {
	for _, c := range []struct{ steps, channels, keys, pins int }{{256, 28, 28, 450}, {4096, 128, 32, 20000}} {
		keys := make([]int, c.channels)
		for i := range keys {
			keys[i] = i % c.keys
		}
		m := machine(c.steps, keys...)
		draw := func(seed int) *wheel.Pinning {
			steps := make([][]int, c.channels)
			for i := range steps {
				per := c.pins / c.channels
				for j := range per {
					steps[i] = append(steps[i], (j*c.steps/per+i*seed)%c.steps)
				}
			}
			return pinning("A", steps...)
		}
		from, to := draw(7), draw(11)
		b.Run(fmt.Sprintf("%d steps %d channels", c.steps, c.channels), func(b *testing.B) {
			for b.Loop() {
				if _, err := Changeover(m, from, to, Options{Rotate: true, Exchange: true}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
