package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"pinwright/store"
	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/say"
)

// pinningLine is a pinning in a list, with its verdict.
type pinningLine struct {
	store.PinningRow
	Apart    string   // what tells it from others of its name; empty where there are none
	Problem  []string // why there is no verdict
	MaxSafe  float64
	Playable bool    // there is a highest safe tempo
	At       float64 // BPM: its own tempo, see [tempoOf]
	Findings int     // at that tempo
	Limits   wheel.Limits
}

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

// pinningLines works out every pinning of a machine at its own tempo. One that
// cannot be read, or does not fit the machine, is listed with the reason.
func (s *server) pinningLines(ctx context.Context, m worked) ([]pinningLine, error) {
	rows, err := s.Store.Pinnings(ctx, m.ID)
	if err != nil {
		return nil, err
	}
	lines := make([]pinningLine, len(rows))
	apart := namesakes(rows)
	turn := m.NewTurn()
	for i, row := range rows {
		line := &lines[i]
		line.PinningRow, line.Apart = row, apart[row.ID]
		p, err := s.Store.Pinning(ctx, row.ID)
		if err == nil {
			err = turn.Load(p.File)
		}
		if err != nil {
			if line.Problem = faultOf(err); line.Problem == nil {
				return nil, err
			}
			continue
		}
		line.MaxSafe, line.Playable = turn.MaxSafe()
		line.At, line.Limits = tempoOf(p, m), m.File.Limits
		line.Findings = len(turn.Findings(line.At, nil))
	}
	return lines, nil
}

// faultOf says what is wrong with one thing that is kept; nothing where the
// error is not that thing's alone.
func faultOf(err error) []string {
	var kept *wheel.Error
	var problems wheel.Problems
	if errors.As(err, &kept) && kept.Code != wheel.ErrUnavailable || errors.As(err, &problems) {
		return strings.Split(say.Sentence(err), "\n")
	}
	return nil
}

// namesakes tells pinnings of one title apart, by id: when they were last
// changed and, where that is the same as well, their numbers.
func namesakes(rows []store.PinningRow) map[int64]string {
	titles, moments := map[string]int{}, map[[2]string]int{}
	for _, p := range rows {
		titles[p.Title]++
		moments[[2]string{p.Title, moment(p.Changed)}]++
	}
	apart := map[int64]string{}
	for _, p := range rows {
		if titles[p.Title] == 1 {
			continue
		}
		words := "changed " + moment(p.Changed)
		if moments[[2]string{p.Title, moment(p.Changed)}] > 1 {
			words += fmt.Sprintf(", number %d", p.ID)
		}
		apart[p.ID] = words
	}
	return apart
}

// titleApart is a pinning's title and, where others have it, what tells it from
// them.
func titleApart(p store.PinningRow, apart map[int64]string) string {
	if words := apart[p.ID]; words != "" {
		return say.Steady(p.Title) + ", " + words
	}
	return say.Steady(p.Title)
}

// pinsWords says what stands beside a pinning's title: its pins and, where
// others have its title, what tells it from them.
func pinsWords(p store.PinningRow, apart string) string {
	pins := say.Count(p.Pins, "pin", "pins")
	switch {
	case apart == "":
		return pins
	case p.TempoBPM == 0:
		return pins + ", " + apart
	}
	return say.Tempo(p.TempoBPM) + " BPM, " + pins + ", " + apart
}

// addPinning keeps a pinning file: on the machine that it names, or where it
// names none on the one that the crew works on. Where it names one that is not
// kept it asks first.
func (s *server) addPinning(w http.ResponseWriter, r *http.Request) error {
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
		return inFile(f.Name, err)
	}
	id, err := s.Store.AddPinning(r.Context(), m.ID, 0, p)
	if err != nil {
		return err
	}
	return see(w, r, fmt.Sprintf("/pinnings/%d", id))
}

// broughtPinning is the pinning file that a form brings.
func broughtPinning(r *http.Request) (upload, *wheel.Pinning, error) {
	files, err := uploads(r, "file", file.MaxBytes)
	if err != nil {
		return upload{}, nil, err
	}
	f := files[0]
	if err := f.notMIDI("a pinning file"); err != nil {
		return f, nil, err
	}
	p, err := file.ReadPinning(f.Data)
	if err != nil {
		return f, nil, inFile(f.Name, err)
	}
	return f, p, nil
}

// replacePinning keeps a file in place of a pinning: an edit, which undo takes
// back.
func (s *server) replacePinning(w http.ResponseWriter, r *http.Request) error {
	is, m, err := s.askedPinning(r)
	if err != nil {
		return err
	}
	f, p, err := broughtPinning(r)
	if err != nil {
		return err
	}
	if err := p.CheckOn(m.File).Err(); err != nil {
		return inFile(f.Name, err)
	}
	if err := s.Store.ReplacePinning(r.Context(), is.ID, is.Revision, p); err != nil {
		return err
	}
	return s.edited(w, r, is.ID)
}

// renamePinning gives a pinning another title: an edit, which undo takes back.
func (s *server) renamePinning(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return err
	}
	if err := s.Store.RenamePinning(r.Context(), id, strings.TrimSpace(r.PostForm.Get("title"))); err != nil {
		return err
	}
	return s.edited(w, r, id)
}

// edited is the end of an edit that no desk has made.
func (s *server) edited(w http.ResponseWriter, r *http.Request, id int64) error {
	s.changedAway(r.Context(), func(d *desk) bool { return d.id == id })
	return see(w, r, fmt.Sprintf("/pinnings/%d", id))
}

// machineFor is the machine that a pinning is for. ok is false where it names
// one that is not kept.
func (s *server) machineFor(ctx context.Context, p *wheel.Pinning, fileName string) (m worked, ok bool, err error) {
	if p.Machine == "" {
		m, ok, err := s.currentWorks(ctx)
		if err == nil && !ok {
			err = wheel.Refuse(wheel.ErrConflict, "There is no machine for %s; bring its machine file first.", fileName)
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
	return takeAway(w, fileName(p.Title, ".pinning.json"), "application/json", file.Pinning(p.File))
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
