package web

import (
	"context"
	"fmt"
	"net/http"

	"pinwright/wheel"
)

type pinningsPage struct {
	frame
	HasMachine bool
	Pinnings   []pinningLine
	Others     []otherLine
}

func (s *server) pinnings(w http.ResponseWriter, r *http.Request) error {
	page := pinningsPage{frame: s.frame(r, "Pinnings")}
	m, ok, err := s.currentWorks(r.Context())
	if err != nil {
		return err
	}
	if ok {
		page.HasMachine = true
		if page.Pinnings, err = s.pinningLines(r.Context(), m); err != nil {
			return err
		}
		if page.Others, err = s.otherPinnings(r.Context(), m.ID); err != nil {
			return err
		}
	}
	s.show(w, r, http.StatusOK, pinningsView(page))
	return nil
}

// addPinning keeps a pinning file: on the machine that it names, or where it
// names none on the one that the crew works on. Where it names one that is not
// kept it asks first.
func (s *server) addPinning(w http.ResponseWriter, r *http.Request) error {
	files, err := uploads(r, "file", wheel.MaxFileBytes)
	if err != nil {
		return err
	}
	if err := files[0].notMIDI("a pinning file"); err != nil {
		return err
	}
	p, err := wheel.ReadPinning(files[0].Data)
	if err != nil {
		return inFile(files[0].Name, err)
	}
	m, ok, err := s.machineFor(r.Context(), p, files[0].Name)
	if err != nil {
		return err
	}
	if !ok {
		return s.askOnto(w, r, files[0], p)
	}
	if err := p.CheckOn(m.File).Err(); err != nil {
		return inFile(files[0].Name, err)
	}
	id, err := s.Store.AddPinning(r.Context(), m.ID, 0, p)
	if err != nil {
		return err
	}
	return see(w, r, fmt.Sprintf("/pinnings/%d", id))
}

// machineFor is the machine that a pinning is for. ok is false where it names
// one that is not kept.
func (s *server) machineFor(ctx context.Context, p *wheel.Pinning, fileName string) (m worked, ok bool, err error) {
	if p.Machine == "" {
		m, ok, err := s.currentWorks(ctx)
		if err == nil && !ok {
			err = refuse(http.StatusConflict, "There is no machine for %s; bring its machine file first.", fileName)
		}
		return m, ok, err
	}
	rows, err := s.Store.Machines(ctx)
	if err != nil {
		return worked{}, false, err
	}
	for _, row := range rows {
		if row.Name == p.Machine {
			m, err := s.worked(ctx, row.ID)
			return m, true, err
		}
	}
	return worked{}, false, nil
}

func (s *server) pinningFile(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	p, err := s.Store.Pinning(r.Context(), id)
	if err != nil {
		return err
	}
	return takeAway(w, fileName(p.Title, ".pinning.json"), "application/json", p.File)
}

func (s *server) removePinning(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := s.Store.RemovePinning(r.Context(), id); err != nil {
		return err
	}
	return see(w, r, "/pinnings")
}
