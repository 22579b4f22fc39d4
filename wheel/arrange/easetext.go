package arrange

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// EaseChange is one note that easing changed. Its Kind is "shifted" where only
// its step is another, "moved" where its channel is, "dropped" where it is
// left out; ToStep is then FromStep.
type EaseChange struct {
	Change
	ShiftMS float64 // by how much it sounds later, at the tempo to be trusted
	Cost    float64
	Text    string // as in "bar 5 beat 3: Bar E5 one step later, 36 ms"
}

// write writes an outcome down: the notes that are left, and what became of the
// others.
func (e *easing) write(r *outcome) (left []placedNote, out *Eased) {
	to := r.gaps.toBPM
	out = &Eased{Changes: []EaseChange{}, Cost: r.cost, LowerBound: r.lower, Exact: r.exact, EasedToBPM: &to}
	if r.bare > 0 {
		bare := but(r.bare, r.gaps.toBPM)
		out.MaxSafeBPM = &bare
	}
	if r.keep > 0 {
		keep := but(r.keep, e.keep)
		out.KeepBelowBPM = &keep
	}
	x := r.index()
	for i := range e.notes {
		n, s := e.notes[i], r.to[i]
		if r.left[i] || s.later != 0 || s.channel != n.channel {
			out.Changes = append(out.Changes, r.change(x, int32(i), len(out.Changes) < mostReasons))
		}
		if !r.left[i] {
			n.channel, n.aim = s.channel, int32(e.machine.Wheel.Wrap(int(n.aim+s.later)))
			left = append(left, n)
		}
	}
	slices.SortStableFunc(out.Changes, func(a, b EaseChange) int { return cmp.Compare(a.FromStep, b.FromStep) })
	return left, out
}

// but is a tempo that may be another but for the last bits, which one loses on its
// way to a step period and back.
func but(bpm, other float64) float64 {
	if bpm < other && bpm >= other*(1-wheel.TempoSlack) {
		return other
	}
	return bpm
}

// mostReasons is how many changes have their reason given, in the order of the
// notes.
const mostReasons = 10_000

// change says what became of a note, and why.
func (r *outcome) change(x *byHole, note int32, why bool) EaseChange {
	g := r.gaps
	m := g.machine
	n, s := &g.notes[note], r.to[note]
	own := &m.Channels[n.channel]
	c := EaseChange{Change: Change{Kind: "dropped", Channel: own.ID, FromStep: int(n.aim), ToStep: int(n.aim)}, Cost: n.weight}
	if why {
		c.Why = r.why(x, note, site{channel: n.channel})
	}
	at := m.Wheel.PlaceText(int(n.aim))
	if r.left[note] {
		c.Text = fmt.Sprintf("%s: %s left out", at, own.Name)
		return c
	}
	c.Kind, c.ToStep = "shifted", m.Wheel.Wrap(int(n.aim+s.later))
	c.Cost = stepCost * math.Abs(float64(s.later)) * n.weight
	c.ShiftMS = float64(s.later) * m.Wheel.StepPeriod(g.keepBPM) * 1000
	shift := ""
	if s.later != 0 {
		shift = fmt.Sprintf("%s, %s", stepsLater(s.later), milliseconds(math.Abs(c.ShiftMS)))
	}
	if s.channel == n.channel {
		c.Text = fmt.Sprintf("%s: %s %s", at, own.Name, shift)
		return c
	}
	to := &m.Channels[s.channel]
	c.Kind, c.ToChannel = "moved", to.ID
	c.Text = fmt.Sprintf("%s: moved from %s to %s", at, own.Name, to.Name)
	if shift != "" {
		c.Text += ", " + shift
	}
	return c
}

func stepsLater(n int32) string {
	way := "later"
	if n < 0 {
		n, way = -n, "earlier"
	}
	if n == 1 {
		return "one step " + way
	}
	return fmt.Sprintf("%s steps %s", [...]string{2: "two"}[n], way)
}

// milliseconds writes a time in ms, with one decimal below 10.
func milliseconds(ms float64) string {
	if ms < 10 {
		return say.MS(ms)
	}
	return say.Rounded(ms, 0) + " ms"
}

// byHole is the notes of an outcome by where their pins are.
type byHole struct {
	notes [][]int32 // by channel, by step
	trips []int     // by step
}

