package pinnings

import (
	"context"
	"fmt"
	"net/http"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/file"
)

// Line is a pinning in a list, with its verdict.
type Line struct {
	store.PinningRow
	Apart    string   // what tells it from others of its name; empty where there are none
	Problem  []string // why there is no verdict
	Strip    page.Strip
	At       float64 // BPM: its own tempo, see [page.TempoOf]
	Findings int     // at that tempo
	Limits   wheel.Limits
}

type pinningsPage struct {
	page.Frame
	HasMachine bool
	Pinnings   []Line
	Others     []otherLine
}

func (s *area) pinnings(w http.ResponseWriter, r *http.Request) error {
	view := pinningsPage{Frame: s.Frame(r, "Pinnings")}
	m, ok, err := s.CurrentCompiled(r.Context())
	if err != nil {
		return err
	}
	if ok {
		view.HasMachine = true
		if view.Pinnings, err = Lines(r.Context(), s.Kit, m); err != nil {
			return err
		}
		if view.Others, err = s.otherPinnings(r.Context(), m.ID); err != nil {
			return err
		}
	}
	s.Show(w, r, http.StatusOK, pinningsView(view))
	return nil
}

// Lines works out every pinning of a machine at its own tempo. One that
// cannot be read, or does not fit the machine, is listed with the reason.
func Lines(ctx context.Context, kit *page.Kit, m page.Compiled) ([]Line, error) {
	rows, err := kit.Store.Pinnings(ctx, m.ID)
	if err != nil {
		return nil, err
	}
	lines := make([]Line, len(rows))
	apart := page.Namesakes(rows)
	turn := m.NewTurn()
	for i, row := range rows {
		line := &lines[i]
		line.PinningRow, line.Apart = row, apart[row.ID]
		p, err := kit.Store.Pinning(ctx, row.ID)
		if err == nil {
			err = turn.Load(p.File)
		}
		if err != nil {
			if line.Problem = page.Fault(err); line.Problem == nil {
				return nil, err
			}
			continue
		}
		line.Strip = page.StripOf(m.CountedFor(p.File).Works, turn)
		line.At, line.Limits = page.TempoOf(p, m), m.File.Limits
		line.Findings = len(turn.Findings(line.At, nil))
	}
	return lines, nil
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

// addPinning keeps a pinning file: on the machine that it names, or where it
// names none on the one that the crew works on. Where it names one that is not
// kept it asks first.
func (s *area) addPinning(w http.ResponseWriter, r *http.Request) error {
	f, p, err := broughtPinning(r)
	if err != nil {
		return err
	}
	m, ok, err := s.machineFor(r.Context(), p, f.Name)
	if err != nil {
		return err
	}
	if !ok {
		return s.askOnto(w, r, f, p)
	}
	if err := p.CheckOn(m.File).Err(); err != nil {
		return page.InFile(f.Name, err)
	}
	id, err := s.Store.AddPinning(r.Context(), m.ID, 0, p)
	if err != nil {
		return err
	}
	return page.Redirect(w, r, page.PinningURL(id))
}

// broughtPinning is the pinning file that a form brings.
func broughtPinning(r *http.Request) (page.Upload, *wheel.Pinning, error) {
	f, err := page.UploadJSON(r, "a pinning file")
	if err != nil {
		return f, nil, err
	}
	p, err := file.ReadPinning(f.Data)
	if err != nil {
		return f, nil, page.InFile(f.Name, err)
	}
	return f, p, nil
}

// machineFor is the machine that a pinning is for. ok is false where it names
// one that is not kept.
func (s *area) machineFor(ctx context.Context, p *wheel.Pinning, fileName string) (m page.Compiled, ok bool, err error) {
	if p.Machine == "" {
		m, ok, err := s.CurrentCompiled(ctx)
		if err == nil && !ok {
			err = wheel.Refuse(wheel.ErrConflict, "There is no machine for %s; bring its machine file first.", fileName)
		}
		return m, ok, err
	}
	rows, err := s.Store.Machines(ctx)
	if err != nil {
		return page.Compiled{}, false, err
	}
	for _, row := range rows {
		if row.Name == p.Machine {
			m, err := s.Compiled(ctx, row.ID)
			return m, true, err
		}
	}
	return page.Compiled{}, false, nil
}
