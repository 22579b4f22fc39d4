package pinnings

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/file"
)

type wheelPage struct {
	page.Frame
	Pinning *store.Pinning
	Facts   page.MachineFacts
	Song    *store.Song        // nil where it is of no song that is kept
	Others  []store.PinningRow // the machine's other pinnings
	Apart   map[int64]string   // of the machine's pinnings, see [page.Namesakes]
	Verdict verdictPanel

	Channels []string // their names
	Lanes    []laneFind
}

// laneFind is a lane that the find box knows.
type laneFind struct {
	ID       string
	Channels string // the ids of those whose marbles go through it, as JSON
}

// lanesOf are the machine's lanes in the order of its file.
func lanesOf(m *wheel.Machine) ([]laneFind, error) {
	through := map[string][]string{}
	for i := range m.Channels {
		c := &m.Channels[i]
		for _, id := range slices.Concat(c.Path, c.Exit) {
			through[id] = append(through[id], c.ID)
		}
	}
	lanes := make([]laneFind, len(m.Lanes))
	for i, l := range m.Lanes {
		text, err := json.Marshal(through[l.ID])
		if err != nil {
			return nil, err
		}
		lanes[i] = laneFind{l.ID, string(text)}
	}
	return lanes, nil
}

// markKind is a kind of mark on the wheel: its word, which the find box knows,
// and its shape, as the path of an SVG in a square of 16 by 16.
type markKind struct{ Word, Shape string }

// missedShape is the shape of a missed drop's mark.
const missedShape = "M2 8A6 6 0 0 1 8 2M14 8A6 6 0 0 1 8 14M6 6l4 4M10 6l-4 4"

// markKinds are those of the rules, and that of drops that are missed.
var markKinds = func() (kinds []markKind) {
	for _, k := range timing.Kinds() {
		kinds = append(kinds, markKind{k.String(), k.Mark()})
	}
	return append(kinds, markKind{"missed", missedShape})
}()

// faceKeys are the keys of the wheel's face; static/js/desk/hands.js listens to them.
var faceKeys = []struct {
	Keys []string
	Does string
}{
	{[]string{"↑", "↓", "←", "→"}, "move a step, or a channel"},
	{[]string{"B", "Shift B"}, "a beat later, a beat earlier"},
	{[]string{"Page Down", "Page Up"}, "a bar later, a bar earlier"},
	{[]string{"Home", "End"}, "first and last step of the turn"},
	{[]string{"Enter"}, "drive the pin at the cursor, or pull it"},
	{[]string{"Shift and a move"}, "select a stretch"},
	{[]string{"W"}, "select the whole channel"},
	{[]string{"M"}, "move the selection: arrows carry it, Enter sets it down, Escape puts it back"},
	{[]string{"C", "L"}, "copy the selection; paste the copy at the cursor, replacing what is there"},
	{[]string{"R"}, "repeat the selection to the end of the turn, replacing what is there"},
	{[]string{"Delete"}, "clear the selection"},
	{[]string{"N", "Shift N"}, "move the whole channel a step later, a step earlier, round the seam"},
	{[]string{"H"}, "hold the aim where it is, or let it follow the pin again"},
	{[]string{"U", "Ctrl Z"}, "undo"},
	{[]string{"Shift U", "Ctrl Y"}, "redo"},
	{[]string{"F"}, "find"},
	{[]string{"+", "−", "0"}, "nearer, farther, the whole turn"},
	{[]string{"Space"}, "turn the wheel and hear it; stop it"},
	{[]string{"Escape"}, "select nothing; go back to the finding that led here"},
}

func (s *area) wheel(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	panel, err := s.judge(r, p, m)
	if err != nil {
		return err
	}
	view := wheelPage{Frame: s.FrameOf(r, p.Title, m.Machine).Under(trail), Pinning: p, Facts: page.FactsOf(m), Verdict: panel}
	for i := range m.File.Channels {
		view.Channels = append(view.Channels, m.File.Channels[i].Name)
	}
	if view.Lanes, err = lanesOf(m.File); err != nil {
		return err
	}
	if p.SongID != 0 {
		if song, err := s.Store.Song(r.Context(), p.SongID); err == nil {
			view.Song = &song
		}
	}
	view.Others, err = s.Store.Pinnings(r.Context(), m.ID)
	if err != nil {
		return err
	}
	view.Apart = page.Namesakes(view.Others)
	view.Others = slices.DeleteFunc(view.Others, func(other store.PinningRow) bool { return other.ID == p.ID })
	s.Show(w, r, http.StatusOK, wheelView(view))
	return nil
}

// renamePinning gives a pinning another title: an edit, which undo takes back.
func (s *area) renamePinning(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	if err := s.Store.RenamePinning(r.Context(), id, strings.TrimSpace(r.PostForm.Get("title"))); err != nil {
		return err
	}
	return s.redirectEdited(w, r, id)
}

// countPinning gives a pinning bars of another number of beats: an edit, which
// undo takes back.
func (s *area) countPinning(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	form := page.Sent(r)
	beats := form.Whole("beats", "the beats in a bar", 1, wheel.MaxBeatsPerBar)
	if err := form.Err(); err != nil {
		return err
	}
	if err := s.Store.CountPinning(r.Context(), id, beats); err != nil {
		return err
	}
	return s.redirectEdited(w, r, id)
}

// replacePinning keeps a file in place of a pinning: an edit, which undo takes
// back.
func (s *area) replacePinning(w http.ResponseWriter, r *http.Request) error {
	old, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	f, p, err := broughtPinning(r)
	if err != nil {
		return err
	}
	if err := p.CheckOn(m.File).Err(); err != nil {
		return page.InFile(f.Name, err)
	}
	if err := s.Store.ReplacePinning(r.Context(), old.ID, old.Revision, p); err != nil {
		return err
	}
	return s.redirectEdited(w, r, old.ID)
}

// redirectEdited ends an edit that was not made on a desk: it tells the open
// pages of the pinning and leads back to its page.
func (s *area) redirectEdited(w http.ResponseWriter, r *http.Request, id int64) error {
	s.Open.PinningChanged(r.Context(), id)
	return page.Redirect(w, r, page.PinningURL(id))
}

func (s *area) removePinning(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	if err := s.Store.RemovePinning(r.Context(), id); err != nil {
		return err
	}
	return page.Redirect(w, r, "/pinnings")
}

func (s *area) pinningFile(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	p, err := s.Store.Pinning(r.Context(), id)
	if err != nil {
		return err
	}
	return page.Download(w, page.FileName(p.Title, ".pinning.json"), "application/json", file.Pinning(p.File))
}

// pinningStrikes is the strikes of a kept pinning.
func (s *area) pinningStrikes(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	turn, err := m.Turn(p.File)
	if err != nil {
		return err
	}
	return page.AnswerStrikes(w, r, m.File, turn, page.TempoOf(p, m))
}