func (r *outcome) index() *byHole {
	g := r.gaps
	x := &byHole{notes: make([][]int32, len(g.gap)), trips: make([]int, g.turn)}
	for i := range r.left {
		if !r.left[i] {
			c := r.to[i].channel
			x.notes[c] = append(x.notes[c], int32(i))
			x.trips[g.step(int32(i), r.to[i])]++
		}
	}
	for c := range x.notes {
		slices.SortFunc(x.notes[c], func(a, b int32) int {
			return cmp.Compare(g.step(a, r.to[a]), g.step(b, r.to[b]))
		})
	}
	return x
}

// between is a note of a channel, but one, with a pin from some steps after a
// step to some others; −1 where there is none.
func (x *byHole) between(r *outcome, channel, step int32, from, to int, but int32) int32 {
	g, list := r.gaps, x.notes[channel]
	wrap := g.machine.Wheel.Wrap
	first := int32(wrap(int(step) + from))
	at, _ := slices.BinarySearchFunc(list, first, func(n, s int32) int { return cmp.Compare(g.step(n, r.to[n]), s) })
	for k := range list {
		n := list[(at+k)%len(list)]
		if wrap(int(g.step(n, r.to[n])-first)) > to-from {
			break
		}
		if n != but {
			return n
		}
	}
	return -1
}

// why says what is in the way of a note at a site, as all others are now.
func (r *outcome) why(x *byHole, note int32, s site) string {
	g := r.gaps
	m := g.machine
	step, bpm := g.step(note, s), say.Tempo(g.toBPM)
	name := m.Channels[s.channel].Name
	place := func(n int32) string { return m.Wheel.PlaceText(int(g.notes[n].aim + r.to[n].later)) }
	gap := int(g.gap[s.channel])
	if gap > int(g.turn) {
		if m.Channels[s.channel].Service == wheel.Resting {
			return fmt.Sprintf("%s is resting", name)
		}
		return fmt.Sprintf("up to %s BPM, even a lone pin of %s follows itself too soon, one turn later", bpm, name)
	}
	if other := x.between(r, s.channel, step, 1-gap, gap-1, note); other >= 0 {
		d := g.step(other, r.to[other]) - step
		away := min(m.Wheel.Wrap(int(d)), m.Wheel.Wrap(int(-d)))
		if away == 0 {
			return fmt.Sprintf("another note of %s is there", name)
		}
		if gap == int(g.turn) {
			return fmt.Sprintf("%s sounds at %s too; up to %s BPM it can sound once a turn", name, place(other), bpm)
		}
		return fmt.Sprintf("%s sounds at %s too, %s away; up to %s BPM it needs %d", name, place(other), say.Count(away, "step", "steps"), bpm, gap)
	}
	for _, v := range g.near[s.channel] {
		if other := x.between(r, v.channel, step, v.from, v.to, note); other >= 0 {
			return fmt.Sprintf("its marble would meet that of %s, %s, in lane %s", m.Channels[v.channel].Name, place(other), m.Lanes[v.lane].ID)
		}
	}
	trips := x.trips[step]
	if !r.left[note] && g.step(note, r.to[note]) == step {
		trips--
	}
	if most := m.Limits.TripsAtOnce; most > 0 && trips >= most {
		return fmt.Sprintf("the wheel may trip %s at once; that many others are on this step", say.Count(most, "pin", "pins"))
	}
	return ""
}

// unmetSentences say which decisions cannot be kept at a bare limit, and why.
func (e *easing) unmetSentences(r *outcome) []string {
	g := r.gaps
	at := "at " + say.Tempo(g.toBPM) + " BPM"
	if g.toBPM > e.keep {
		at = fmt.Sprintf("where %s BPM is to be trusted, with a bare limit of %s BPM", say.Tempo(e.keep), say.Tempo(g.toBPM))
	}
	x := r.index()
	var list []string
	for _, note := range r.unmet {
		n, w := &g.notes[note], &g.wishes[note]
		what := "cannot stay"
		if w.taken != nil {
			what = "cannot be where it was decided to be"
		}
		if !r.proved {
			what = "found no place"
		}
		text := fmt.Sprintf("%s: %s %s %s", g.machine.Wheel.PlaceText(int(n.aim)), g.machine.Channels[n.channel].Name, what, at)
		s := site{channel: n.channel}
		if w.taken != nil {
			s = w.taken[0]
		}
		if why := r.why(x, note, s); why != "" {
			text += ": " + why
		}
		list = append(list, text)
	}
	return list
}
