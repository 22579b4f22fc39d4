package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/web/pinnings"
	"pinwright/wheel/draw"
	"pinwright/wheel/place"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// homePage is today at one machine: what is on its wheel, what is waiting, what
// visitors will hear.
type homePage struct {
	page.Frame
	HasMachine bool
	Machine    page.MachineFacts
	Drawing    draw.Picture // of the machine
	On         place.OnWheel
	Standing   *standing // of the pins on the wheel; nil where they cannot be checked
	Waiting    []page.Warning
	Programme  *store.Programme // the one changed last; nil where there is none
	Songs      int
	Recent     []recentPinning
}

// standing is how pins stand at a tempo.
type standing struct {
	Strip    page.Strip
	TempoBPM float64
	Findings int
}

// recentPinning is a pinning with its strip in miniature.
type recentPinning struct {
	pinnings.Line
	Standing *standing // nil where there is no verdict
}

// How much of each kind Home shows.
const (
	shownRecent   = 3
	shownSongs    = 6
	shownTroubles = 3
)

func (s *server) home(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	view := homePage{Frame: s.Frame(r, "Home")}
	songs, err := s.Store.Songs(ctx)
	if err != nil {
		return err
	}
	view.Songs = len(songs)
	m, ok, err := s.CurrentCompiled(ctx)
	if err != nil {
		return err
	}
	if ok {
		view.HasMachine, view.Machine, view.Drawing = true, page.FactsOf(m), page.PlainOf(m.File)
		if err := s.fillToday(ctx, &view, m); err != nil {
			return err
		}
	}
	s.Show(w, r, http.StatusOK, homeView(view))
	return nil
}

// fillToday looks up what is on the wheel of a machine, what is waiting there and
// what comes next.
func (s *server) fillToday(ctx context.Context, view *homePage, m page.Compiled) (err error) {
	if view.On, err = s.Store.OnWheel(ctx, m.ID); err != nil {
		return err
	}
	turn := m.NewTurn()
	if view.On.Known {
		if misfit := place.Misfit(m.File, view.On.File); len(misfit) > 0 {
			view.Waiting = append(view.Waiting, page.Warning{
				Weight: page.Stop, Text: "The machine was changed after these pins were driven, and they no longer fit it.",
				Action: page.Link{Text: "See what does not fit", URL: page.MachineURL(m.ID, "wheel")},
			})
		} else if err := turn.Load(view.On.File); err != nil {
			return err
		} else {
			tempo := view.On.File.TempoBPM
			if tempo == 0 {
				tempo = m.File.Limits.TempoMinBPM
			}
			view.Standing = standingOf(m.CountedFor(view.On.File), turn, tempo)
		}
	}
	view.Waiting = append(view.Waiting, unmeasured(m)...)
	view.Waiting = append(view.Waiting, unfinished(view.On, m)...)
	troubles, err := s.TroubleLines(ctx, m)
	if err != nil {
		return err
	}
	view.Waiting = append(view.Waiting, troubleWarnings(troubles, m.ID)...)
	if view.Programme, err = s.latestProgramme(ctx, m.ID); err != nil {
		return err
	}
	return s.fillRecent(ctx, view, m, turn)
}

// unfinished warns of work on a wheel that was begun and not finished.
func unfinished(on place.OnWheel, m page.Compiled) []page.Warning {
	switch {
	case on.UnderWay != nil:
		text := "Work on the wheel is under way."
		switch on.UnderWay.Kind {
		case place.JobChangeover:
			text = fmt.Sprintf("The changeover to %s is under way: %s left.", on.UnderWay.Head.Title, say.Count(on.Left, "pull or drive", "pulls and drives"))
		case place.JobProof:
			text = "The wheel is being proofread."
		}
		return []page.Warning{{Weight: page.Attention, Text: text, Action: page.Link{Text: "Continue at the wheel", URL: page.JobURL(m.ID, on.UnderWay.ID)}}}
	case on.Toward != nil && on.Left > 0:
		return []page.Warning{{
			Weight: page.Attention,
			Text:   fmt.Sprintf("The changeover to %s was stopped: %s left.", on.Toward.Head.Title, say.Count(on.Left, "pull or drive", "pulls and drives")),
			Action: page.Link{Text: "See where it stands", URL: page.MachineURL(m.ID, "wheel")},
		}}
	}
	return nil
}

// troubleWarnings warn of what is wrong at the machine.
func troubleWarnings(all []page.TroubleLine, machine int64) (warnings []page.Warning) {
	all = slices.DeleteFunc(slices.Clone(all), func(t page.TroubleLine) bool { return !t.Mended.IsZero() })
	to := page.MachineURL(machine, "wheel#trouble")
	for _, t := range all[:min(len(all), shownTroubles)] {
		warnings = append(warnings, page.Warning{Weight: page.Attention, Text: t.Words(), Action: page.Link{Text: "See the trouble", URL: to}})
	}
	if more := len(all) - shownTroubles; more > 0 {
		warnings = append(warnings, page.Warning{Weight: page.Attention, Text: "There is more trouble: " + say.Count(more, "other place", "other places") + ".", Action: page.Link{Text: "See all trouble", URL: to}})
	}
	return warnings
}

// latestProgramme is the programme of a machine that was changed last.
func (s *server) latestProgramme(ctx context.Context, machine int64) (*store.Programme, error) {
	rows, err := s.Store.Programmes(ctx, machine)
	if err != nil {
		return nil, err
	}
	rows = slices.DeleteFunc(rows, func(p store.ProgrammeRow) bool { return p.MachineID != machine })
	if len(rows) == 0 {
		return nil, nil
	}
	latest := slices.MaxFunc(rows, func(a, b store.ProgrammeRow) int { return a.Changed.Compare(b.Changed) })
	return s.Store.Programme(ctx, latest.ID)
}

// fillRecent fills in the pinnings that were changed last, and warns of those that
// cannot be checked.
func (s *server) fillRecent(ctx context.Context, view *homePage, m page.Compiled, turn *timing.Turn) error {
	lines, err := pinnings.Lines(ctx, s.Kit, m)
	if err != nil {
		return err
	}
	for _, l := range lines {
		if len(l.Problem) > 0 {
			view.Waiting = append(view.Waiting, page.Warning{
				Weight: page.Attention, Text: l.Title + " cannot be checked. " + strings.Join(l.Problem, " "),
				Action: page.Link{Text: "See the pinning", URL: page.PinningURL(l.ID)},
			})
		}
	}
	slices.SortStableFunc(lines, func(a, b pinnings.Line) int { return b.Changed.Compare(a.Changed) })
	for _, l := range lines[:min(len(lines), shownRecent)] {
		recent := recentPinning{Line: l}
		if len(l.Problem) == 0 {
			p, err := s.Store.Pinning(ctx, l.ID)
			if err != nil {
				return err
			}
			if err := turn.Load(p.File); err != nil {
				return err
			}
			recent.Standing = standingOf(m.CountedFor(p.File), turn, l.At)
		}
		view.Recent = append(view.Recent, recent)
	}
	return nil
}

func standingOf(m page.Compiled, turn *timing.Turn, tempo float64) *standing {
	return &standing{page.StripOf(m.Works, turn), tempo, len(turn.Findings(tempo, nil))}
}

// songWords says how a song of a programme is played.
func songWords(p programme.Song) string {
	return say.Tempo(p.TempoBPM) + " BPM, " + say.Count(p.Plays, "play", "plays")
}
