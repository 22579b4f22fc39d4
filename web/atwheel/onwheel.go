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

// onWheelPage shows what is on a machine's wheel and what to do next.
type onWheelPage struct {
	page.Frame
	Facts    page.MachineFacts
	On       place.OnWheel
	Task     place.Task
	Next     int64    // the pinning that the wheel is likely to be changed to
	Misfit   []string // of the pins on the wheel to the machine as it is now
	Warnings []page.Warning
	Tempo    string
	BadTempo []string
	Check    *timing.Verdict // of the very pins on the wheel; nil where it cannot be
	Strip    page.Strip      // of the same
	Found    []string        // the first of its findings
	Face     *page.Drawing   // the wheel unrolled; nil where nothing is on it and nothing to be
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
	view := onWheelPage{Frame: frameAt(s.Frame(r, "On the wheel"), m), Facts: page.FactsOf(m)}
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
	var last place.Job
	if len(jobs) > 0 {
		last = jobs[0]
	}
	view.Task = view.On.Task(len(view.Misfit) == 0, last, len(view.Pinnings))
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
	if view.Misfit = place.Misfit(m.File, on.File); len(view.Misfit) > 0 {
		view.Warnings = append(view.Warnings, page.Warning{Weight: page.Stop, Text: "The machine was changed after these pins were driven, and they no longer fit it. Say again what is on the wheel, or restore the machine's figures."})
		return nil
	}
	turn := m.NewTurn()
	if err := turn.Load(on.File); err != nil {
		return err
	}
	view.Strip = page.StripOf(m.Works, turn)
	if view.BadTempo == nil {
		if view.Check, err = m.Check(on.File, tempo); err != nil {
			return err
		}
		for _, f := range view.Check.Findings[:min(len(view.Check.Findings), shownOfCheck)] {
			view.Found = append(view.Found, m.Sentence(f))
		}
		if warning, ok := unsafeWarning(view.Check, page.MachineURL(m.ID, "wheel")); ok {
			view.Warnings = append(view.Warnings, warning)
		}
	}
	if err := s.fillFace(ctx, view, m); err != nil {
		return err
	}
	since, err := s.sinceWarning(ctx, m, on)
	if since.Text != "" {
		view.Warnings = append(view.Warnings, since)
	}
	return err
}

// unsafeWarning warns of a tempo at which the pins on the wheel break rules, and
// leads to one at which they do not.
func unsafeWarning(check *timing.Verdict, wheelURL string) (w page.Warning, unsafe bool) {
	if len(check.Findings) == 0 {
		return w, false
	}
	w = page.Warning{Weight: page.Stop, Text: fmt.Sprintf("The pins on the wheel are not safe at %s BPM: %s.", say.Tempo(check.TempoBPM), say.Count(len(check.Findings), "finding", "findings"))}
	if check.RedLineBPM != nil {
		bpm := say.TempoDown(*check.RedLineBPM)
		w.Action = page.Link{Text: "Check at " + bpm + " BPM", URL: wheelURL + "?tempo=" + bpm}
	}
	return w, true
}

// fillFace draws the wheel: with what is left to do, where a changeover to it was
// begun.
func (s *area) fillFace(ctx context.Context, view *onWheelPage, m page.Compiled) error {
	to := view.On.File.Pins
	if toward := view.On.Toward; toward != nil {
		target, err := s.Store.JobTarget(ctx, toward.ID)
		if err != nil {
			return err
		}
		to = target.Pins
	}
	if len(view.On.File.Pins)+len(to) > 0 {
		face := page.FaceOf(m.File, view.On.File.Pins, to, 0)
		view.Face = &face
	}
	return nil
}

// sinceWarning says what has become of the pinning that the wheel carries since
// it was put there; nothing where it is the same.
func (s *area) sinceWarning(ctx context.Context, m page.Compiled, on place.OnWheel) (w page.Warning, err error) {
	if on.Base.PinningID == 0 {
		if on.Base.Head.Title == place.NothingOn {
			return w, nil
		}
		return page.Warning{Weight: page.Note, Text: on.Base.Head.Title + " has been removed from the pinnings. Which pins are on the wheel is still known."}, nil
	}
	p, err := s.Store.Pinning(ctx, on.Base.PinningID)
	if err != nil {
		return w, err
	}
	base, err := s.Store.JobTarget(ctx, on.Base.ID)
	if err != nil {
		return w, err
	}
	plan, err := place.Changeover(m.File, base, p.File, place.Options{Rotate: on.Base.Rotate, Exchange: on.Base.Exchange})
	if err != nil || len(plan.List) == 0 {
		return w, nil // the page says elsewhere what does not fit
	}
	w = page.Warning{Weight: page.Note, Text: fmt.Sprintf("%s has been edited since it was put on the wheel: %s and %s would bring the wheel up to date.",
		p.Title, say.Count(plan.Pulls, "pull", "pulls"), say.Count(plan.Drives, "drive", "drives"))}
	if on.UnderWay == nil {
		again := changeoverAgain(on.Base)
		w.Action = page.Link{Text: "Plan this changeover", URL: page.MachineURL(m.ID, "changeover?"+again.query())}
	}
	return w, nil
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

// keepBelow says up to which tempo pins can be trusted.
func keepBelow(check *timing.Verdict) string {
	switch {
	case check.Trust == timing.Unknown:
		return "Some figures have to be measured before a tempo can be called safe."
	case check.MaxSafeBPM == nil:
		return "There is no safe tempo."
	case check.RedLineBPM == nil:
		return "No tempo can be trusted."
	}
	return "Keep below " + say.TempoDown(*check.RedLineBPM) + " BPM."
}

// leftOf says how much is left of the changeover on which a wheel stands.
func leftOf(on place.OnWheel) string {
	return say.Count(on.Left, "pull or drive is", "pulls and drives are") + " left."
}

// resumeWords name the button that goes on with a kind of work.
func resumeWords(kind place.JobKind) string {
	switch kind {
	case place.JobChangeover:
		return "Resume the changeover"
	case place.JobProof:
		return "Resume the proofreading"
	}
	return "Resume the correction"
}
