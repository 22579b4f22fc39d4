package atwheel

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/place/sheets"
	"pinwright/wheel/say"
)

// changeoverPage is a changeover before it is begun.
type changeoverPage struct {
	page.Frame
	Facts    page.MachineFacts
	On       place.OnWheel
	Pinnings []store.PinningRow
	Choice   changeoverChoice
	Ask      bool // what is on the wheel has to be said first
	Problem  []string
	Plan     *place.Plan // nil where there is none
	Stops    []place.Stop
	More     int     // stops that are not listed
	Rate     float64 // pins a minute; 0: not known yet
	Check    *timing.Verdict
	Strip    page.Strip // of the pins after the changeover
	Warnings []page.Warning
	Face     *page.Drawing // the wheel unrolled; nil where no pins are on it and none come
	PDF      bool          // the list is not too long for that
	Revision int           // of the machine
	Edits    int64         // of the pinning
}

// shownStops is how many steps of a changeover the page lists.
const shownStops = 100

// changeoverChoice is what a changeover is asked for, as the address has it.
type changeoverChoice struct {
	To, Start        string
	Rotate, Exchange bool
}

func readChangeoverChoice(v url.Values) changeoverChoice {
	c := changeoverChoice{To: v.Get("to"), Start: strings.TrimSpace(v.Get("start")), Rotate: v.Get("rotate") == "on", Exchange: v.Get("exchange") == "on"}
	if c.Start == "" {
		c.Start = "0"
	}
	return c
}

func (c changeoverChoice) query() string {
	v := url.Values{"to": {c.To}, "start": {c.Start}}
	if c.Rotate {
		v.Set("rotate", "on")
	}
	if c.Exchange {
		v.Set("exchange", "on")
	}
	return v.Encode()
}

// planned is a changeover worked out.
type planned struct {
	machine page.Compiled
	on      place.OnWheel
	to      *store.Pinning
	plan    *place.Plan
	rate    float64
	ask     bool // nobody has said yet what is on the wheel
}

// plan works out the changeover from what is on the wheel.
func (s *area) plan(r *http.Request, c changeoverChoice) (p planned, err error) {
	ctx := r.Context()
	if p.machine, err = s.MachineAt(r); err != nil {
		return p, err
	}
	if p.on, err = s.Store.OnWheel(ctx, p.machine.ID); err != nil {
		return p, err
	}
	if p.rate, _, err = s.Store.PinsPerMin(ctx, p.machine.ID); err != nil {
		return p, err
	}
	if p.ask = !p.on.Known; p.ask {
		return p, wheel.Refuse(wheel.ErrConflict, "Nobody has said yet what is on the wheel of %s; say that first.", p.machine.File.Name)
	}
	id, err := strconv.ParseInt(c.To, 10, 64)
	if err != nil || id < 1 {
		return p, wheel.Refuse(wheel.ErrInvalid, "Choose the pinning to change the wheel to.")
	}
	if p.to, err = s.Store.Pinning(ctx, id); err != nil {
		return p, err
	}
	if p.to.MachineID != p.machine.ID {
		return p, wheel.Refuse(wheel.ErrConflict, "The pinning %s is of another machine; a changeover stays on one wheel.", p.to.Title)
	}
	p.machine = p.machine.CountedFor(p.to.File)
	start, err := strconv.Atoi(c.Start)
	if err != nil {
		return p, wheel.Refuse(wheel.ErrInvalid, "The start is step %q; it should be a whole number from 0 to %d.", say.Short(c.Start), p.machine.File.Wheel.Steps-1)
	}
	p.plan, err = place.Changeover(p.machine.File, p.on.File, p.to.File, place.Options{
		Rotate: c.Rotate, Exchange: c.Exchange, Start: start, PinsPerMin: p.rate,
	})
	if err != nil {
		return p, page.CannotDraw(err)
	}
	return p, nil
}

