package atwheel

import (
	"encoding/json"
	"net/http"
	"slices"
	"strconv"
	"time"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/say"
)

// jobPage is work at the wheel as a page opens on it. Where it stands comes
// from its state, which the page asks for again and again.
type jobPage struct {
	page.Frame
	Facts   page.MachineFacts
	Job     place.Work
	Rows    string    // JSON of jobRows
	Misfit  []string  // what of it the machine as it is now has no holes for
	Reading proofPage // of a proofreading
}

// jobRow is one row of the wheel.
type jobRow struct {
	Row     int    `json:"row"`
	Channel string `json:"channel"`
	Name    string `json:"name"`
}

// jobState is where work at the wheel stands, for its page.
type jobState struct {
	Seq     int64       `json:"seq"`
	Ended   string      `json:"ended"` // empty while it is under way; finished; stopped
	Total   int         `json:"total"` // pulls and drives that were when it began
	Left    int         `json:"left"`
	Stops   []stopState `json:"stops"`
	Touched []int       `json:"touched"` // stops are those of these steps alone, as nothing else has changed; null: all
	Last    *lastDone   `json:"last"`    // the step done last that was not taken back
	Read    []int       `json:"read"`
	Found   []foundHole `json:"found"`
	Problem string      `json:"problem"`
}

// stopState is what is left to do at one step.
type stopState struct {
	Step  int         `json:"step"`
	Place string      `json:"place"`
	Moves []moveState `json:"moves"`
	Stay  []int       `json:"stay"` // indices of rows whose pins stay
}

type moveState struct {
	Row int      `json:"row"` // index in the page's rows
	Do  place.Do `json:"do"`
}

type lastDone struct {
	Tap   string `json:"tap"`
	Step  int    `json:"step"`
	Place string `json:"place"`
}

// foundHole is a hole that is other than it should be.
type foundHole struct {
	Step  int  `json:"step"`
	Row   int  `json:"row"` // index in the page's rows
	There bool `json:"there"`
}

// rowsOf lists a machine's rows, with the index of each channel's in the list.
func rowsOf(m *wheel.Machine) (rows []jobRow, index map[string]int) {
	index = map[string]int{}
	for _, i := range m.ByRow() {
		c := &m.Channels[i]
		index[c.ID] = len(rows)
		rows = append(rows, jobRow{c.Row, c.ID, say.Steady(c.Name)})
	}
	return rows, index
}

// jobAt is the work that the path of a request names, and its machine.
func (s *area) jobAt(r *http.Request) (place.Work, page.Compiled, error) {
	m, err := s.MachineAt(r)
	if err != nil {
		return place.Work{}, m, err
	}
	id, err := page.IDAt(r, "job")
	if err != nil {
		return place.Work{}, m, err
	}
	w, err := s.Store.Work(r.Context(), id)
	if err != nil {
		return w, m, err
	}
	if w.MachineID != m.ID || w.Kind == place.JobSaid {
		return w, m, page.ErrNoPage
	}
	return w, m.CountedFor(w.Target), nil
}

func jobURL(j place.Job) string {
	if j.Kind == place.JobSaid {
		return ""
	}
	return page.JobURL(j.MachineID, j.ID)
}

func endedWord(j place.Job) string {
	switch {
	case j.UnderWay():
		return ""
	case j.Finished:
		return "finished"
	}
	return "stopped"
}

func (s *area) job(w http.ResponseWriter, r *http.Request) error {
	j, m, err := s.jobAt(r)
	if err != nil {
		return err
	}
	title := "Changeover to " + j.Head.Title
	if j.Kind == place.JobPutRight {
		title = "Correct the pins"
	}
	view := jobPage{Frame: frameAt(s.Frame(r, title), m, onWheelLink(m.ID)), Facts: page.FactsOf(m), Job: j}
	rows, _ := rowsOf(m.File)
	text, err := json.Marshal(rows)
	if err != nil {
		return err
	}
	view.Rows = string(text)
	view.Misfit = j.Misfit(m.File)
	if j.Kind == place.JobProof {
		if view.Reading, err = s.proofPage(r.Context(), m, &j); err != nil {
			return err
		}
		view.Frame.Title = "Proofread " + view.Reading.Of
		s.Show(w, r, http.StatusOK, proofView(view))
		return nil
	}
	s.Show(w, r, http.StatusOK, jobView(view))
	return nil
}

