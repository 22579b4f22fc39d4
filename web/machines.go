package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/file"
)

// machineFacts is a machine in a few figures.
type machineFacts struct {
	ID       int64
	Name     string
	Note     string
	Channels int
	Resting  []string
	Kinds    []kindCount
	Wheel    wheel.Wheel
	ArcMM    float64
	Bars     float64 // of music in one turn
	Lanes    int
	Shared   int // lanes that more than one channel uses
	Limits   wheel.Limits
	Stock    int // marbles
}

type kindCount struct {
	Kind  wheel.ChannelKind
	Count int
}

func factsOf(m worked) machineFacts {
	file := m.File
	f := machineFacts{
		ID: m.ID, Name: file.Name, Note: file.Note, Channels: len(file.Channels),
		Wheel: file.Wheel, ArcMM: file.Wheel.ArcMM(), Lanes: len(file.Lanes), Limits: file.Limits, Stock: file.Marble.Stock,
		Bars: float64(file.Wheel.Steps) / float64(file.Wheel.StepsPerBar()),
	}
	counts := map[wheel.ChannelKind]int{}
	users := map[string]int{}
	for i := range file.Channels {
		c := &file.Channels[i]
		counts[c.Kind]++
		if c.Service == wheel.Resting {
			f.Resting = append(f.Resting, c.Name)
		}
		for _, id := range c.Route() {
			users[id]++
		}
	}
	for _, kind := range wheel.ChannelKinds {
		if n := counts[kind]; n > 0 {
			f.Kinds = append(f.Kinds, kindCount{kind, n})
		}
	}
	for _, n := range users {
		if n > 1 {
			f.Shared++
		}
	}
	return f
}

type machinesPage struct {
	frame
	Current  int64
	Machines []store.MachineRow
}

func (s *server) machines(w http.ResponseWriter, r *http.Request) error {
	rows, err := s.Store.Machines(r.Context())
	if err != nil {
		return err
	}
	page := machinesPage{frame: s.frame(r, "Machines"), Machines: rows}
	if m, err := s.currentMachine(r.Context()); err != nil {
		return err
	} else if m != nil {
		page.Current = m.ID
	}
	s.show(w, r, http.StatusOK, machinesView(page))
	return nil
}

// broughtMachine is the machine whose file a form brings.
func broughtMachine(r *http.Request) (*wheel.Machine, error) {
	files, err := uploads(r, "file", file.MaxBytes)
	if err != nil {
		return nil, err
	}
	if err := files[0].notMIDI("a machine file"); err != nil {
		return nil, err
	}
	works, err := timing.ReadMachine(files[0].Data)
	if err != nil {
		return nil, inFile(files[0].Name, err)
	}
	return works.Machine, nil
}

// addMachine keeps a machine file and makes it the one the crew works on.
func (s *server) addMachine(w http.ResponseWriter, r *http.Request) error {
	file, err := broughtMachine(r)
	if err != nil {
		return err
	}
	id, err := s.Store.AddMachine(r.Context(), file)
	if err != nil {
		return err
	}
	if err := s.Store.SetCurrentMachine(r.Context(), id); err != nil {
		return err
	}
	return see(w, r, fmt.Sprintf("/machines/%d", id))
}

// replaceMachine keeps a new file for a machine, unless the machine has been
// changed since the page was opened or a pinning of it no longer fits.
func (s *server) replaceMachine(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	revision, err := strconv.Atoi(r.URL.Query().Get("revision"))
	if err != nil {
		return wheel.Refuse(wheel.ErrInvalid, "The page does not say which state of the machine it changes; open it again.")
	}
	file, err := broughtMachine(r)
	if err != nil {
		return err
	}
	if err := s.Store.ReplaceMachine(r.Context(), id, revision, file); err != nil {
		return err
	}
	s.machineChanged(r.Context(), id)
	return see(w, r, fmt.Sprintf("/machines/%d", id))
}

type machinePage struct {
	frame
	Facts    machineFacts
	Current  bool
	Pinnings int
	Revision int
	Channels []channelLine
	Lanes    []laneLine
	Notes    []remark
	Troubles []troubleLine
}

// remark is a note in the machine file, on a channel or a lane.
type remark struct{ On, Says string }

type channelLine struct {
	File  *wheel.Channel
	Works *timing.Channel
}

type laneLine struct {
	wheel.Lane
	Users    int
	AccelMS2 float64
}

func (s *server) machine(w http.ResponseWriter, r *http.Request) error {
	m, err := s.askedMachine(r)
	if err != nil {
		return err
	}
	page := machinePage{frame: s.frame(r, m.File.Name+", machine"), Facts: factsOf(m), Pinnings: m.Machine.Pinnings, Revision: m.Machine.Revision}
	page.Current = page.frame.At == m.ID
	if page.Troubles, err = s.troubleLines(r.Context(), m); err != nil {
		return err
	}
	users := map[string]int{}
	for i := range m.File.Channels {
		page.Channels = append(page.Channels, channelLine{&m.File.Channels[i], &m.Works.Channels[i]})
		for _, id := range m.File.Channels[i].Route() {
			users[id]++
		}
		if c := &m.File.Channels[i]; c.Note != "" {
			page.Notes = append(page.Notes, remark{c.Name, c.Note})
		}
	}
	for i, l := range m.File.Lanes {
		if l.Note != "" {
			page.Notes = append(page.Notes, remark{l.ID, l.Note})
		}
		page.Lanes = append(page.Lanes, laneLine{l, users[l.ID], m.Accel(i)})
	}
	s.show(w, r, http.StatusOK, machineView(page))
	return nil
}

func (s *server) machineFile(w http.ResponseWriter, r *http.Request) error {
	m, err := s.askedMachine(r)
	if err != nil {
		return err
	}
	return takeAway(w, fileName(m.File.Name, ".machine.json"), "application/json", file.Machine(m.File))
}

func (s *server) chooseMachine(w http.ResponseWriter, r *http.Request) error {
	m, err := s.askedMachine(r)
	if err != nil {
		return err
	}
	if err := s.Store.SetCurrentMachine(r.Context(), m.ID); err != nil {
		return err
	}
	return see(w, r, "/")
}

func (s *server) removeMachine(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := s.Store.RemoveMachine(r.Context(), id); err != nil {
		return err
	}
	return see(w, r, "/machines")
}

func (s *server) askedMachine(r *http.Request) (worked, error) {
	id, err := idOf(r)
	if err != nil {
		return worked{}, err
	}
	return s.worked(r.Context(), id)
}

// inFile says before each problem which file it is in.
func inFile(name string, err error) error {
	var problems wheel.Problems
	if !errors.As(err, &problems) {
		return err
	}
	named := make(wheel.Problems, len(problems))
	for i, p := range problems {
		named[i] = wheel.Problem{Place: name + ":", Says: p.String()}
	}
	return named.Err()
}

// routeWords names a channel's lanes, those after the plate behind a semicolon.
func routeWords(c *wheel.Channel) string {
	words := strings.Join(c.Path, ", ")
	if len(c.Exit) > 0 {
		words += "; " + strings.Join(c.Exit, ", ")
	}
	return words
}