func (s *area) changeover(w http.ResponseWriter, r *http.Request) error {
	view := changeoverPage{Choice: readChangeoverChoice(r.URL.Query())}
	p, err := s.plan(r, view.Choice)
	if p.machine.Machine == nil {
		return err
	}
	status := http.StatusOK
	if view.Ask = p.ask; err != nil && !p.ask {
		status, view.Problem = s.Explain(r, err)
	}
	title := "Changeover"
	if p.plan != nil {
		title = "Changeover to " + p.plan.To
	}
	view.Frame = frameAt(s.Frame(r, title), p.machine, onWheelLink(p.machine.ID))
	view.Facts, view.On, view.Rate, view.Plan = page.FactsOf(p.machine), p.on, p.rate, p.plan
	if view.Pinnings, err = s.Store.Pinnings(r.Context(), p.machine.ID); err != nil {
		return err
	}
	if p.plan != nil {
		stops := p.plan.Stops()
		view.Stops = stops[:min(len(stops), shownStops)]
		view.More = len(stops) - len(view.Stops)
		view.Revision, view.Edits = p.machine.Revision, p.to.Seq
		if err := view.judge(p); err != nil {
			return err
		}
		_, err := sheets.ChangeoverList(p.machine.File, p.plan, sheets.ListOptions{Paper: paper.A4, Date: s.Now()})
		view.PDF = err == nil
	}
	s.Show(w, r, status, changeoverView(view))
	return nil
}

// judge fills in how the wheel stands after the changeover, what it looks like on
// the way, and what warns of either.
func (view *changeoverPage) judge(p planned) (err error) {
	if view.Check, err = p.machine.Check(p.plan.Target, page.TempoOf(p.to, p.machine)); err != nil {
		return err
	}
	turn := p.machine.NewTurn()
	if err := turn.Load(p.plan.Target); err != nil {
		return err
	}
	view.Strip = page.StripOf(p.machine.Works, turn)
	if len(p.on.File.Pins)+len(p.plan.Target.Pins) > 0 {
		face := page.FaceOf(p.machine.File, p.on.File.Pins, p.plan.Target.Pins, p.plan.Start)
		view.Face = &face
	}
	warn := func(w page.Warning) { view.Warnings = append(view.Warnings, w) }
	if short := p.plan.Stock.Short; short != nil && *short > 0 {
		warn(page.Warning{Weight: page.Stop, Text: fmt.Sprintf("There are too few pins for this changeover: %s missing.", say.Count(*short, "pin is", "pins are"))})
	}
	if len(view.Check.Findings) > 0 {
		warn(page.Warning{
			Weight: page.Stop,
			Text:   fmt.Sprintf("After the changeover the wheel is not safe at %s BPM: %s.", say.Tempo(view.Check.TempoBPM), say.Count(len(view.Check.Findings), "finding", "findings")),
			Action: page.Link{Text: "See what limits it", URL: page.PinningURL(p.to.ID, "timing")},
		})
	}
	if p.on.UnderWay != nil {
		warn(page.Warning{Weight: page.Attention, Text: "Work on the wheel is under way. Finish it or stop it before you begin another changeover."})
	}
	return nil
}

func (s *area) changeoverPDF(w http.ResponseWriter, r *http.Request) error {
	p, err := s.plan(r, readChangeoverChoice(r.URL.Query()))
	if err != nil {
		return err
	}
	list, err := sheets.ChangeoverList(p.machine.File, p.plan, sheets.ListOptions{Paper: paper.A4, Date: s.Now()})
	if err != nil {
		return page.CannotDraw(err)
	}
	return page.DownloadSheet(w, page.FileName(p.to.Title, ".changeover.pdf"), "application/pdf", list.WritePDF)
}

func (s *area) changeoverCSV(w http.ResponseWriter, r *http.Request) error {
	p, err := s.plan(r, readChangeoverChoice(r.URL.Query()))
	if err != nil {
		return err
	}
	return page.DownloadSheet(w, page.FileName(p.to.Title, ".changeover.csv"), "text/csv; charset=utf-8", func(out io.Writer) error {
		return sheets.ChangeoverCSV(out, p.plan)
	})
}

