package visitors

import (
	"net/http"
	"strings"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// programmesPage lists programmes, and the settings that hold for all of them.
type programmesPage struct {
	page.Frame
	HasMachine bool
	Programmes []store.ProgrammeRow
	Visitors   store.Visitors
	Margin     page.Field
}

func (s *area) programmes(w http.ResponseWriter, r *http.Request) error {
	view, err := s.programmesOf(r)
	if err != nil {
		return err
	}
	s.Show(w, r, http.StatusOK, programmesView(view))
	return nil
}

func (s *area) programmesOf(r *http.Request) (programmesPage, error) {
	view := programmesPage{Frame: s.Frame(r, "Programmes")}
	m, err := s.CurrentMachine(r.Context())
	if err != nil {
		return view, err
	}
	var id int64
	if m != nil {
		view.HasMachine, id = true, m.ID
	}
	if view.Programmes, err = s.Store.Programmes(r.Context(), id); err != nil {
		return view, err
	}
	if view.Visitors, err = s.Store.Visitors(r.Context()); err != nil {
		return view, err
	}
	view.Margin.Text = say.Percent(view.Visitors.Margin)
	return view, nil
}

func (s *area) addProgramme(w http.ResponseWriter, r *http.Request) error {
	m, err := s.CurrentMachine(r.Context())
	if err != nil {
		return err
	}
	if m == nil {
		return wheel.Refuse(wheel.ErrConflict, "A programme is for a machine, and there is none yet. Bring its machine file first.")
	}
	id, err := s.Store.AddProgramme(r.Context(), m.ID, programme.Change{
		By: strings.TrimSpace(r.PostForm.Get("by")), Text: "make the programme",
		Programme: programme.Programme{Name: strings.TrimSpace(r.PostForm.Get("name"))},
	})
	if err != nil {
		return err
	}
	return page.Redirect(w, r, page.ProgrammeURL(id))
}

// keepLeaveCode keeps the code that visitors' screens ask for.
func (s *area) keepLeaveCode(w http.ResponseWriter, r *http.Request) error {
	if err := s.Store.SetLeaveCode(r.Context(), strings.TrimSpace(r.PostForm.Get("code"))); err != nil {
		return err
	}
	return page.Redirect(w, r, "/programmes")
}
