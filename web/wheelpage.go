package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel"
)

// shownFindings is how many findings the page lists; the wheel marks all.
const shownFindings = 100

type wheelPage struct {
	frame
	Pinning *store.Pinning
	Facts   machineFacts
	Song    *store.Song // nil where it is of no song that is kept
	Verdict verdictPanel
}

// verdictPanel is the verdict as the page tells it.
type verdictPanel struct {
	*timing.Verdict
	PinningID int64
	Tempo     string // as in the field
	Stop      string // what stops it from being faster, in words
	Counts    []findingCount
	Marks     string // [[kind, channel, [step, …]], …] for the drawing
	More      int    // findings that are not listed
	Names     map[timing.Ref]string
	Limits    wheel.Limits
}

type findingCount struct {
	Kind  string
	Count int
}

// Listed is the findings that the page lists.
func (v verdictPanel) Listed() []timing.VerdictFinding {
	return v.Findings[:min(len(v.Findings), shownFindings)]
}

func (s *server) wheel(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.askedPinning(r)
	if err != nil {
		return err
	}
	panel, err := s.judge(r, p, m)
	if err != nil {
		return err
	}
	page := wheelPage{frame: s.frame(r, p.Title+", pinning"), Pinning: p, Facts: factsOf(m), Verdict: panel}
	page.frame.Machine, page.frame.At = m.File.Name, m.ID
	if p.SongID != 0 {
		if song, err := s.Store.Song(r.Context(), p.SongID); err == nil {
			page.Song = &song
		}
	}
	s.show(w, r, http.StatusOK, wheelView(page))
	return nil
}

// verdict is the panel alone, for a page that is open.
func (s *server) verdict(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.askedPinning(r)
	if err != nil {
		return err
	}
	panel, err := s.judge(r, p, m)
	if err != nil {
		status, lines := s.explain(r, err)
		s.show(w, r, status, noVerdict(lines))
		return nil
	}
	s.show(w, r, http.StatusOK, newVerdict(panel))
	return nil
}

func (s *server) askedPinning(r *http.Request) (*store.Pinning, worked, error) {
	id, err := idOf(r)
	if err != nil {
		return nil, worked{}, err
	}
	p, err := s.Store.Pinning(r.Context(), id)
	if err != nil {
		return nil, worked{}, err
	}
	m, err := s.worked(r.Context(), p.MachineID)
	return p, m, err
}

func (s *server) judge(r *http.Request, p *store.Pinning, m worked) (verdictPanel, error) {
	tempo := tempoOf(p, m)
	if asked := r.URL.Query().Get("tempo"); asked != "" {
		var err error
		if tempo, err = readTempo(asked); err != nil {
			return verdictPanel{}, err
		}
	}
	turn, err := m.Turn(p.File)
	if err != nil {
		return verdictPanel{}, err
	}
	v, err := turn.Verdict(tempo)
	if err != nil {
		return verdictPanel{}, err
	}
	panel := verdictPanel{
		Verdict: v, PinningID: p.ID, Tempo: strconv.FormatFloat(tempo, 'f', -1, 64),
		Stop: stopWords(m.Works, turn), More: max(0, len(v.Findings)-shownFindings),
		Names: channelNames(m.File), Limits: m.File.Limits,
	}
	counts := map[string]int{}
	for _, f := range v.Findings {
		counts[f.Kind.String()]++
	}
	for k := timing.Crowded; k <= timing.Silent; k++ {
		if n := counts[k.String()]; n > 0 {
			panel.Counts = append(panel.Counts, findingCount{k.String(), n})
		}
	}
	text, err := json.Marshal(marksOf(v.Findings))
	panel.Marks = string(text)
	return panel, err
}

