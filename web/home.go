package web

import (
	"net/http"

	"pinwright/store"
)

type homePage struct {
	frame
	HasMachine bool
	Machine    machineFacts
	Songs      int
	Pinnings   []pinningLine
}

func (s *server) home(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	page := homePage{frame: s.frame(r, "Home")}
	songs, err := s.Store.Songs(ctx)
	if err != nil {
		return err
	}
	page.Songs = len(songs)
	m, ok, err := s.currentWorks(ctx)
	if err != nil {
		return err
	}
	if ok {
		page.HasMachine = true
		page.Machine = factsOf(m)
		if page.Pinnings, err = s.pinningLines(ctx, m); err != nil {
			return err
		}
	}
	s.show(w, r, http.StatusOK, homeView(page))
	return nil
}

// tempoOf is the tempo a pinning is looked at with: its own, or the machine's
// lowest where it has none.
func tempoOf(p *store.Pinning, m worked) float64 {
	if p.File.TempoBPM > 0 {
		return p.File.TempoBPM
	}
	return m.File.Limits.TempoMinBPM
}
