package web

import (
	"fmt"
	"net/http"
	"strings"

	"pinwright/store"
	"pinwright/wheel"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// programmesPage lists programmes, and what is settled for all of them.
type programmesPage struct {
	frame
	HasMachine bool
	Programmes []store.ProgrammeRow
	Visitors   store.Visitors
	Margin     typed
}

func (s *server) programmes(w http.ResponseWriter, r *http.Request) error {
	page, err := s.programmesOf(r)
	if err != nil {
		return err
	}
	s.show(w, r, http.StatusOK, programmesView(page))
	return nil
}

func (s *server) programmesOf(r *http.Request) (programmesPage, error) {
	page := programmesPage{frame: s.frame(r, "Programmes")}
	m, err := s.currentMachine(r.Context())
	if err != nil {
		return page, err
	}
	var id int64
	if m != nil {
		page.HasMachine, id = true, m.ID
	}
	if page.Programmes, err = s.Store.Programmes(r.Context(), id); err != nil {
		return page, err
	}
	if page.Visitors, err = s.Store.Visitors(r.Context()); err != nil {
		return page, err
	}
	page.Margin.Text = say.Percent(page.Visitors.Margin)
	return page, nil
}

func (s *server) addProgramme(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return brokenOff(err)
	}
	m, err := s.currentMachine(r.Context())
	if err != nil {
		return err
	}
	if m == nil {
		return wheel.Refuse(wheel.ErrConflict, "A programme is for a machine, and there is none yet; bring its machine file first.")
	}
	id, err := s.Store.AddProgramme(r.Context(), m.ID, programme.Change{
		By: strings.TrimSpace(r.PostForm.Get("by")), Text: "begin the programme",
		Programme: programme.Programme{Name: strings.TrimSpace(r.PostForm.Get("name"))},
	})
	if err != nil {
		return err
	}
	return see(w, r, fmt.Sprintf("/programmes/%d", id))
}

func (s *server) removeProgramme(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := s.Store.RemoveProgramme(r.Context(), id); err != nil {
		return err
	}
	return see(w, r, "/programmes")
}

// keepLeaveCode settles the digits with which the visitors' screen is left.
func (s *server) keepLeaveCode(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return brokenOff(err)
	}
	if err := s.Store.SetLeaveCode(r.Context(), strings.TrimSpace(r.PostForm.Get("code"))); err != nil {
		return err
	}
	return see(w, r, "/programmes")
}
