package atwheel

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"github.com/go-chi/chi/v5"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/say"
)

// onWheelPage shows what is on a machine's wheel.
type onWheelPage struct {
	page.Frame
	Facts    page.MachineFacts
	On       place.OnWheel
	Next     int64    // the pinning that the wheel is likely to be changed to
	Misfit   []string // of the pins on the wheel to the machine as it is now
	Since    string   // what the kept pinning has become since it was put on the wheel
	Tempo    string
	BadTempo []string
	Check    *timing.Verdict // of the very pins on the wheel; nil where it cannot be
	Found    []string        // the first of its findings
	Pinnings []store.PinningRow
	Troubles []page.TroubleLine
	UnderWay string // what is being done, in words
	Jobs     []jobLine
}

// shownOfCheck is how many findings the check of the wheel lists.
const shownOfCheck = 12

// shownJobs is how much of the past work on the wheel is listed.
const shownJobs = 12

type jobLine struct {
	place.Job
	URL   string
	Words string
}

func (s *area) onWheel(w http.ResponseWriter, r *http.Request) error {
	m, err := s.MachineAt(r)
	if err != nil {
		return err
	}
	ctx := r.Context()
	view := onWheelPage{Frame: s.Frame(r, "On the wheel of "+m.File.Name), Facts: page.FactsOf(m)}
	view.Frame.Machine, view.Frame.At = m.File.Name, m.ID
	view.Frame = view.Frame.Under(page.Link{Text: "Machines", URL: "/machines"}, page.Link{Text: m.File.Name, URL: page.MachineURL(m.ID)})
	if view.On, err = s.Store.OnWheel(ctx, m.ID); err != nil {
		return err
	}
	if view.Pinnings, err = s.Store.Pinnings(ctx, m.ID); err != nil {
		return err
	}
	view.Next = nextOn(view.On, view.Pinnings)
	if view.Troubles, err = s.TroubleLines(ctx, m); err != nil {
		return err
	}
	jobs, err := s.Store.Jobs(ctx, m.ID, shownJobs)
	if err != nil {
		return err
	}
	for _, j := range jobs {
		words, err := s.jobWords(ctx, m, j)
		if err != nil {
			return err
		}
		view.Jobs = append(view.Jobs, jobLine{j, jobURL(j), words})
		if j.UnderWay() {
			view.UnderWay = words
		}
	}
	if view.On.Known {
		if err := s.fillOnWheel(r, &view, m); err != nil {
			return err
		}
	}
	s.Show(w, r, http.StatusOK, onWheelView(view))
	return nil
}

func (s *area) fillOnWheel(r *http.Request, view *onWheelPage, m page.Compiled) (err error) {
	ctx, on := r.Context(), view.On
	m = m.CountedFor(on.File)
	tempo := on.File.TempoBPM
	if tempo == 0 {
		tempo = m.File.Limits.TempoMinBPM
	}
	if asked := r.URL.Query().Get("tempo"); asked != "" {
		if tempo, err = page.ReadTempo(asked); err != nil {
			view.Tempo, view.BadTempo = asked, []string{say.Sentence(err)}
			tempo = m.File.Limits.TempoMinBPM
		}
	}
	if view.Tempo == "" {
		view.Tempo = say.Typed(tempo)
	}
	if problems := place.Misfit(m.File, on.File); len(problems) > 0 {
		view.Misfit = problems
		return nil
	}
	if view.BadTempo == nil {
		if view.Check, err = m.Check(on.File, tempo); err != nil {
			return err
		}
		for _, f := range view.Check.Findings[:min(len(view.Check.Findings), shownOfCheck)] {
			view.Found = append(view.Found, m.Sentence(f))
		}
	}
	view.Since, err = s.sinceWords(ctx, m, on)
	return err
}

// sinceWords says what has become of the pinning that the wheel carries since
// it was put there; nothing where it is the same.
func (s *area) sinceWords(ctx context.Context, m page.Compiled, on place.OnWheel) (string, error) {
	if on.Base.PinningID == 0 {
		if on.Base.Head.Title == place.NothingOn {
			return "", nil
		}
		return "That pinning has been removed since; what is on the wheel is still known.", nil
	}
	p, err := s.Store.Pinning(ctx, on.Base.PinningID)
	if err != nil {
		return "", err
	}
	base, err := s.Store.JobTarget(ctx, on.Base.ID)
	if err != nil {
		return "", err
	}
	plan, err := place.Changeover(m.File, base, p.File, place.Options{Rotate: on.Base.Rotate, Exchange: on.Base.Exchange})
	if err != nil || len(plan.List) == 0 {
		return "", nil // the page says elsewhere what does not fit
	}
	return fmt.Sprintf("That pinning has been edited since: %s and %s would bring the wheel up to it.",
		say.Count(plan.Pulls, "pull", "pulls"), say.Count(plan.Drives, "drive", "drives")), nil
}

// sayOnWheel notes what someone says is on the wheel.
func (s *area) sayOnWheel(w http.ResponseWriter, r *http.Request) error {
	m, err := s.MachineAt(r)
	if err != nil {
		return err
	}
	pinning := int64(0)
	if said := r.PostForm.Get("pinning"); said != "nothing" {
		if pinning, err = strconv.ParseInt(said, 10, 64); err != nil || pinning < 1 {
			return wheel.Refuse(wheel.ErrInvalid, "Say what is on the wheel: choose a pinning, or no pins at all.")
		}
	}
	if err := s.Store.SayOnWheel(r.Context(), m.ID, pinning); err != nil {
		return err
	}
	if asked := r.PostForm.Get("changeover"); asked != "" {
		choice, err := url.ParseQuery(asked)
		if err != nil {
			return wheel.Refuse(wheel.ErrInvalid, "What is on the wheel is kept, but the page does not say which changeover follows; begin it from the pinning.")
		}
		return page.Redirect(w, r, page.MachineURL(m.ID, "changeover?"+readChangeoverChoice(choice).query()))
	}
	return page.Redirect(w, r, page.MachineURL(m.ID, "wheel"))
}

func (s *area) mendTrouble(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	trouble, err := strconv.ParseInt(chi.URLParam(r, "trouble"), 10, 64)
	if err != nil {
		return page.ErrNoPage
	}
	if err := s.Store.MendTrouble(r.Context(), id, trouble); err != nil {
		return err
	}
	return page.Redirect(w, r, page.MachineURL(id)+"#trouble")
}

// jobWords says what was done, in a line.
func (s *area) jobWords(ctx context.Context, m page.Compiled, j place.Job) (string, error) {
	if j.Kind != place.JobProof {
		return j.Words(""), nil
	}
	reads, err := s.readBy(ctx, m, j)
	if err != nil {
		return "", err
	}
	return j.Words(reads), nil
}
