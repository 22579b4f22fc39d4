package timing

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"pinwright/wheel"
)

// LanePoint is where a marble is in a lane at a time from the start of the
// stretch, in seconds and mm from the lane's mouth.
type LanePoint struct{ AtS, MM float64 }

// LaneTrack is one marble in a lane. Its points follow its parabola from
// mouth to end.
type LaneTrack struct {
	Channel, Step  int
	Turn           int // 0 for a pin of the turn in which the stretch starts
	EnterS, LeaveS float64
	Points         []LanePoint
	Exit           bool // after the strike
}

// LaneMeeting is two tracks nearer than the least spacing: the finding, and
// where and when they are nearest.
type LaneMeeting struct {
	First, Second int // in Tracks; the first is ahead
	AtS           float64
	MM            float64 // half way between the two centres
	ApartMM       float64 // of the two centres, along the lane
	Finding
}

// LaneGraph is the marbles in one lane over a stretch of the wheel.
type LaneGraph struct {
	Lane       int
	LengthMM   float64
	SpacingMM  float64 // the least there may be between two centres
	FromS, ToS float64 // the stretch; times count from its start
	Tracks     []LaneTrack
	Meetings   []LaneMeeting // in the order of their times
}

// MaxTracks is how many marbles a lane graph may have.
const MaxTracks = 2000

// pointsOfTrack is enough for a parabola to look smooth: its chords stay
// within 1/(8·23²) of the lane's length, a quarter of a thousandth.
const pointsOfTrack = 24

// LaneGraph is every marble that is in a lane at some time while the wheel
// goes through a number of steps from fromStep, 0 ≤ fromStep < N and
// 1 ≤ steps ≤ N, past the seam if need be, at a tempo in beats per minute.
// Marbles of earlier turns still under way are among them; so the wheel has
// been turning at this tempo for long. Meetings are those that are nearest in
// the stretch, MaxFindings at the most. The error says what is out of range, or that there would be
// more than MaxTracks.
func (t *Turn) LaneGraph(lane, fromStep, steps int, tempoBPM float64) (LaneGraph, error) {
	w := t.works
	n := w.Machine.Wheel.Steps
	switch {
	case lane < 0 || lane >= len(w.lanes):
		return LaneGraph{}, fmt.Errorf("there is no lane %d; the machine has %d", lane, len(w.lanes))
	case fromStep < 0 || fromStep >= n:
		return LaneGraph{}, fmt.Errorf("the stretch starts at step %d; the wheel has steps 0 to %d", fromStep, n-1)
	case steps < 1 || steps > n:
		return LaneGraph{}, fmt.Errorf("the stretch is %d steps long; it should be 1 to %d, one turn", steps, n)
	}
	if err := checkTempo(tempoBPM); err != nil {
		return LaneGraph{}, err
	}
	p := w.Machine.Wheel.StepPeriod(tempoBPM)
	l := &w.lanes[lane]
	g := LaneGraph{Lane: lane, LengthMM: l.length * 1000, SpacingMM: w.Spacing() * 1000, ToS: p * float64(steps)}
	var passages []int // by track
	for i, pass := range l.passages {
		r := &t.rows[pass.Channel]
		if r.pins == 0 {
			continue
		}
		reach := w.Channels[pass.Channel].Reach
		at := func(step int) float64 { return p*(float64(step)+reach) + pass.Enter } // step from fromStep
		// The first and last step at which a pin's marble can be in the lane.
		first := int(math.Floor((0-pass.Time-pass.Enter)/p-reach)) - 1
		last := int(math.Ceil((g.ToS-pass.Enter)/p-reach)) + 1
		for turn := floorDiv(first+fromStep, n); turn*n-fromStep <= last; turn++ {
			for step := r.next(0); step < n; step = r.next(step + 1) {
				enter := at(step + turn*n - fromStep)
				leave := enter + pass.Time
				if enter >= g.ToS || leave < 0 {
					continue
				}
				if len(g.Tracks) == MaxTracks {
					return LaneGraph{}, fmt.Errorf("more than %d marbles are in lane %s during these %d steps; choose fewer", MaxTracks, w.Machine.Lanes[lane].ID, steps)
				}
				g.Tracks = append(g.Tracks, LaneTrack{Channel: pass.Channel, Step: step, Turn: turn, EnterS: enter, LeaveS: leave, Exit: pass.Exit})
				passages = append(passages, i)
			}
		}
	}
	g.sort(passages)
	g.draw(l, passages)
	t.meet(&g, l, passages, p)
	return g, nil
}

// checkTempo refuses a tempo that no wheel can turn at.
func checkTempo(bpm float64) error {
	if !(bpm >= 1 && bpm <= wheel.MaxTempoBPM) {
		return fmt.Errorf("the tempo is %s BPM; it should be 1 to %d BPM", wheel.Number(bpm), wheel.MaxTempoBPM)
	}
	return nil
}

