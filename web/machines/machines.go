package machines

import (
	"net/http"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/file"

	"github.com/go-chi/chi/v5"
)

type area struct{ *page.Kit }

// Routes adds the pages of machines.
func Routes(r chi.Router, kit *page.Kit) {
	a := area{kit}
	r.Get("/machines", kit.Page(a.list))
	r.Post("/machines", kit.Page(a.add))
	r.Get("/machines/{id}", kit.Page(a.machine))
	r.Get("/machines/{id}/file", kit.Page(a.file))
	r.Post("/machines/{id}/file", kit.Page(a.replace))
	r.Post("/machines/{id}/choose", kit.Form(a.choose))
	r.Post("/machines/{id}/remove", kit.Form(a.remove))
}

type listPage struct {
	page.Frame
	Current  int64
	Machines []store.MachineRow
}

func (a area) list(w http.ResponseWriter, r *http.Request) error {
	rows, err := a.Store.Machines(r.Context())
	if err != nil {
		return err
	}
	view := listPage{Frame: a.Frame(r, "Machines"), Machines: rows}
	if m, err := a.CurrentMachine(r.Context()); err != nil {
		return err
	} else if m != nil {
		view.Current = m.ID
	}
	a.Show(w, r, http.StatusOK, listView(view))
	return nil
}

// broughtMachine is the machine whose file a form brings.
func broughtMachine(r *http.Request) (*wheel.Machine, error) {
	f, err := page.UploadJSON(r, "a machine file")
	if err != nil {
		return nil, err
	}
	works, err := timing.ReadMachine(f.Data)
	if err != nil {
		return nil, page.InFile(f.Name, err)
	}
	return works.Machine, nil
}

// add keeps a machine file and makes it the one that this browser works on.
func (a area) add(w http.ResponseWriter, r *http.Request) error {
	file, err := broughtMachine(r)
	if err != nil {
		return err
	}
	id, err := a.Store.AddMachine(r.Context(), file)
	if err != nil {
		return err
	}
	page.ChooseMachine(w, id)
	return page.Redirect(w, r, page.MachineURL(id))
}

// replace keeps a new file for a machine, unless the machine has been
// changed since the page was opened or a pinning of it no longer fits.
func (a area) replace(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	f := page.Asked(r)
	revision := f.Revision()
	if err := f.Err(); err != nil {
		return err
	}
	file, err := broughtMachine(r)
	if err != nil {
		return err
	}
	if err := a.Store.ReplaceMachine(r.Context(), id, revision, file); err != nil {
		return err
	}
	a.Open.MachineChanged(r.Context(), id)
	return page.Redirect(w, r, page.MachineURL(id))
}

type machinePage struct {
	page.Frame
	Facts    page.MachineFacts
	Current  bool
	Pinnings int
	Revision int
	Channels []channelLine
	Lanes    []laneLine
	Notes    []remark
	Troubles []page.TroubleLine
	shown
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

func (a area) machine(w http.ResponseWriter, r *http.Request) error {
	m, err := a.MachineAt(r)
	if err != nil {
		return err
	}
	view := machinePage{Frame: a.Frame(r, m.File.Name+", machine"), Facts: page.FactsOf(m), Pinnings: m.Machine.Pinnings, Revision: m.Machine.Revision}
	view.Current = view.Frame.At == m.ID
	if view.shown, err = show(m.File, r.URL.Query().Get("channel")); err != nil {
		return err
	}
	if view.Troubles, err = a.TroubleLines(r.Context(), m); err != nil {
		return err
	}
	users := map[string]int{}
	for i := range m.File.Channels {
		view.Channels = append(view.Channels, channelLine{&m.File.Channels[i], &m.Works.Channels[i]})
		for _, id := range m.File.Channels[i].Route() {
			users[id]++
		}
		if c := &m.File.Channels[i]; c.Note != "" {
			view.Notes = append(view.Notes, remark{c.Name, c.Note})
		}
	}
	for i, l := range m.File.Lanes {
		if l.Note != "" {
			view.Notes = append(view.Notes, remark{l.ID, l.Note})
		}
		view.Lanes = append(view.Lanes, laneLine{l, users[l.ID], m.Accel(i)})
	}
	a.Show(w, r, http.StatusOK, machineView(view))
	return nil
}

func (a area) file(w http.ResponseWriter, r *http.Request) error {
	m, err := a.MachineAt(r)
	if err != nil {
		return err
	}
	return page.Download(w, page.FileName(m.File.Name, ".machine.json"), "application/json", file.Machine(m.File))
}

func (a area) choose(w http.ResponseWriter, r *http.Request) error {
	m, err := a.MachineAt(r)
	if err != nil {
		return err
	}
	page.ChooseMachine(w, m.ID)
	return page.Redirect(w, r, "/")
}

func (a area) remove(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	if err := a.Store.RemoveMachine(r.Context(), id); err != nil {
		return err
	}
	return page.Redirect(w, r, "/machines")
}

// routeWords names a channel's lanes, those after the plate behind a semicolon.
func routeWords(c *wheel.Channel) string {
	words := strings.Join(c.Path, ", ")
	if len(c.Exit) > 0 {
		words += "; " + strings.Join(c.Exit, ", ")
	}
	return words
}
