package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pinwright/store"
	"pinwright/timing"
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
	Slow     *windowSide
	Set      *arrange.Readvanced
	Title    typed // of the new pinning
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
	Strip     bandStrip
	Low, High string // what ends it
	Closed    string // why it is not open
	Crank     string // the same range in turns of the crank
	FlamMS    float64
	AtBPM     float64 // of FlamMS
	TempoBPM  float64 // the pinning's own tempo
}

func windowSideOf(w *timing.Works, turn *timing.Turn, margin, own, atBPM float64) windowSide {
	win := turn.Window(margin)
	return windowSide{
		Window: win, Strip: stripOf(w, turn).withWindow(win),
		Low: w.LowSentence(win), High: w.HighSentence(win), Closed: w.ClosedSentence(win), Crank: crankRange(w.Machine.Wheel, win),
		FlamMS: turn.Flam(atBPM) * 1000, AtBPM: atBPM, TempoBPM: own,
	}
}

// shownHeld is how many ranges of tempo the page proposes.
const shownHeld = 10

// crankRange is a window in turns of the crank; empty where it is not open or the
// file does not say how the crank is geared.
func crankRange(w wheel.Wheel, win timing.Window) string {
	slow, fast := w.CrankAt(win.FromBPM), w.CrankAt(win.ToBPM)
	if !win.Open || slow.Turns == 0 {
		return ""
	}
	return fmt.Sprintf("%s to %s turns of the crank a minute, one in %s to %s s",
		say.TempoUp(slow.Turns), say.TempoDown(fast.Turns), say.TempoUp(fast.EveryS), say.TempoDown(slow.EveryS))
}

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
	page.Now = windowSideOf(m.Works, turn, visitors.Margin, own, own)
	if len(p.File.Pins) == 0 {
		return page, nil
	}
	held := arrange.HeldTempos(m.Works, p.File)
	for _, h := range held[:min(len(held), shownHeld)] {
		from, to := say.Inward(h.FromBPM, h.ToBPM)
		page.Held = append(page.Held, heldTempos{from, to})
	}
	page.MoreHeld = len(held) - len(page.Held)
	page.From.Text, page.To.Text = form.From, form.To
	if !form.Asked {
		page.From.Text, page.To.Text = page.proposedRange(own)
	}
	from, to := page.readTempo("The slower end of the range", &page.From), page.readTempo("The faster end of the range", &page.To)
	if page.From.Problem != "" || page.To.Problem != "" {
		return page, nil
	}
	if page.Set, err = arrange.Readvance(m.Works, p.File, from, to); err != nil {
		page.Set, page.Problem = nil, say.Sentence(err)
		return page, nil
	}
	again, err := m.Turn(page.Set.Pinning)
	if err != nil {
		return page, err
	}
	page.Now.FlamMS, page.Now.AtBPM = turn.Flam(from)*1000, from
	slow := windowSideOf(m.Works, again, visitors.Margin, own, from)
	page.Slow = &slow
	if page.Title.Text == "" {
		page.Title.Text = fmt.Sprintf("%s, %s–%s BPM", p.Title, page.From.Text, page.To.Text)
	}
	if page.Tempo.Text == "" {
		page.Tempo.Text = proposedTempo(from, to, slow.Window)
	}
	return page, nil
}

// proposedRange is a range to choose advances over where none is asked for: the
// slowest in which all strikes can be held together. Where there is none it goes
// from two thirds of the pinning's tempo, or of the fastest for visitors where that
// is less, up to it.
func (p *windowPage) proposedRange(bpm float64) (from, to string) {
	if len(p.Held) > 0 {
		return p.Held[0].From, p.Held[0].To
	}
	l, top := p.Limits, bpm
	if fastest := p.Now.MaxSafeBPM * (1 - p.Now.Margin()); fastest > l.TempoMinBPM {
		top = min(top, fastest)
	}
	top = min(max(top, l.TempoMinBPM), l.TempoMaxBPM)
	return say.Inward(max(math.Ceil(top*2/3), l.TempoMinBPM), top)
}

// proposedTempo is the middle of a range, of what of it lies in a window where
// any does, or else the window's nearer end.
func proposedTempo(from, to float64, w timing.Window) string {
	if w.Open {
		from, to = min(max(from, w.FromBPM), w.ToBPM), max(min(to, w.ToBPM), w.FromBPM)
	}
	low, high := say.Inward(from, to)
	middle := (from + to) / 2
	for _, at := range []string{say.Tempo(middle), low, high} {
		if bpm, err := readTempo(at); err == nil && bpm >= from*(1-timing.Slack) && bpm <= to*(1+timing.Slack) {
			return at
		}
	}
	return say.Number(middle)
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