func floorDiv(a, n int) int { return (a - wrap(a, n)) / n }

// sort puts tracks, and their passages with them, in the order in which they
// enter the lane.
func (g *LaneGraph) sort(passages []int) {
	order := make([]int, len(g.Tracks))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(g.Tracks[a].EnterS, g.Tracks[b].EnterS), a-b)
	})
	tracks, ps := slices.Clone(g.Tracks), slices.Clone(passages)
	for i, from := range order {
		g.Tracks[i], passages[i] = tracks[from], ps[from]
	}
}

// draw gives every track its points.
func (g *LaneGraph) draw(l *lane, passages []int) {
	points := make([]LanePoint, len(g.Tracks)*pointsOfTrack)
	for i := range g.Tracks {
		track, pass := &g.Tracks[i], &l.passages[passages[i]]
		track.Points, points = points[:pointsOfTrack:pointsOfTrack], points[pointsOfTrack:]
		for k := range track.Points {
			after := pass.Time * float64(k) / (pointsOfTrack - 1)
			track.Points[k] = LanePoint{track.EnterS + after, l.along(pass.SpeedIn, after) * 1000}
		}
	}
}

// meet notes the meetings of a graph's tracks: what findPair finds by the rules
// that keep marbles of this lane apart.
func (t *Turn) meet(g *LaneGraph, l *lane, passages []int, p float64) {
	for k := range t.works.rules.pairs {
		if of := &t.works.rules.pairs[k]; of.keepsApart(l) {
			t.meetBy(of, g, l, passages, p)
		}
	}
	slices.SortStableFunc(g.Meetings, func(a, b LaneMeeting) int { return cmp.Compare(a.AtS, b.AtS) })
}

// keepsApart reports whether a lane's passages are one of the rule's groups.
func (of *pairing) keepsApart(l *lane) bool {
	return slices.ContainsFunc(of.groups, func(group []Passage) bool {
		return len(group) > 0 && len(l.passages) > 0 && &group[0] == &l.passages[0]
	})
}

// meetBy is meet for one rule, in any order.
func (t *Turn) meetBy(of *pairing, g *LaneGraph, l *lane, passages []int, p float64) {
	longest := 0.0
	for _, pass := range l.passages {
		longest = max(longest, pass.Time)
	}
	n := t.works.Machine.Wheel.Steps
	for i := range g.Tracks {
		for j := i + 1; j < len(g.Tracks) && g.Tracks[j].EnterS-g.Tracks[i].EnterS < longest; j++ {
			a, b := i, j // in the order of passages, and of pins on one channel
			if passages[a] > passages[b] {
				a, b = b, a
			}
			lead := t.works.leadOf(pair{of, &l.passages[passages[a]], &l.passages[passages[b]]})
			ta, tb := &g.Tracks[a], &g.Tracks[b]
			ahead := p*(float64(tb.Step-ta.Step+(tb.Turn-ta.Turn)*n)+lead.rho) + lead.offset
			if ahead <= met-lead.behind || ahead >= lead.ahead-met || len(g.Meetings) == MaxFindings {
				continue
			}
			need := lead.ahead
			if ahead < 0 {
				a, b, ahead, need = b, a, -ahead, lead.behind
			}
			m := LaneMeeting{First: a, Second: b, Finding: Finding{
				of.kind, g.Tracks[a].Channel, g.Tracks[a].Step, g.Tracks[b].Channel, g.Tracks[b].Step, g.Lane, ahead, need}}
			m.nearest(g, l, &l.passages[passages[a]], &l.passages[passages[b]])
			if m.AtS >= g.FromS && m.AtS < g.ToS {
				g.Meetings = append(g.Meetings, m)
			}
		}
	}
}

// nearest fills in where and when two tracks are nearest: their distance is
// linear in time, so at the second's entry or at the end of their time
// together in the lane.
func (m *LaneMeeting) nearest(g *LaneGraph, l *lane, first, second *Passage) {
	entry, end := g.Tracks[m.Second].EnterS, min(g.Tracks[m.First].LeaveS, g.Tracks[m.Second].LeaveS)
	ahead := func(at float64) (apart, middle float64) {
		one := l.along(first.SpeedIn, at-g.Tracks[m.First].EnterS)
		two := l.along(second.SpeedIn, at-g.Tracks[m.Second].EnterS)
		return (one - two) * 1000, (one + two) / 2 * 1000
	}
	apart, middle := ahead(entry)
	m.AtS, m.MM, m.ApartMM = entry, middle, max(apart, 0)
	last, middle := ahead(end)
	switch {
	case apart > 0 && last < 0: // the second would pass through the first
		m.AtS = entry + (end-entry)*apart/(apart-last)
		_, m.MM = ahead(m.AtS)
		m.ApartMM = 0
	case last < apart:
		m.AtS, m.MM, m.ApartMM = end, middle, max(last, 0)
	}
}