// jobState answers where the work stands, or nothing new.
func (s *area) jobState(w http.ResponseWriter, r *http.Request) error {
	after, err := strconv.ParseInt(r.URL.Query().Get("after"), 10, 64)
	if err != nil {
		after = -1
	}
	if after >= 0 {
		id, err := page.ID(r)
		if err != nil {
			return err
		}
		seq, err := s.Store.WorkSeq(r.Context(), id)
		if err != nil {
			return err
		}
		if seq == after {
			w.WriteHeader(http.StatusNoContent)
			return nil
		}
	}
	j, m, err := s.jobAt(r)
	if err != nil {
		return err
	}
	return s.answerState(w, r, m, j, after)
}

// answerState answers where the work stands, to a page that knows how it stood
// after a tap; after −1 it knows nothing.
func (s *area) answerState(w http.ResponseWriter, r *http.Request, m page.Compiled, j place.Work, after int64) error {
	state := stateOfJob(m.File, j)
	if after >= 0 && after <= j.Seq {
		steps, ok, err := s.Store.Touched(r.Context(), m.ID, after, j.Seq)
		if err != nil {
			return err
		}
		if ok {
			state.keep(steps)
		}
	}
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(state)
}

func stateOfJob(m *wheel.Machine, j place.Work) jobState {
	state := jobState{Seq: j.Seq, Ended: endedWord(j.Job), Total: j.Moves, Stops: []stopState{}, Read: append([]int{}, j.Read...), Found: []foundHole{}}
	if j.Last != "" && j.Latest {
		state.Last = &lastDone{j.Last, j.LastStep, m.Wheel.PlaceText(j.LastStep)}
	}
	_, index := rowsOf(m)
	for _, c := range j.Found {
		if row, ok := index[c.Channel]; ok {
			state.Found = append(state.Found, foundHole{c.Step, row, c.Now.Pin})
		}
	}
	stops, err := j.StopsLeft(m)
	if err != nil {
		state.Problem = "The machine was changed since this was begun. " + say.Sentence(err)
		return state
	}
	for _, stop := range stops {
		s := stopState{Step: stop.Step, Place: m.Wheel.PlaceText(stop.Step), Stay: []int{}}
		for _, move := range stop.Moves {
			s.Moves = append(s.Moves, moveState{index[move.Channel], move.Do})
		}
		for _, channel := range stop.Stay {
			s.Stay = append(s.Stay, index[channel])
		}
		state.Left += len(stop.Moves)
		state.Stops = append(state.Stops, s)
	}
	return state
}

// keep leaves the stops of some steps, which are in order.
func (state *jobState) keep(steps []int) {
	state.Touched = append([]int{}, steps...)
	state.Stops = slices.DeleteFunc(state.Stops, func(s stopState) bool {
		_, among := slices.BinarySearch(steps, s.Step)
		return !among
	})
}

// tapRequest is a tap as a page sends it.
type tapRequest struct {
	ID       string            `json:"id"`
	Do       place.TapKind     `json:"do"`
	Step     int               `json:"step"`
	Channels []string          `json:"channels"`
	Channel  string            `json:"channel"`
	There    bool              `json:"there"`
	Of       string            `json:"of"`
	Trouble  place.TroubleKind `json:"trouble"`
	Note     string            `json:"note"`
	AgoMS    int64             `json:"ago_ms"` // how long ago it was made
	After    int64             `json:"after"`  // the last tap of which the page knows; −1: of none
}

// tap keeps what someone at the wheel says, and answers where the work stands.
func (s *area) tap(w http.ResponseWriter, r *http.Request) error {
	j, m, err := s.jobAt(r)
	if err != nil {
		return err
	}
	var sent tapRequest
	if err := page.DecodeJSON(r.Body, &sent); err != nil {
		return err
	}
	const longestMS = int64(30 * 24 * time.Hour / time.Millisecond)
	j, err = s.Store.Tap(r.Context(), j.ID, place.Tap{
		ID: sent.ID, Kind: sent.Do, Step: sent.Step, Channels: sent.Channels, Channel: sent.Channel, There: sent.There,
		Of: sent.Of, Trouble: sent.Trouble, Note: sent.Note, Ago: time.Duration(min(max(sent.AgoMS, 0), longestMS)) * time.Millisecond,
	})
	if err != nil {
		return err
	}
	return s.answerState(w, r, m, j, sent.After)
}

func (s *area) stopJob(w http.ResponseWriter, r *http.Request) error {
	j, _, err := s.jobAt(r)
	if err != nil {
		return err
	}
	if err := s.Store.StopJob(r.Context(), j.ID); err != nil {
		return err
	}
	return page.Redirect(w, r, jobURL(j.Job)+"#result")
}

func (s *area) resumeJob(w http.ResponseWriter, r *http.Request) error {
	j, _, err := s.jobAt(r)
	if err != nil {
		return err
	}
	if err := s.Store.ResumeJob(r.Context(), j.ID); err != nil {
		return err
	}
	return page.Redirect(w, r, jobURL(j.Job))
}
