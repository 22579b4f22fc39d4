package pinnings

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// mostListed is how many findings the page lists; the wheel marks all.
const mostListed = 100

type wheelPage struct {
	page.Frame
	Pinning *store.Pinning
	Facts   page.MachineFacts
	Song    *store.Song        // nil where it is of no song that is kept
	Others  []store.PinningRow // the machine's other pinnings
	Apart   map[int64]string   // of the machine's pinnings, see [namesakes]
	Verdict verdictPanel

	Channels []string // their names
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
	{[]string{"↑", "↓", "←", "→"}, "a step, or a channel, on"},
	{[]string{"B", "Shift B"}, "a beat on, a beat back"},
	{[]string{"Page Down", "Page Up"}, "a bar on, a bar back"},
	{[]string{"Home", "End"}, "first and last step of the turn"},
	{[]string{"Enter"}, "drive the pin at the cursor, or pull it"},
	{[]string{"Shift and a move"}, "select a stretch"},
	{[]string{"W"}, "select the whole channel"},
	{[]string{"M"}, "take up what is selected; the arrows carry it, Enter sets it down, Escape puts it back"},
	{[]string{"C", "L"}, "copy what is selected; lay the copy down at the cursor, in place of what stands there"},
	{[]string{"R"}, "repeat what is selected to the end of the turn, in place of what stands there"},
	{[]string{"Delete"}, "clear what is selected"},
	{[]string{"N", "Shift N"}, "all of the channel a step later, a step earlier, round the seam"},
	{[]string{"H"}, "hold the aim where it is, or let it follow the pin"},
	{[]string{"U", "Ctrl Z"}, "undo"},
	{[]string{"Shift U", "Ctrl Y"}, "redo"},
	{[]string{"F"}, "find"},
	{[]string{"+", "−", "0"}, "nearer, farther, the whole turn"},
	{[]string{"Space"}, "turn the wheel and hear it, or stop it"},
	{[]string{"Escape"}, "select nothing; back to the finding that led here"},
}

// verdictPanel is the verdict as the page tells it.
type verdictPanel struct {
	Pins       int
	TempoBPM   float64
	Findings   []timing.Finding
	Bands      []timing.Band
	MaxSafeBPM *float64 // nil where the lowest tempo is not safe
	FlamMS     float64
	Together   *timing.TempoRange

	works     *timing.Works
	PinningID int64
	Tempo     string // as in the field
	Stop      string // what stops it from being faster, in words
	Counts    []findingCount
	Marks     string // [[kind, channel, [step, …]], …] for the drawing
	More      int    // findings that are not listed
	Limits    wheel.Limits
	Stock     string // how many pins of how many, in words
	PinStock  int    // 0: not counted
	Drops     int    // marbles that a turn takes: pins on channels that play
	Trips     tripCount
}

// tripCount is the most pins that stand on one step, and the first step with
// so many.
type tripCount struct {
	Most, Step int
	Place      string // of the step, in words
}

type findingCount struct {
	Kind  timing.Kind
	Count int
}

// listedFinding is a finding as the page lists it.
type listedFinding struct {
	Kind    timing.Kind
	Channel string // its id
	Step    int
	Text    string
}

// Listed is the findings that the page lists. Of thousands, the sentences are
// what takes its time: only these have one.
func (v verdictPanel) Listed() []listedFinding {
	listed := make([]listedFinding, min(len(v.Findings), mostListed))
	for i, f := range v.Findings[:len(listed)] {
		listed[i] = listedFinding{f.Kind, v.channelID(f.Channel), f.Step, v.works.Sentence(f)}
	}
	return listed
}

