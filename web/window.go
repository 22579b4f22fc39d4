package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/timing/window"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
)

// windowPage answers at which tempos visitors can turn a pinning, and what its
// advances would be if they were chosen for slow tempos.
type windowPage struct {
	frame
	Pinning  *store.Pinning
	Limits   wheel.Limits
	Margin   typed // the house's own, in per cent
	Now      windowSide
	Asked    bool  // for a range; otherwise it is a proposal
	From, To typed // the range
	Problem  string
	Set      *window.Slow
	Slow     *windowSide // of the pinning so set
	Title    typed       // of the new pinning
	Tempo    typed
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
	return fmt.Sprintf("/pinnings/%d/window?%s#slow-title", pinning, url.Values{"from": {h.From}, "to": {h.To}}.Encode())
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
	Strip    bandStrip
	Crank    string  // the same range in turns of the crank
	FlamMS   float64 // of the widest chord
	AtBPM    float64 // of FlamMS
	TempoBPM float64 // the pinning's own tempo
}

// sideOf is a pinning's window with how far its widest chord is spread at the
// slower end of a range.
func sideOf(m worked, turn *timing.Turn, win timing.Window, ownBPM float64) windowSide {
	return windowSide{
		Window: win, Strip: stripOf(m.Works, turn).withWindow(win.TempoWindow), Crank: window.CrankText(m.File.Wheel, win.TempoWindow), TempoBPM: ownBPM,
	}
}

// shownHeld is how many ranges of tempo the page proposes.
const shownHeld = 10

func (s *server) window(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.askedPinning(r)
	if err != nil {
		return err
	}
	page, err := s.windowOf(r, p, m, readWindowForm(r.URL.Query()))
	if err != nil {
		return err
	}
	s.show(w, r, http.StatusOK, windowView(page))
	return nil
}

// house is a machine's mechanics with the margin that the house keeps.
func (s *server) house(ctx context.Context, m worked) (window.House, error) {
	visitors, err := s.Store.Visitors(ctx)
	return window.House{Works: m.Works, Margin: visitors.Margin}, err
}

func (s *server) windowOf(r *http.Request, p *store.Pinning, m worked, form windowForm) (windowPage, error) {
	page := windowPage{frame: s.frame(r, p.Title+", tempo window"), Pinning: p, Limits: m.File.Limits, Asked: form.Asked}
	page.frame.Machine, page.frame.At = m.File.Name, m.ID
	page.Title.Text, page.Tempo.Text = form.Title, form.Tempo
	visitors, err := s.Store.Visitors(r.Context())
	if err != nil {
		return page, err
	}
	page.Margin.Text = say.Percent(visitors.Margin)
	turn, err := m.Turn(p.File)
	if err != nil {
		return page, err
	}
	own := tempoOf(p, m)
	page.Now = sideOf(m, turn, turn.Window(visitors.Margin), own)
	if len(p.File.Pins) == 0 {
		return page, nil
	}
	held := window.Held(m.Works, p.File)
	for _, h := range held[:min(len(held), shownHeld)] {
		page.Held = append(page.Held, heldTempos{say.Number(h.FromBPM), say.Number(h.ToBPM)})
	}
	page.MoreHeld = len(held) - len(page.Held)
	page.From.Text, page.To.Text = form.From, form.To
	if !form.Asked {
		proposed := window.ProposedRange(page.Limits, held, page.Now.Window, own)
		page.From.Text, page.To.Text = say.Number(proposed.FromBPM), say.Number(proposed.ToBPM)
	}
	asked := arrange.TempoRange{FromBPM: page.readTempo("The slower end of the range", &page.From), ToBPM: page.readTempo("The faster end of the range", &page.To)}
	if page.From.Problem != "" || page.To.Problem != "" {
		return page, nil
	}
	if page.Set, err = window.SetForSlow(m.Works, p.File, asked, visitors.Margin); err != nil {
		page.Set, page.Problem = nil, say.Sentence(err)
		return page, nil
	}
	set, err := m.Turn(page.Set.Pinning)
	if err != nil {
		return page, err
	}
	slow := sideOf(m, set, page.Set.Window, own)
	slow.FlamMS, slow.AtBPM = page.Set.ChordS*1000, asked.FromBPM
	page.Now.FlamMS, page.Now.AtBPM = page.Set.WasChordS*1000, asked.FromBPM
	page.Slow = &slow
	if page.Title.Text == "" {
		page.Title.Text = fmt.Sprintf("%s, %s–%s BPM", p.Title, page.From.Text, page.To.Text)
	}
	if page.Tempo.Text == "" {
		page.Tempo.Text = say.Number(page.Set.TempoBPM)
	}
	return page, nil
}