// beginChangeover begins the changeover as the page showed it.
func (s *area) beginChangeover(w http.ResponseWriter, r *http.Request) error {
	c := readChangeoverChoice(r.PostForm)
	p, err := s.plan(r, c)
	if err != nil {
		return err
	}
	revision, errRevision := strconv.Atoi(r.PostForm.Get("revision"))
	seq, errSeq := strconv.ParseInt(r.PostForm.Get("seq"), 10, 64)
	edits, errEdits := strconv.ParseInt(r.PostForm.Get("edits"), 10, 64)
	if errRevision != nil || errSeq != nil || errEdits != nil {
		return wheel.Refuse(wheel.ErrInvalid, "The page does not say what it was worked out from; open it again.")
	}
	if edits != p.to.Seq {
		return wheel.Refuse(wheel.ErrConflict, "%s was edited meanwhile; look at the changeover again, then begin it.", p.to.Title)
	}
	j, err := s.Store.BeginChangeover(r.Context(), place.NewChangeover{
		MachineID: p.machine.ID, Revision: revision, PinningID: p.to.ID, Seq: seq, Target: p.plan.Target,
		Start: p.plan.Start, Rotate: c.Rotate, Exchange: c.Exchange,
	})
	if err != nil {
		return err
	}
	return page.Redirect(w, r, jobURL(j))
}

// chosen is the pinning that the page offers to change to.
func (p changeoverPage) chosen() int64 {
	if id := chosenID(p.Choice.To); id != 0 {
		return id
	}
	return nextOn(p.On, p.Pinnings)
}

// nextOn is the pinning that a wheel is likely to be changed to.
func nextOn(on place.OnWheel, pinnings []store.PinningRow) int64 {
	ids := make([]int64, len(pinnings))
	for i, p := range pinnings {
		ids[i] = p.ID
	}
	return on.Next(ids)
}

// changeoverAgain is the changeover that was begun before, to be begun again from
// what is on the wheel since.
func changeoverAgain(j place.Job) changeoverChoice {
	return changeoverChoice{To: strconv.FormatInt(j.PinningID, 10), Start: strconv.Itoa(j.Start), Rotate: j.Rotate, Exchange: j.Exchange}
}

func chosenID(text string) int64 {
	id, _ := strconv.ParseInt(text, 10, 64)
	return id
}

func titleOf(pinnings []store.PinningRow, id int64) string {
	for _, p := range pinnings {
		if p.ID == id {
			return p.Title
		}
	}
	return ""
}

// changeoverFigures sums a changeover up.
func changeoverFigures(p changeoverPage) []page.Figure {
	stock := page.Figure{Name: "Pins", Value: strconv.Itoa(p.Plan.Stock.Needed), Unit: "needed", Note: "the machine's file does not say how many there are"}
	if have := p.Plan.Stock.Have; have != nil {
		stock.Note = fmt.Sprintf("of %d: %d left over", *have, *p.Plan.Stock.Left)
		if *p.Plan.Stock.Short > 0 {
			stock.Note = fmt.Sprintf("of %d: %d short", *have, *p.Plan.Stock.Short)
		}
	}
	minutes := page.Figure{Name: "Time", Value: "not known", Note: "until the crew has done 20 pins"}
	if p.Plan.Minutes != nil {
		minutes.Value, minutes.Note = minutesWords(*p.Plan.Minutes), "at the crew's rate of "+say.Rounded(p.Rate, 1)+" pins a minute"
	}
	figures := []page.Figure{
		{Name: "Pulls", Value: strconv.Itoa(p.Plan.Pulls)}, {Name: "Drives", Value: strconv.Itoa(p.Plan.Drives)},
		{Name: "Pins that stay", Value: strconv.Itoa(p.Plan.Kept)}, stock,
		{Name: "Loose pins", Value: strconv.Itoa(p.Plan.Loose), Unit: "at the start"}, minutes,
	}
	if p.Choice.Rotate || p.Choice.Exchange {
		figures = append(figures, page.Figure{Name: "Saved by the options", Value: strconv.Itoa(p.Plan.Saved), Unit: "pulls and drives"})
	}
	return figures
}

// minutesWords is a time of work for people.
func minutesWords(minutes float64) string {
	return "about " + say.Minutes(minutes)
}

// movesOf lists the rows of a stop that are to be pulled, or driven.
func movesOf(s place.Stop, do place.Do) string {
	var rows []string
	for _, m := range s.Moves {
		if m.Do == do {
			rows = append(rows, strconv.Itoa(m.Row))
		}
	}
	return strings.Join(rows, ", ")
}

// askWords asks what is on the wheel, as the changeover follows from it.
func askWords(p changeoverPage) string {
	words := "Nobody has said yet what is on the wheel of " + say.Steady(p.Facts.Name) + ". The pulls and drives"
	if title := titleOf(p.Pinnings, chosenID(p.Choice.To)); title != "" {
		words += " to " + say.Steady(title)
	}
	return words + " depend on it."
}