// channelID is empty for a finding of a whole step.
func (v verdictPanel) channelID(channel int) string {
	if channel < 0 {
		return ""
	}
	return v.works.Machine.Channels[channel].ID
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
	view := wheelPage{Frame: s.Frame(r, p.Title+", pinning"), Pinning: p, Facts: page.FactsOf(m), Verdict: panel}
	for i := range m.File.Channels {
		view.Channels = append(view.Channels, m.File.Channels[i].Name)
	}
	view.Frame.Machine, view.Frame.At = m.File.Name, m.ID
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

// verdict is the panel alone, for a page that is open.
func (s *area) verdict(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	panel, err := s.judge(r, p, m)
	if err != nil {
		status, lines := s.Explain(r, err)
		s.Show(w, r, status, noVerdict(lines))
		return nil
	}
	s.Show(w, r, http.StatusOK, newVerdict(panel))
	return nil
}

func (s *area) judge(r *http.Request, p *store.Pinning, m page.Compiled) (verdictPanel, error) {
	tempo := page.TempoOf(p, m)
	if asked := r.URL.Query().Get("tempo"); asked != "" {
		var err error
		if tempo, err = page.ReadTempo(asked); err != nil {
			return verdictPanel{}, err
		}
	}
	turn, err := m.Turn(p.File)
	if err != nil {
		return verdictPanel{}, err
	}
	return panelOf(m, turn, turn.Standing(), p.File, p.ID, tempo)
}

// panelOf is the verdict on a turn, which has a pinning's pins on it, at a
// tempo as the page tells it.
func panelOf(m page.Compiled, turn *timing.Turn, stands timing.Standing, file *wheel.Pinning, pinningID int64, tempo float64) (verdictPanel, error) {
	panel := verdictPanel{
		Pins: turn.Pins(), TempoBPM: tempo, Findings: turn.Findings(tempo, nil), Bands: turn.Bands(), FlamMS: turn.Flam(tempo) * 1000,
		works: m.Works, PinningID: pinningID, Tempo: say.Typed(tempo), Stop: m.Works.StandingSentence(stands),
		Limits: m.File.Limits, Stock: stockOnMachine(len(file.Pins), page.FactsOf(m)), PinStock: m.File.Wheel.PinStock,
	}
	panel.More = max(0, len(panel.Findings)-mostListed)
	if bpm, ok := turn.MaxSafe(); ok {
		panel.MaxSafeBPM = &bpm
	}
	if from, to, ok := turn.Together(); ok {
		panel.Together = &timing.TempoRange{FromBPM: from, ToBPM: to}
	}
	panel.Drops, panel.Trips = loadOf(m.File, file)
	counts := map[timing.Kind]int{}
	for _, f := range panel.Findings {
		counts[f.Kind]++
	}
	for _, k := range timing.Kinds() {
		if n := counts[k]; n > 0 {
			panel.Counts = append(panel.Counts, findingCount{k, n})
		}
	}
	text, err := json.Marshal(panel.marks())
	panel.Marks = string(text)
	return panel, err
}

// loadOf counts the marbles that a turn takes and the pins of its fullest step.
func loadOf(m *wheel.Machine, p *wheel.Pinning) (drops int, trips tripCount) {
	rests := make(map[string]bool, len(m.Channels))
	for i := range m.Channels {
		rests[m.Channels[i].ID] = m.Channels[i].Service == wheel.Resting
	}
	on := make([]int, m.Wheel.Steps)
	for _, pin := range p.Pins {
		on[pin.Step]++
		if !rests[pin.Channel] {
			drops++
		}
	}
	for step, n := range on {
		if n > trips.Most {
			trips = tripCount{n, step, m.Wheel.PlaceText(step)}
		}
	}
	return drops, trips
}

// marks gathers the steps at which each kind of finding stands on each
// channel. A finding about two marbles stands at both of their pins.
func (v verdictPanel) marks() [][3]any {
	type row struct {
		kind    timing.Kind
		channel int
	}
	steps := map[row][]int{}
	var rows []row
	mark := func(at row, step int) {
		if steps[at] == nil {
			rows = append(rows, at)
		}
		steps[at] = append(steps[at], step)
	}
	for _, f := range v.Findings {
		mark(row{f.Kind, f.Channel}, f.Step)
		if f.AtBoth() {
			mark(row{f.Kind, f.Other}, f.OtherStep)
		}
	}
	marks := make([][3]any, len(rows))
	for i, r := range rows {
		marks[i] = [3]any{r.kind.String(), v.channelID(r.channel), steps[r]}
	}
	return marks
}

// shownBands is how many bands the page lists.
const shownBands = 6

func bandWords(bands []timing.Band) string {
	var words []string
	for _, b := range bands[:min(len(bands), shownBands)] {
		words = append(words, say.TempoRange(b.From, b.To))
	}
	text := strings.Join(words, ", ") + " BPM"
	if more := len(bands) - shownBands; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// stockOnMachine says how many pins a pinning takes of how many there are.
func stockOnMachine(pins int, m page.MachineFacts) string {
	words := fmt.Sprintf("%s on %s", say.Count(pins, "pin", "pins"), m.Name)
	if m.Wheel.PinStock > 0 {
		words += fmt.Sprintf(", of %d in stock", m.Wheel.PinStock)
	}
	return words
}

func pinsOfStock(v verdictPanel) string {
	if v.PinStock == 0 {
		return fmt.Sprint(v.Pins)
	}
	return fmt.Sprintf("%d of %d", v.Pins, v.PinStock)
}

func tripWords(v verdictPanel) string {
	if most := v.Limits.TripsAtOnce; most > 0 {
		return fmt.Sprintf("%d of %d", v.Trips.Most, most)
	}
	return fmt.Sprint(v.Trips.Most)
}

// wheelData is the wheel's face for the drawing and for work on it: channels by
// row, pins by step.
func (s *area) wheelData(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	type channel struct {
		ID      string `json:"id"`
		Name    string `json:"name"`
		Kind    string `json:"kind"`
		Row     int    `json:"row"`
		Resting bool   `json:"resting"`
		Advance int    `json:"advance"`
		Pins    []int  `json:"pins"`
		// The aims that are given, by step.
		Aims map[int]float64 `json:"aims,omitempty"`
	}
	face := struct {
		Seq          int64     `json:"seq"` // of the last edit in it
		Steps        int       `json:"steps"`
		StepsPerBeat int       `json:"steps_per_beat"`
		BeatsPerBar  int       `json:"beats_per_bar"`
		Channels     []channel `json:"channels"`
	}{p.Seq, m.File.Wheel.Steps, m.File.Wheel.StepsPerBeat, m.File.Wheel.BeatsPerBar, nil}
	pins := map[string][]int{}
	aims := map[string]map[int]float64{}
	for _, pin := range p.File.Pins {
		pins[pin.Channel] = append(pins[pin.Channel], pin.Step)
		if !pin.Aim.Given {
			continue
		}
		if aims[pin.Channel] == nil {
			aims[pin.Channel] = map[int]float64{}
		}
		aims[pin.Channel][pin.Step] = pin.Aim.Step
	}
	for i := range m.File.Channels {
		c := &m.File.Channels[i]
		steps := pins[c.ID]
		slices.Sort(steps)
		if steps == nil {
			steps = []int{}
		}
		face.Channels = append(face.Channels, channel{
			c.ID, say.Steady(c.Name), string(c.Kind), c.Row, c.Service == wheel.Resting, p.File.Advance[c.ID], steps, aims[c.ID],
		})
	}
	slices.SortFunc(face.Channels, func(a, b channel) int { return a.Row - b.Row })
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(face)
}
