package web

import (
	"net/http"

	"pinwright/web/page"
	"pinwright/web/pinnings"
)

type homePage struct {
	page.Frame
	HasMachine bool
	Machine    page.MachineFacts
	Songs      int
	Pinnings   []pinnings.Line
}

func (s *server) home(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	view := homePage{Frame: s.Frame(r, "Home")}
	songs, err := s.Store.Songs(ctx)
	if err != nil {
		return err
	}
	view.Songs = len(songs)
	m, ok, err := s.CurrentCompiled(ctx)
	if err != nil {
		return err
	}
	if ok {
		view.HasMachine = true
		view.Machine = page.FactsOf(m)
		if view.Pinnings, err = pinnings.Lines(ctx, s.Kit, m); err != nil {
			return err
		}
	}
	s.Show(w, r, http.StatusOK, homeView(view))
	return nil
}
