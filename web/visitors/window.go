package visitors

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/timing/window"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
)

// windowPage answers at which tempos visitors can turn a pinning, and what its
// advances would be if they were chosen for slow tempos.
type windowPage struct {
	page.Frame
	Pinning  *store.Pinning
	Limits   wheel.Limits
	Margin   page.Field // the house's own, in per cent
	Now      windowSide
	Asked    bool       // for a range; otherwise it is a proposal
	From, To page.Field // the range
	Problem  string
	Set      *window.Slow
	Slow     *windowSide // of the pinning so set
	Title    page.Field  // of the new pinning
	Tempo    page.Field
	Refused  []string // why else the new pinning cannot be kept
	Held     []heldTempos
	MoreHeld int
}

// heldTempos is a range where some choice of advances holds all strikes together.
type heldTempos struct{ From, To string }

func (h heldTempos) words() string {
	if h.From == h.To {
		return h.From
	}
	return h.From + " to " + h.To
}

// link is the page with this range.
func (h heldTempos) link(pinning int64) string {
	return page.PinningURL(pinning, "window?"+url.Values{"from": {h.From}, "to": {h.To}}.Encode()) + "#slow-title"
}

// windowForm is what was asked of the page, as it was typed.
type windowForm struct {
	Asked                  bool // for a range
	From, To, Title, Tempo string
}

func readWindowForm(v url.Values) windowForm {
	return windowForm{v.Has("from") || v.Has("to"), v.Get("from"), v.Get("to"), v.Get("title"), v.Get("tempo")}
}

// windowSide is one of two pinnings that stand side by side.
type windowSide struct {
	timing.Window
	Strip    page.Strip
	Crank    string  // the same range in turns of the crank
	FlamMS   float64 // of the widest chord
	AtBPM    float64 // of FlamMS
	TempoBPM float64 // the pinning's own tempo
}

// sideOf is a pinning's window, drawn and in turns of the crank.
func sideOf(m page.Compiled, turn *timing.Turn, win timing.Window, ownBPM float64) windowSide {
	return windowSide{
		Window: win, Strip: page.StripOf(m.Works, turn).WithWindow(win.TempoWindow), Crank: window.CrankText(m.File.Wheel, win.TempoWindow), TempoBPM: ownBPM,
	}
}

// shownHeld is how many ranges of tempo the page proposes.
const shownHeld = 10

func (s *area) window(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	view, err := s.windowOf(r, p, m, readWindowForm(r.URL.Query()))
	if err != nil {
		return err
	}
	s.Show(w, r, http.StatusOK, windowView(view))
	return nil
}

func (s *area) windowOf(r *http.Request, p *store.Pinning, m page.Compiled, form windowForm) (windowPage, error) {
	view := windowPage{Frame: s.Frame(r, "Tempo window of "+p.Title).Under(page.Link{Text: "Pinnings", URL: "/pinnings"}, page.Link{Text: p.Title, URL: page.PinningURL(p.ID)}), Pinning: p, Limits: m.File.Limits, Asked: form.Asked}
	view.Frame.Machine, view.Frame.At = m.File.Name, m.ID
	view.Title.Text, view.Tempo.Text = form.Title, form.Tempo
	visitors, err := s.Store.Visitors(r.Context())
	if err != nil {
		return view, err
	}
	view.Margin.Text = say.Percent(visitors.Margin)
	turn, err := m.Turn(p.File)
	if err != nil {
		return view, err
	}
	own := page.TempoOf(p, m)
	view.Now = sideOf(m, turn, turn.Window(visitors.Margin), p.File.TempoBPM)
	if len(p.File.Pins) == 0 {
		return view, nil
	}
	if view.Now.Unknown {
		return view, nil
	}
	held, err := window.Held(m.Works, p.File, visitors.Margin)
	if err != nil {
		return view, err
	}
	for _, h := range held[:min(len(held), shownHeld)] {
		view.Held = append(view.Held, heldTempos{say.Number(h.FromBPM), say.Number(h.ToBPM)})
	}
	view.MoreHeld = len(held) - len(view.Held)
	view.From.Text, view.To.Text = form.From, form.To
	if !form.Asked {
		proposed, ok, err := window.ProposedRange(m.Works, p.File, held, view.Now.Window, own)
		if err != nil || !ok {
			return view, err
		}
		view.From.Text, view.To.Text = say.Number(proposed.FromBPM), say.Number(proposed.ToBPM)
	}
	asked := arrange.TempoRange{FromBPM: view.readTempo("The slower end of the range", &view.From), ToBPM: view.readTempo("The faster end of the range", &view.To)}
	if view.From.Problem != "" || view.To.Problem != "" {
		return view, nil
	}
	if view.Set, err = window.SetForSlow(m.Works, p.File, asked, visitors.Margin); err != nil {
		view.Set, view.Problem = nil, say.Sentence(err)
		return view, nil
	}
	set, err := m.Turn(view.Set.Pinning)
	if err != nil {
		return view, err
	}
	slow := sideOf(m, set, view.Set.Window, own)
	slow.FlamMS, slow.AtBPM = view.Set.ChordS*1000, asked.FromBPM
	view.Now.FlamMS, view.Now.AtBPM = view.Set.WasChordS*1000, asked.FromBPM
	view.Slow = &slow
	if view.Title.Text == "" {
		view.Title.Text = fmt.Sprintf("%s, %s–%s BPM", p.Title, view.From.Text, view.To.Text)
	}
	if view.Tempo.Text == "" {
		view.Tempo.Text = say.Number(view.Set.TempoBPM)
	}
	return view, nil
}