// readTempo reads a tempo within the machine's range from a field. what names it
// in the sentence that says what is wrong, which is kept with the field.
func (p *windowPage) readTempo(what string, field *typed) float64 {
	bpm, err := readTempo(field.Text)
	l := p.Limits
	if err == nil && bpm >= l.TempoMinBPM && bpm <= l.TempoMaxBPM {
		return bpm
	}
	is := fmt.Sprintf("is %q", say.Short(field.Text))
	if strings.TrimSpace(field.Text) == "" {
		is = "is missing"
	}
	field.Problem = fmt.Sprintf("%s %s; it should be a number of beats per minute within the machine's, %s to %s.", what, is, say.Number(l.TempoMinBPM), say.Number(l.TempoMaxBPM))
	return 0
}

// keepSlow keeps a pinning with advances for a range of tempos as a new one.
func (s *server) keepSlow(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.askedPinning(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return brokenOff(err)
	}
	form := readWindowForm(r.PostForm)
	form.Asked = true
	page, err := s.windowOf(r, p, m, form)
	if err != nil {
		return err
	}
	page.Title.Text, page.Tempo.Text = form.Title, form.Tempo
	tempo := page.readTempo("The tempo", &page.Tempo)
	title := strings.TrimSpace(form.Title)
	if title == "" || title == p.Title {
		page.Title.Problem = fmt.Sprintf("The new pinning needs a title of its own, other than %s.", p.Title)
	}
	if page.Set == nil || page.Set.Stays() || page.Tempo.Problem != "" || page.Title.Problem != "" {
		s.show(w, r, http.StatusUnprocessableEntity, windowView(page))
		return nil
	}
	set := page.Set.Pinning
	set.Title, set.TempoBPM = title, tempo
	id, err := s.Store.AddPinning(r.Context(), p.MachineID, p.SongID, set)
	if errors.Is(err, wheel.ErrInvalid) {
		_, page.Refused = s.explain(r, err)
		s.show(w, r, http.StatusUnprocessableEntity, windowView(page))
		return nil
	}
	if err != nil {
		return err
	}
	return see(w, r, fmt.Sprintf("/pinnings/%d/window", id))
}

// keepMargin settles the house's margin, and leads back to the page that it was
// settled on.
func (s *server) keepMargin(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return brokenOff(err)
	}
	form := r.PostForm
	margin := typed{Text: form.Get("margin")}
	var err error
	if margin.Problem, err = s.setMargin(r, margin.Text); err != nil {
		return err
	}
	id, err := strconv.ParseInt(form.Get("pinning"), 10, 64)
	if err != nil {
		if margin.Problem == "" {
			return see(w, r, "/programmes")
		}
		page, err := s.programmesOf(r)
		if err != nil {
			return err
		}
		page.Margin = margin
		s.show(w, r, http.StatusUnprocessableEntity, programmesView(page))
		return nil
	}
	asked := readWindowForm(form)
	if margin.Problem == "" {
		to := fmt.Sprintf("/pinnings/%d/window", id)
		if asked.Asked {
			to += "?" + url.Values{"from": {asked.From}, "to": {asked.To}}.Encode()
		}
		return see(w, r, to)
	}
	p, err := s.Store.Pinning(r.Context(), id)
	if err != nil {
		return err
	}
	m, err := s.worked(r.Context(), p.MachineID)
	if err != nil {
		return err
	}
	page, err := s.windowOf(r, p, m, asked)
	if err != nil {
		return err
	}
	page.Margin = margin
	s.show(w, r, http.StatusUnprocessableEntity, windowView(page))
	return nil
}

// setMargin keeps a margin in per cent. says is what is wrong with what was typed.
func (s *server) setMargin(r *http.Request, text string) (says string, err error) {
	if strings.TrimSpace(text) == "" {
		return "The margin is missing; it should be a number of per cent from 0 to below 100.", nil
	}
	percent, err := readNumber(text)
	if err != nil {
		return fmt.Sprintf("The margin is %q; it should be a number of per cent from 0 to below 100.", say.Short(text)), nil
	}
	err = s.Store.SetMargin(r.Context(), percent/100)
	if errors.Is(err, wheel.ErrInvalid) {
		return say.Sentence(err), nil
	}
	return "", err
}

// percentText is a part in per cent, for a field.
