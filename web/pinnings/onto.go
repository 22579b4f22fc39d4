package pinnings

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

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
		Frame: s.Frame(r, p.Title+" onto "+m.Name), Title: p.Title, Of: p.Machine, Onto: m,
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
	text, err := textField(r, "pinning", file.MaxBytes)
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
		Frame: s.Frame(r, p.Title+" onto "+m.Name), Title: p.Title, Of: p.File.Machine, Known: true, Onto: m,
		Mapping: mapping, Action: r.URL.Path,
	}
	s.Show(w, r, http.StatusOK, ontoView(view))
	return nil
}

func (s *area) keepOntoOther(w http.ResponseWriter, r *http.Request) error {
	p, m, mapping, err := s.mapped(r)
	if err != nil {
		return err
	}
	return s.keepMapped(w, r, m, p.SongID, mapping)
}

func (s *area) mapped(r *http.Request) (*store.Pinning, *store.Machine, *wheel.Mapping, error) {
	id, err := page.ID(r)
	if err != nil {
		return nil, nil, nil, err
	}
	onto, err := strconv.ParseInt(chi.URLParam(r, "machine"), 10, 64)
	if err != nil {
		return nil, nil, nil, page.ErrNoPage
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

// otherLine is a pinning of a machine that the crew does not work on now.
type otherLine struct {
	store.PinningRow
	Apart   string // what tells it from others of its name there
	Machine string
	URL     string // of the page that brings it onto the machine that it does
}

// otherPinnings are the pinnings of all machines but one.
func (s *area) otherPinnings(ctx context.Context, now int64) (lines []otherLine, err error) {
	machines, err := s.Store.Machines(ctx)
	if err != nil {
		return nil, err
	}
	for _, m := range machines {
		if m.ID == now {
			continue
		}
		rows, err := s.Store.Pinnings(ctx, m.ID)
		if err != nil {
			return nil, err
		}
		apart := page.Namesakes(rows)
		for _, p := range rows {
			lines = append(lines, otherLine{p, apart[p.ID], m.Name, page.PinningURL(p.ID, "onto", fmt.Sprint(now))})
		}
	}
	return lines, nil
}

// textField reads one field of a multipart form, at most limit bytes.
func textField(r *http.Request, name string, limit int64) ([]byte, error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, wheel.Refuse(wheel.ErrMalformed, "The page did not send the pinning along; bring its file again.")
	}
	for {
		part, err := parts.NextPart()
		if err == io.EOF {
			return nil, wheel.Refuse(wheel.ErrMalformed, "The page did not send the pinning along; bring its file again.")
		}
		if err != nil {
			return nil, page.Broken(err)
		}
		if part.FormName() != name {
			continue
		}
		text, err := io.ReadAll(io.LimitReader(part, limit+1))
		if err != nil {
			return nil, page.Broken(err)
		}
		if int64(len(text)) > limit {
			return nil, wheel.Refuse(wheel.ErrTooLarge, "The pinning is larger than %d MiB; that is the most that is read.", limit>>20)
		}
		return text, nil
	}
}