// readTempo reads a tempo within the machine's range from a field. what names it
// in the sentence that says what is wrong, which is kept with the field.
func (p *windowPage) readTempo(what string, field *page.Field) float64 {
	f := &page.Form{Values: url.Values{"tempo": {field.Text}}}
	bpm := f.Tempo("tempo", what, p.Limits)
	*field = f.Field("tempo")
	return bpm
}

// keepSlow keeps a pinning with advances for a range of tempos as a new one.
func (s *area) keepSlow(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	form := readWindowForm(r.PostForm)
	form.Asked = true
	view, err := s.windowOf(r, p, m, form)
	if err != nil {
		return err
	}
	view.Title.Text, view.Tempo.Text = form.Title, form.Tempo
	tempo := view.readTempo("The tempo", &view.Tempo)
	title := strings.TrimSpace(form.Title)
	if title == "" || title == p.Title {
		view.Title.Problem = fmt.Sprintf("The new pinning needs a title other than %s.", p.Title)
	}
	if view.Set == nil { // the fields to keep it by are not shown then
		for _, field := range []page.Field{view.Title, view.Tempo} {
			if field.Problem != "" {
				view.Refused = append(view.Refused, field.Problem)
			}
		}
	}
	if view.Set == nil || view.Set.Stays() || view.Set.Distrust != "" || view.Tempo.Problem != "" || view.Title.Problem != "" {
		s.Show(w, r, http.StatusUnprocessableEntity, windowView(view))
		return nil
	}
	set := view.Set.Pinning
	set.Title, set.TempoBPM = title, tempo
	id, err := s.Store.AddPinning(r.Context(), p.MachineID, p.SongID, set)
	if errors.Is(err, wheel.ErrInvalid) {
		_, view.Refused = s.Explain(r, err)
		s.Show(w, r, http.StatusUnprocessableEntity, windowView(view))
		return nil
	}
	if err != nil {
		return err
	}
	return page.Redirect(w, r, page.PinningURL(id, "window"))
}

// distrustWarning says why the pinning set for the range is not offered, with a
// range that can be trusted where there is one.
func (p windowPage) distrustWarning() page.Warning {
	w := page.Warning{Weight: page.Stop, Text: p.Set.Distrust, Action: page.Link{Text: "See what limits it", URL: page.PinningURL(p.Pinning.ID, "timing")}}
	if red := p.Set.Window.RedLineBPM; red > p.Set.Range.FromBPM {
		w.Action = heldTempos{p.From.Text, say.TempoDown(red)}.action(p.Pinning.ID)
	}
	return w
}

func (h heldTempos) action(pinning int64) page.Link {
	return page.Link{Text: "Work out " + h.words() + " BPM", URL: h.link(pinning)}
}
