package web

import (
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
)

// windowPage answers at which tempos visitors can turn a pinning, and what its
// advances would be if they were chosen for slow tempos.
type windowPage struct {
	frame
	Pinning  *store.Pinning
	Limits   wheel.Limits
	Margin   float64 // a part
	Now      windowSide
	From, To string // the range as it was asked for, or a proposal
	Problem  string // what is wrong with that range
	Slow     *windowSide
	Set      *arrange.Readvanced
	Tempo    string               // for the new pinning
	Held     []arrange.TempoRange // where some choice of advances holds all strikes together
	MoreHeld int
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

// heldLink is the page with a proposed range, its ends to a tenth within it.
func (p windowPage) heldLink(r arrange.TempoRange) string {
	from, to := lowBPM(r.FromBPM), safeBPM(r.ToBPM)
	if r.ToBPM-r.FromBPM < 0.2 {
		from, to = trimmed(r.FromBPM), trimmed(r.ToBPM)
	}
	return fmt.Sprintf("/pinnings/%d/window?%s#slow-title", p.Pinning.ID, url.Values{"from": {from}, "to": {to}}.Encode())
}

// crankRange is a window in turns of the crank; empty where it is not open or the
// file does not say how the crank is geared.
func crankRange(w wheel.Wheel, win timing.Window) string {
	slow, fast := timing.CrankAt(w, win.FromBPM), timing.CrankAt(w, win.ToBPM)
	if !win.Open || slow.Turns == 0 {
		return ""
	}
	return fmt.Sprintf("%s to %s turns of the crank a minute, one in %s to %s s",
		lowBPM(slow.Turns), safeBPM(fast.Turns), lowBPM(fast.EveryS), safeBPM(slow.EveryS))
}

// lowBPM is the low end of a range for people: to a tenth, and never below it.
func lowBPM(bpm float64) string { return trimmed(math.Ceil(bpm*10-1e-9) / 10) }

func (s *server) window(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.askedPinning(r)
	if err != nil {
		return err
	}
	page, err := s.windowOf(r, p, m)
	if err != nil {
		return err
	}
	s.show(w, r, http.StatusOK, windowView(page))
	return nil
}

func (s *server) windowOf(r *http.Request, p *store.Pinning, m worked) (windowPage, error) {
	page := windowPage{frame: s.frame(r, p.Title+", tempo window"), Pinning: p, Limits: m.File.Limits}
	page.frame.Machine, page.frame.At = m.File.Name, m.ID
	visitors, err := s.Store.Visitors(r.Context())
	if err != nil {
		return page, err
	}
	page.Margin = visitors.Margin
	turn, err := m.Turn(p.File)
	if err != nil {
		return page, err
	}
	own := tempoOf(p, m)
	from, to := slowRange(m.File.Limits, turn.Window(visitors.Margin), own)
	page.From, page.To = trimmed(from), trimmed(to)
	q := r.URL.Query()
	if q.Has("from") || q.Has("to") {
		page.From, page.To = q.Get("from"), q.Get("to")
		if from, to, err = readRange(page.From, page.To); err != nil {
			page.Problem = err.Error()
			page.Now = windowSideOf(m.Works, turn, visitors.Margin, own, own)
			return page, nil
		}
	}
	page.Now = windowSideOf(m.Works, turn, visitors.Margin, own, from)
	page.Held = arrange.HeldTempos(m.Works, p.File)
	page.MoreHeld = max(0, len(page.Held)-shownHeld)
	page.Held = page.Held[:len(page.Held)-page.MoreHeld]
	if page.Set, err = arrange.Readvance(m.Works, p.File, from, to); err != nil {
		page.Set, page.Problem = nil, sentence(err)
		return page, nil
	}
	again, err := m.Turn(page.Set.Pinning)
	if err != nil {
		return page, err
	}
	slow := windowSideOf(m.Works, again, visitors.Margin, own, from)
	page.Slow = &slow
	page.Tempo = trimmed(math.Round((from+to)/2*10) / 10)
	return page, nil
}

// slowRange proposes a range to choose advances over: from two thirds of the
// pinning's tempo, or of the fastest for visitors where that is less, up to it.
func slowRange(l wheel.Limits, w timing.Window, bpm float64) (from, to float64) {
	to = bpm
	if top := w.MaxSafeBPM * (1 - w.Margin()); top > l.TempoMinBPM {
		to = min(to, top)
	}
	to = min(max(to, l.TempoMinBPM), l.TempoMaxBPM)
	return max(math.Ceil(to*2/3), l.TempoMinBPM), math.Floor(to*10) / 10
}

func readRange(fromText, toText string) (from, to float64, err error) {
	if from, err = readTempo(fromText); err != nil {
		return 0, 0, err
	}
	to, err = readTempo(toText)
	return from, to, err
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
	form := r.PostForm
	from, to, err := readRange(form.Get("from"), form.Get("to"))
	if err != nil {
		return err
	}
	tempo, err := readTempo(form.Get("tempo"))
	if err != nil {
		return err
	}
	set, err := arrange.Readvance(m.Works, p.File, from, to)
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "%s", sentence(err))
	}
	title := strings.TrimSpace(form.Get("title"))
	if title == "" || title == p.Title {
		return refuse(http.StatusUnprocessableEntity, "The new pinning needs a title of its own, other than %s.", p.Title)
	}
	set.Pinning.Title, set.Pinning.TempoBPM = title, tempo
	id, err := s.Store.AddPinning(r.Context(), p.MachineID, p.SongID, set.Pinning)
	if err != nil {
		return err
	}
	return see(w, r, fmt.Sprintf("/pinnings/%d/window", id))
}

// keepMargin settles the house's margin.
func (s *server) keepMargin(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return brokenOff(err)
	}
	text := r.PostForm.Get("margin")
	percent, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "The margin is %q; it should be a number of per cent from 0 to below 100.", clip(text))
	}
	if err := s.Store.SetMargin(r.Context(), percent/100); err != nil {
		return err
	}
	to := "/programmes"
	if id, err := strconv.ParseInt(r.PostForm.Get("pinning"), 10, 64); err == nil {
		to = fmt.Sprintf("/pinnings/%d/window", id)
	}
	return see(w, r, to)
}

// percentText is a part in per cent, for a field.
func percentText(part float64) string { return trimmed(math.Round(part*1e6) / 1e4) }
