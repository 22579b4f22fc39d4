package limits

import (
	"errors"
	"net/http"
	"strings"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// timingPage answers what limits a machine with a pinning on it, and what
// would lift the limit. Beside the machine as it is stands the machine on
// trial, where any of its figures has been changed for a try.
type timingPage struct {
	page.Frame
	Pinning  *store.Pinning
	Facts    page.MachineFacts
	Choice   timingChoice
	Problem  []string // what is wrong with the figures tried; the trial is left out then
	Now      page.Strip
	Trial    *page.Strip // nil where nothing is tried
	Tried    []triedFigure
	Unknown  []page.Link // figures that have to be measured before anything is safe
	AtBest   string      // what the bare limit would be with all of them at 0
	Rungs    []rungLine
	More     int      // rungs that are not listed
	Cautions []string // what mendings do beside lifting limits
	Figures  []figureGroup
	Bearing  []figureGroup // of Figures, those that the lowest limit depends on
	Others   []figureGroup
	Lanes    []wheel.Lane
	Bars     int
	Graph    laneDrawing
	At       atTempo
	Moves    []moveLine
	Changes  []wheel.MachineChange
	Kept     *wheel.Machine // without the trial
	Revision int            // of the machine
}

type moveLine struct {
	Name                               string
	Resting                            bool
	Release, Strike, Path, Clear, Home float64 // s
	StrikeSpeed                        float64 // m/s
}

func (s *area) timing(w http.ResponseWriter, r *http.Request) error {
	c := readTimingChoice(r.URL.Query())
	view := timingPage{Choice: c}
	tr, err := s.readTrial(r, c)
	if bad := (*noTempo)(nil); errors.As(err, &bad) && page.WantsPart(r) {
		// The page that is open stays, with what is typed into it.
		w.Header().Set("HX-Retarget", "#at")
		w.Header().Set("HX-Reswap", "outerHTML")
		s.Show(w, r, http.StatusUnprocessableEntity, noTempoView(say.Sentence(bad)))
		return nil
	}
	if bad := asBadTrial(err); bad != nil {
		view.Problem = strings.Split(say.Sentence(bad), "\n")
	} else if err != nil {
		return err
	}
	if err := s.fillTiming(r, &view, tr); err != nil {
		return err
	}
	if page.WantsPart(r) {
		w.Header().Set("HX-Replace-Url", page.PinningURL(tr.pinning.ID, "timing?"+c.query()))
		s.Show(w, r, http.StatusOK, timingResults(view))
		return nil
	}
	s.Show(w, r, http.StatusOK, timingView(view))
	return nil
}

func (s *area) fillTiming(r *http.Request, view *timingPage, tr trial) error {
	m := tr.now
	view.Frame = s.Frame(r, "What limits it").Under(
		page.Link{Text: "Pinnings", URL: "/pinnings"}, page.Link{Text: tr.pinning.Title, URL: page.PinningURL(tr.pinning.ID)})
	view.Frame.Machine, view.Frame.At = m.File.Name, m.ID
	view.Pinning, view.Facts, view.Revision = tr.pinning, page.FactsOf(m), m.Revision
	view.Choice.Tempo = say.Typed(tr.tempo)
	view.Lanes = m.File.Lanes
	view.Bars = max(1, m.File.Wheel.Steps/m.File.Wheel.StepsPerBar())
	view.Figures = figureGroups(m.File)
	view.Choice.fillValues(m.File)
	present, err := m.Turn(tr.pinning.File)
	if err != nil {
		return err
	}
	visitors, err := s.Store.Visitors(r.Context())
	if err != nil {
		return err
	}
	own := tr.pinning.File
	view.Now = page.StripOf(m.Works, present).WithOwn(own).WithWindow(present.Window(visitors.Margin).TempoWindow)
	if len(tr.sets) > 0 {
		strip := page.StripOf(tr.works, tr.turn).WithOwn(own).WithWindow(tr.turn.Window(visitors.Margin).TempoWindow)
		view.Trial = &strip
		for _, set := range tr.sets {
			was, err := m.File.Figure(set.Path)
			if err != nil {
				return err
			}
			view.Tried = append(view.Tried, triedFigure{was, set.Value})
		}
	}
	view.fillUnknown(tr)
	view.fillLadder(tr)
	view.Bearing, view.Others = bearing(m.File, view.Figures, view.Rungs)
	view.Graph = laneOf(tr, view.Choice)
	view.At = atTempoOf(tr, view.Choice)
	for i := range tr.works.Channels {
		c := &tr.works.Channels[i]
		view.Moves = append(view.Moves, moveLine{
			Name: m.File.Channels[i].Name, Resting: c.Resting,
			Release: c.Release, Strike: c.Strike, Path: c.Strike - c.Release, Clear: c.Strike + c.Clear, Home: c.Home, StrikeSpeed: c.StrikeSpeed,
		})
	}
	view.Kept = m.File
	view.Changes, err = s.Store.MachineChanges(r.Context(), m.ID)
	return err
}
