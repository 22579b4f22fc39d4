package web

import (
	"context"
	"net/http"

	"pinwright/store"
	"pinwright/wheel"
)

// pinningLine is a pinning in a list, with its verdict.
type pinningLine struct {
	store.PinningRow
	MaxSafe  float64
	Playable bool    // there is a highest safe tempo
	At       float64 // BPM: its own tempo, see [tempoOf]
	Findings int     // at that tempo
	Limits   wheel.Limits
}

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

// pinningLines works out every pinning of a machine at its own tempo.
func (s *server) pinningLines(ctx context.Context, m worked) ([]pinningLine, error) {
	rows, err := s.Store.Pinnings(ctx, m.ID)
	if err != nil {
		return nil, err
	}
	lines := make([]pinningLine, len(rows))
	turn := m.NewTurn()
	for i, row := range rows {
		lines[i].PinningRow = row
		p, err := s.Store.Pinning(ctx, row.ID)
		if err != nil {
			return nil, err
		}
		if err := turn.Load(p.File); err != nil {
			return nil, err
		}
		lines[i].MaxSafe, lines[i].Playable = turn.MaxSafe()
		lines[i].At, lines[i].Limits = tempoOf(p, m), m.File.Limits
		lines[i].Findings = len(turn.Findings(lines[i].At, nil))
	}
	return lines, nil
}

// tempoOf is the tempo a pinning is looked at with: its own, or the machine's
// lowest where it has none.
func tempoOf(p *store.Pinning, m worked) float64 {
	if p.File.TempoBPM > 0 {
		return p.File.TempoBPM
	}
	return m.File.Limits.TempoMinBPM
}
