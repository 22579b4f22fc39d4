package pinnings

import (
	"net/http"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/file"
)

// ontoPage says what of a pinning of another machine fits, before anything is
// kept.
type ontoPage struct {
	page.Frame
	Title   string
	Of      string // the machine that it was made for; may be empty
	Known   bool   // that machine is kept, so channels are found by their keys too
	Onto    *store.Machine
	Mapping *wheel.Mapping
	Action  string
	File    string // the pinning as it came, where it is not kept; else empty
}

// total is how many pins there are.
func (p ontoPage) total() int { return len(p.Mapping.Pinning.Pins) + p.Mapping.Lost }

// share is how much of the pins fits.
func (p ontoPage) share() float64 {
	return float64(len(p.Mapping.Pinning.Pins)) / float64(max(1, p.total()))
}

// warnings are what is lost, and what else there is to know.
func (p ontoPage) warnings() []page.Warning {
	weight := page.Note
	if p.Mapping.Lost > 0 {
		weight = page.Attention
	}
	var all []page.Warning
	for _, remark := range p.Mapping.Remarks {
		all = append(all, page.Warning{Weight: weight, Text: remark})
	}
	return all
}

// trail leads back to the pinnings.
var trail = page.Link{Text: "Pinnings", URL: "/pinnings"}

// askOnto shows what fits of a pinning that a file brought, on the machine that
// the crew works on.
func (s *area) askOnto(w http.ResponseWriter, r *http.Request, f page.Upload, p *wheel.Pinning) error {
	m, err := s.CurrentMachine(r.Context())
	if err != nil {
		return err
	}
	if m == nil {
		return wheel.Refuse(wheel.ErrConflict, "%s is for a machine called %s, and there is none of that name; bring its machine file first.", f.Name, p.Machine)
	}
	view := ontoPage{
		Frame: s.FrameOf(r, "What fits "+m.Name, m).Under(trail), Title: p.Title, Of: p.Machine, Onto: m,
		Mapping: wheel.Map(p, nil, m.File), Action: page.MachineURL(m.ID, "pinnings"), File: string(f.Data),
	}
	s.Show(w, r, http.StatusOK, ontoView(view))
	return nil
}

// keepOnto keeps what fits of the pinning that the page brings along.
func (s *area) keepOnto(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	m, err := s.Store.Machine(r.Context(), id)
	if err != nil {
		return err
	}
	text, err := page.CarriedFile(r, "pinning", file.MaxBytes)
	if err != nil {
		return err
	}
	p, err := file.ReadPinning(text)
	if err != nil {
		return err
	}
	return s.keepMapped(w, r, m, 0, wheel.Map(p, nil, m.File))
}

// onto shows what fits of a kept pinning on another machine.
func (s *area) onto(w http.ResponseWriter, r *http.Request) error {
	p, m, mapping, err := s.mapped(r)
	if err != nil {
		return err
	}
	view := ontoPage{
		Frame: s.FrameOf(r, "What fits "+m.Name, m).Under(trail), Title: p.Title, Of: p.File.Machine, Known: true, Onto: m,
		Mapping: mapping, Action: r.URL.Path,
	}
	s.Show(w, r, http.StatusOK, ontoView(view))
	return nil
}

// keepOntoOther keeps what fits of a kept pinning on another machine.
func (s *area) keepOntoOther(w http.ResponseWriter, r *http.Request) error {
	p, m, mapping, err := s.mapped(r)
	if err != nil {
		return err
	}
	return s.keepMapped(w, r, m, p.SongID, mapping)
}

// mapped is the pinning and the machine that the path of a request names, and
// what fits.
func (s *area) mapped(r *http.Request) (*store.Pinning, *store.Machine, *wheel.Mapping, error) {
	id, err := page.ID(r)
	if err != nil {
		return nil, nil, nil, err
	}
	onto, err := page.IDAt(r, "machine")
	if err != nil {
		return nil, nil, nil, err
	}
	p, err := s.Store.Pinning(r.Context(), id)
	if err != nil {
		return nil, nil, nil, err
	}
	from, err := s.Store.Machine(r.Context(), p.MachineID)
	if err != nil {
		return nil, nil, nil, err
	}
	to, err := s.Store.Machine(r.Context(), onto)
	if err != nil {
		return nil, nil, nil, err
	}
	return p, to, wheel.Map(p.File, from.File, to.File), nil
}

// keepMapped keeps what fits as a pinning of its own and leads to its page.
func (s *area) keepMapped(w http.ResponseWriter, r *http.Request, m *store.Machine, song int64, mapping *wheel.Mapping) error {
	if len(mapping.Pinning.Pins) == 0 {
		return wheel.Refuse(wheel.ErrConflict, "No pin of %s fits %s, and nothing was kept.", mapping.Pinning.Title, m.Name)
	}
	id, err := s.Store.AddPinning(r.Context(), m.ID, song, mapping.Pinning)
	if err != nil {
		return err
	}
	return page.Redirect(w, r, page.PinningURL(id))
}