// marksOf gathers the steps at which each kind of finding stands on each
// channel. A meeting stands at both of its pins.
func marksOf(findings []timing.VerdictFinding) [][3]any {
	type row struct {
		kind    timing.Kind
		channel timing.Ref
	}
	steps := map[row][]int{}
	var rows []row
	mark := func(at row, step int) {
		if steps[at] == nil {
			rows = append(rows, at)
		}
		steps[at] = append(steps[at], step)
	}
	for _, f := range findings {
		mark(row{f.Kind, f.Channel}, f.Step)
		if f.Kind == timing.Meeting {
			mark(row{f.Kind, f.OtherChannel}, *f.OtherStep)
		}
	}
	marks := make([][3]any, len(rows))
	for i, r := range rows {
		marks[i] = [3]any{r.kind.String(), r.channel, steps[r]}
	}
	return marks
}

// shownBands is how many bands the page lists.
const shownBands = 6

func bandWords(bands []timing.VerdictBand) string {
	var words []string
	for _, b := range bands[:min(len(bands), shownBands)] {
		words = append(words, fmt.Sprintf("%s to %s", bpmWords(b.FromBPM), safeBPM(b.ToBPM)))
	}
	text := strings.Join(words, ", ") + " BPM"
	if more := len(bands) - shownBands; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// stockWords says how many pins a pinning takes of how many there are.
func stockWords(pins int, m machineFacts) string {
	words := fmt.Sprintf("%s on %s", counted(pins, "pin", "pins"), m.Name)
	if m.Wheel.PinStock > 0 {
		words += fmt.Sprintf(", of %d in stock", m.Wheel.PinStock)
	}
	return words
}

// stopWords says what stops a pinning from being played faster than its
// highest safe tempo, or what breaks at the slowest.
func stopWords(w *timing.Works, turn *timing.Turn) string {
	bands := turn.Bands()
	lowest := w.Machine.Limits.TempoMinBPM
	if len(bands) == 0 || bands[0].From != lowest {
		if found := turn.Findings(lowest, nil); len(found) > 0 {
			return w.Sentence(found[0])
		}
		return "No tempo in the machine's range is safe."
	}
	stop := bands[0].StoppedBy
	if stop == nil {
		return fmt.Sprintf("Nothing up to %s BPM, the machine's own limit.", wheel.Number(w.Machine.Limits.TempoMaxBPM))
	}
	if f, ok := turn.Where(*stop, bands[0].To); ok {
		return w.LimitSentence(f)
	}
	return stop.Kind.String()
}

func channelNames(m *wheel.Machine) map[timing.Ref]string {
	names := make(map[timing.Ref]string, len(m.Channels))
	for i := range m.Channels {
		names[timing.Ref(m.Channels[i].ID)] = m.Channels[i].Name
	}
	return names
}

// wheelData is the wheel's face for the drawing: channels by row, pins by
// step.
func (s *server) wheelData(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.askedPinning(r)
	if err != nil {
		return err
	}
	type channel struct {
		ID      string `json:"id"`
		Name    string `json:"name"`
		Kind    string `json:"kind"`
		Row     int    `json:"row"`
		Resting bool   `json:"resting"`
		Pins    []int  `json:"pins"`
	}
	face := struct {
		Steps        int       `json:"steps"`
		StepsPerBeat int       `json:"steps_per_beat"`
		BeatsPerBar  int       `json:"beats_per_bar"`
		Channels     []channel `json:"channels"`
	}{m.File.Wheel.Steps, m.File.Wheel.StepsPerBeat, m.File.Wheel.BeatsPerBar, nil}
	pins := map[string][]int{}
	for _, pin := range p.File.Pins {
		pins[pin.Channel] = append(pins[pin.Channel], pin.Step)
	}
	for i := range m.File.Channels {
		c := &m.File.Channels[i]
		steps := pins[c.ID]
		slices.Sort(steps)
		if steps == nil {
			steps = []int{}
		}
		face.Channels = append(face.Channels, channel{c.ID, steady(c.Name), string(c.Kind), c.Row, c.Service == wheel.Resting, steps})
	}
	slices.SortFunc(face.Channels, func(a, b channel) int { return a.Row - b.Row })
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(face)
}
