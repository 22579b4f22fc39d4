package web

import (
	"context"
	"net/http"

	"pinwright/web/page"
	"pinwright/wheel/draw"
)

// lookPage shows what pages are made of, for those who write pages. Nothing
// leads to it.
type lookPage struct {
	page.Frame
	Warnings []page.Warning
	Figures  []page.Figure
	Strip    *page.Strip // of a pinning on the machine in use; nil where there is none
	Rows     int
	Small    []smallRow
	Drawing  *page.Drawing // of the machine in use; nil where there is none
}

// smallRow is a row with small pictures in it.
type smallRow struct {
	Name   string
	Notes  []float64
	Reload []page.TrendPoint
}

func (s *server) look(w http.ResponseWriter, r *http.Request) error {
	view := lookPage{
		Frame: s.Frame(r, "What pages are made of").Under(page.Link{Text: "Home", URL: "/"}),
		Warnings: []page.Warning{
			{Weight: page.Note, Text: "Bar C♯5 is resting; none of its pins sound."},
			{Weight: page.Attention, Text: "84 BPM is above the window for visitors, which ends at 80.3 BPM.", Action: page.Link{Text: "Set 80.3 BPM", URL: "#warnings"}},
			{Weight: page.Stop, Text: "120 BPM is not safe: the gate of Tube D3 is not ready in time.", Action: page.Link{Text: "Set 89.9 BPM", URL: "#warnings"}},
		},
		Figures: []page.Figure{
			{Name: "A step takes", Value: "178.6", Unit: "ms"},
			{Name: "One turn", Value: "45.7", Unit: "s"},
			{Name: "Crank", Value: "10.5", Unit: "turns a minute", Note: "8 turns of the crank are one of the wheel"},
		},
		Rows: 12,
		Small: []smallRow{
			{"Bars", []float64{4, 4, 6, 12, 4, 4, 6, 11, 0, 0, 8, 8, 9, 10, 12, 4}, []page.TrendPoint{{X: 0, Y: 131}, {X: 7, Y: 133}, {X: 9, Y: 132}, {X: 30, Y: 140}}},
			{"Tubes", []float64{1, 0, 1, 0, 1, 0, 1, 0, 2, 2, 2, 2, 1, 0, 1, 1}, []page.TrendPoint{{X: 0, Y: 152}, {X: 30, Y: 152}}},
		},
	}
	m, ok, err := s.CurrentCompiled(r.Context())
	if err != nil {
		return err
	}
	if ok {
		drawing := page.DrawingOf(m.File, draw.Options{Lit: []draw.Part{{Kind: draw.ChannelPart, ID: m.File.Channels[0].ID}}})
		view.Drawing = &drawing
		if view.Strip, err = s.firstStrip(r.Context(), m); err != nil {
			return err
		}
	}
	s.Show(w, r, http.StatusOK, lookView(view))
	return nil
}

// firstStrip is the tempo strip of the machine's first pinning.
func (s *server) firstStrip(ctx context.Context, m page.Compiled) (*page.Strip, error) {
	rows, err := s.Store.Pinnings(ctx, m.ID)
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	p, err := s.Store.Pinning(ctx, rows[0].ID)
	if err != nil {
		return nil, err
	}
	turn, err := m.Turn(p.File)
	if err != nil {
		return nil, err
	}
	strip := page.StripOf(m.Works, turn).WithWindow(turn.Window(0.1).TempoWindow)
	return &strip, nil
}
