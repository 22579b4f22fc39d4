package machines

import (
	"fmt"
	"net/http"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// houseForm is the form for the house limit, as it was sent or as it starts.
type houseForm struct {
	House, Reason page.Field
	Open          bool
}

func houseFormOf(l wheel.Limits) (f houseForm) {
	if bpm, ok := l.HouseBPM.Get(); ok {
		f.House.Text, f.Reason.Text = say.Typed(bpm), l.HouseWhy
	}
	return f
}

// houseWords says what the house limit is.
func houseWords(l wheel.Limits) string {
	bpm, ok := l.HouseBPM.Get()
	if !ok {
		return "There is none."
	}
	words := "The machine is never turned faster than " + say.TempoDown(bpm) + " BPM"
	if l.HouseWhy != "" {
		words += ": " + l.HouseWhy
	}
	return say.Steady(words) + "."
}

// setHouse keeps one top speed for the whole machine, with the reason for it.
func (a area) setHouse(w http.ResponseWriter, r *http.Request) error {
	m, err := a.MachineAt(r)
	if err != nil {
		return err
	}
	f := page.Sent(r)
	low := m.File.Limits.TempoMinBPM
	bpm, err := page.ReadTempo(f.Text("house"))
	switch {
	case err != nil:
		f.Wrong("house", "The house limit", fmt.Sprintf("a number of BPM from %s to %d", say.Number(low), wheel.MaxTempoBPM))
	case bpm < low:
		f.Wrong("house", "The house limit", fmt.Sprintf("%s BPM or more, the machine’s lowest tempo, or no tempo would be left", say.Number(low)))
	}
	reason, err := wheel.ChangeReason(f.Text("reason"))
	if err != nil {
		f.Wrong("reason", "The reason", fmt.Sprintf("a line of up to %d characters that says why, and who says so", wheel.MaxReason))
	}
	if f.Err() != nil {
		return a.showMachine(w, r, http.StatusUnprocessableEntity, m, houseForm{f.Field("house"), f.Field("reason"), true})
	}
	return a.keepHouse(w, r, m, f, reason, wheel.Known(bpm), reason)
}

// removeHouse takes the house limit away.
func (a area) removeHouse(w http.ResponseWriter, r *http.Request) error {
	m, err := a.MachineAt(r)
	if err != nil {
		return err
	}
	f := page.Sent(r)
	return a.keepHouse(w, r, m, f, f.Text("reason"), wheel.Maybe{}, "")
}

func (a area) keepHouse(w http.ResponseWriter, r *http.Request, m page.Compiled, f *page.Form, reason string, bpm wheel.Maybe, why string) error {
	revision := f.Revision()
	if err := f.Err(); err != nil {
		return err
	}
	if err := a.Store.SetHouse(r.Context(), m.ID, revision, reason, bpm, why); err != nil {
		return err
	}
	a.Open.MachineChanged(r.Context(), m.ID)
	return page.Redirect(w, r, page.MachineURL(m.ID)+"#house")
}
