package limits

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel/say"
)

// laneDrawing is a lane's marbles as curves: time across, distance along the
// lane upward.
type laneDrawing struct {
	Problem  string
	Lane     string
	From     int // bar
	Bars     int
	LengthMM float64
	FromS    float64
	ToS      float64
	Tracks   []trackDrawing
	Meetings []meetingDrawing
	MMTicks  []axisTick
	BarTicks []axisTick
}

type trackDrawing struct {
	Ribbon, Curve string // points of the spacing about it, and of itself
	Name          string
	Href          string
	Shade         int
}

type meetingDrawing struct {
	X, Y  float64
	Words string
	Href  string
	Other string // address of the second pin
}

type axisTick struct {
	At   float64
	Text string
}

// Size of the drawing and its margins.
const (
	graphWide, graphHigh    = 1000.0, 420.0
	graphLeft, graphTop     = 64.0, 14.0
	graphRight, graphBottom = 14.0, 46.0
	mostTracks              = 400
	mostGraphBars           = 4
)

// timingLane is the drawing of a lane alone, for a tempo or a stretch that was
// settled on. The address is then that of the page with it.
func (s *area) timingLane(w http.ResponseWriter, r *http.Request) error {
	c := readTimingChoice(r.URL.Query())
	tr, err := s.readTrial(r, c)
	if err != nil && asBadTrial(err) == nil {
		return err
	}
	w.Header().Set("HX-Replace-Url", page.PinningURL(tr.pinning.ID, "timing?"+c.query()))
	s.Show(w, r, http.StatusOK, laneDrawingView(laneOf(tr, c)))
	return nil
}

func laneOf(tr trial, c timingChoice) laneDrawing {
	d, err := drawLane(tr, c)
	if err != nil {
		d.Problem = say.Sentence(err)
	}
	return d
}

func drawLane(tr trial, c timingChoice) (laneDrawing, error) {
	m := tr.works.Machine
	d := laneDrawing{Lane: c.Lane, From: 1, Bars: 1}
	if len(m.Lanes) == 0 {
		return d, fmt.Errorf("this machine has no lanes")
	}
	if d.Lane == "" {
		d.Lane = busiestLane(tr.works)
	}
	lane := m.Lane(d.Lane)
	if lane < 0 {
		return d, fmt.Errorf("there is no lane %q on %s; choose one from the list", say.Short(d.Lane), m.Name)
	}
	bars := max(1, m.Wheel.Steps/m.Wheel.StepsPerBar())
	var err error
	if d.From, err = barField(c.From, 1, bars, "from bar"); err != nil {
		return d, err
	}
	if d.Bars, err = barField(c.Bars, 1, min(bars, mostGraphBars), "number of bars"); err != nil {
		return d, err
	}
	per := m.Wheel.StepsPerBar()
	g, err := tr.turn.LaneGraph(lane, (d.From-1)*per, d.Bars*per, tr.tempo)
	if err != nil {
		return d, err
	}
	if len(g.Tracks) > mostTracks {
		return d, fmt.Errorf("%d marbles pass through %s in these bars; fewer bars can be drawn", len(g.Tracks), d.Lane)
	}
	d.LengthMM, d.FromS, d.ToS = g.LengthMM, g.FromS, g.ToS
	x := func(s float64) float64 {
		return graphLeft + (s-g.FromS)/(g.ToS-g.FromS)*(graphWide-graphLeft-graphRight)
	}
	y := func(mm float64) float64 {
		return graphHigh - graphBottom - mm/g.LengthMM*(graphHigh-graphTop-graphBottom)
	}
	place := func(channel, step int) string {
		return page.PinURL(tr.pinning.ID, say.Typed(tr.tempo), m.Channels[channel].ID, step)
	}
	for _, t := range g.Tracks {
		d.Tracks = append(d.Tracks, trackDrawing{
			Ribbon: ribbon(t.Points, g.SpacingMM, g.LengthMM, x, y), Curve: curve(t.Points, x, y),
			Name:  fmt.Sprintf("%s, %s", m.Channels[t.Channel].Name, m.Wheel.PlaceText(t.Step)),
			Href:  place(t.Channel, t.Step),
			Shade: t.Channel % 4,
		})
	}
	for _, meet := range g.Meetings {
		d.Meetings = append(d.Meetings, meetingDrawing{
			X: x(meet.AtS), Y: y(meet.MM), Words: tr.works.Sentence(meet.Finding),
			Href: place(meet.Finding.Channel, meet.Finding.Step), Other: place(meet.Finding.Other, meet.Finding.OtherStep),
		})
	}
	d.ticks(tr, g, x, y)
	return d, nil
}

func (d *laneDrawing) ticks(tr trial, g timing.LaneGraph, x, y func(float64) float64) {
	w := tr.works.Machine.Wheel
	beat := w.StepPeriod(tr.tempo) * float64(w.StepsPerBeat)
	for i := 0; i <= d.Bars*w.BeatsPerBar; i++ {
		at := float64(i) * beat
		if at < g.FromS || at > g.ToS {
			continue
		}
		bar, within := d.From+i/w.BeatsPerBar, i%w.BeatsPerBar+1
		text := strconv.Itoa(within)
		if within == 1 {
			text = fmt.Sprintf("bar %d", bar)
		}
		d.BarTicks = append(d.BarTicks, axisTick{x(at), text})
	}
	for _, share := range []float64{0, 0.25, 0.5, 0.75, 1} {
		d.MMTicks = append(d.MMTicks, axisTick{y(share * g.LengthMM), say.Rounded(share*g.LengthMM, 1) + " mm"})
	}
}

func barField(text string, usual, most int, what string) (int, error) {
	if text == "" {
		return usual, nil
	}
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 1 || n > most {
		return usual, fmt.Errorf("the lane graph's %s is %q; it should be a whole number from 1 to %d", what, say.Short(text), most)
	}
	return n, nil
}

// busiestLane is the lane that most channels use.
func busiestLane(w *timing.Works) string {
	users := make([]int, len(w.Machine.Lanes))
	for i := range w.Channels {
		for _, p := range w.Channels[i].Passages {
			users[p.Lane]++
		}
	}
	best := 0
	for i, n := range users {
		if n > users[best] {
			best = i
		}
	}
	return w.Machine.Lanes[best].ID
}

func curve(points []timing.LanePoint, x, y func(float64) float64) string {
	var b strings.Builder
	for _, p := range points {
		fmt.Fprintf(&b, "%.1f,%.1f ", x(p.AtS), y(p.MM))
	}
	return b.String()
}

// ribbon is half the least spacing to either side of a marble: where two
// ribbons of one lane overlap, two marbles meet.
func ribbon(points []timing.LanePoint, spacing, length float64, x, y func(float64) float64) string {
	var b strings.Builder
	for _, p := range points {
		fmt.Fprintf(&b, "%.1f,%.1f ", x(p.AtS), y(min(length, p.MM+spacing/2)))
	}
	for i := len(points) - 1; i >= 0; i-- {
		fmt.Fprintf(&b, "%.1f,%.1f ", x(points[i].AtS), y(max(0, points[i].MM-spacing/2)))
	}
	return b.String()
}
