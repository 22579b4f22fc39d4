package machines

import (
	"net/http"

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
	r.Post("/machines/{id}/house", kit.Form(a.setHouse))
	r.Post("/machines/{id}/house/remove", kit.Form(a.removeHouse))
}

type listPage struct {
	page.Frame
	Machines []machineLine
}

// machineLine is a machine as a line of the list.
type machineLine struct {
	store.MachineRow
	InUse   bool           // in this browser
	File    *wheel.Machine // nil where it cannot be read
	Unknown int            // figures
}

func (a area) list(w http.ResponseWriter, r *http.Request) error {
	rows, err := a.Store.Machines(r.Context())
	if err != nil {
		return err
	}
	view := listPage{Frame: a.Frame(r, "Machines")}
	for _, row := range rows {
		line := machineLine{MachineRow: row, InUse: row.ID == view.At}
		// A file that this version cannot read keeps no machine from the list.
		if m, err := a.Store.Machine(r.Context(), row.ID); err == nil {
			line.File, line.Unknown = m.File, len(m.File.Unknown(wheel.AllChannels))
		}
		view.Machines = append(view.Machines, line)
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
	Warnings []page.Warning
	Measure  []page.Link // the figures that are unknown
	Known    [wheel.Bases]int
	Whole    []figureLine // figures of the machine as a whole
	House    houseForm
	File     *wheel.Machine
	Changes  []wheel.MachineChange
	shown
}

// remark is a note in the machine file, on a channel or a lane.
type remark struct{ On, Says string }

func (a area) machine(w http.ResponseWriter, r *http.Request) error {
	m, err := a.MachineAt(r)
	if err != nil {
		return err
	}
	return a.showMachine(w, r, http.StatusOK, m, houseFormOf(m.File.Limits))
}

func (a area) showMachine(w http.ResponseWriter, r *http.Request, status int, m page.Compiled, house houseForm) (err error) {
	grounds := m.File.Grounds()
	view := machinePage{
		Frame: a.Frame(r, m.File.Name).Under(page.Link{Text: "Machines", URL: "/machines"}),
		Facts: page.FactsOf(m), Pinnings: m.Machine.Pinnings, Revision: m.Machine.Revision,
		Channels: channelLines(m, grounds), Lanes: laneLines(m, grounds), Notes: notesOf(m.File),
		Warnings: warningsOf(m), Measure: page.ToMeasure(m, grounds, func(string) bool { return true }), Known: wheel.CountBases(grounds.All()), Whole: linesOf(grounds.Machine, 0),
		House: house, File: m.File,
	}
	view.Current = view.Frame.At == m.ID
	if view.shown, err = show(m, grounds, r.URL.Query().Get("channel")); err != nil {
		return err
	}
	if view.Troubles, err = a.TroubleLines(r.Context(), m); err != nil {
		return err
	}
	if view.Changes, err = a.Store.MachineChanges(r.Context(), m.ID); err != nil {
		return err
	}
	a.Show(w, r, status, machineView(view))
	return nil
}

// notesOf are the notes of a machine's file on its channels and lanes.
func notesOf(m *wheel.Machine) (notes []remark) {
	for i := range m.Channels {
		if c := &m.Channels[i]; c.Note != "" {
			notes = append(notes, remark{c.Name, c.Note})
		}
	}
	for _, l := range m.Lanes {
		if l.Note != "" {
			notes = append(notes, remark{l.ID, l.Note})
		}
	}
	return notes
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
