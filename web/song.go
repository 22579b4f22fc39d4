package web

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/song"
)

// songFacts is a song in a few figures.
type songFacts struct {
	store.Song
	Seconds  float64
	Bars     int
	Notes    int
	Parts    []part
	Tempos   string
	Meters   string
	Warnings []string
}

// part is what one MIDI channel plays in one track.
type part struct {
	Track   string
	Channel uint8
	Drum    bool
	Notes   int
	Low     uint8
	High    uint8
}

type songPage struct {
	frame
	Facts      songFacts
	HasMachine bool
	WheelBars  float64
	Form       setForm
	Result     setResult
}

// setForm is the form as filled in: words, until they are read.
type setForm struct {
	FromBar, Bars, Transpose, Tempo string
	Repeat, Advance                 bool
}

// setResult is what a setting comes to, or why it cannot be done.
type setResult struct {
	Report   *arrange.Report
	Pinning  *wheel.Pinning
	Section  arrange.Section
	Verdict  *timing.Verdict
	Stop     string // what stops it from being faster, in words
	Problems []string
	Stock    int         // pins that the crew has; 0: not said
	Wheel    wheel.Wheel // on which it is set
}

func (s *server) song(w http.ResponseWriter, r *http.Request) error {
	page, _, err := s.songAs(r, readSetForm(r.URL.Query()))
	if err != nil {
		return err
	}
	if r.Header.Get("HX-Request") == "true" {
		s.show(w, r, http.StatusOK, setReport(page))
		return nil
	}
	s.show(w, r, http.StatusOK, songView(page))
	return nil
}

// songAs is the page of a song as a form would set it, and the machine that
// it is set on.
func (s *server) songAs(r *http.Request, form setForm) (songPage, worked, error) {
	id, err := idOf(r)
	if err != nil {
		return songPage{}, worked{}, err
	}
	row, parsed, err := s.parsedSong(r.Context(), id)
	if err != nil {
		return songPage{}, worked{}, err
	}
	page := songPage{frame: s.frame(r, row.Title+", song"), Facts: factsOfSong(row, parsed), Form: form}
	m, ok, err := s.currentWorks(r.Context())
	if err != nil || !ok {
		return page, m, err
	}
	page.HasMachine = true
	page.WheelBars = factsOf(m).Bars
	page.Result = set(m, parsed, form)
	return page, m, nil
}

// setSong keeps the pinning that the form asks for. Where it cannot, it shows
// the form as it was filled in.
func (s *server) setSong(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return brokenOff(err)
	}
	page, m, err := s.songAs(r, readSetForm(r.PostForm))
	if err != nil {
		return err
	}
	if !page.HasMachine {
		return refuse(http.StatusConflict, "There is no machine to set a song on; bring a machine file first.")
	}
	if len(page.Result.Problems) > 0 {
		s.show(w, r, http.StatusUnprocessableEntity, songView(page))
		return nil
	}
	kept, err := s.Store.AddPinning(r.Context(), m.ID, page.Facts.ID, page.Result.Pinning)
	if err != nil {
		return err
	}
	return see(w, r, fmt.Sprintf("/pinnings/%d", kept))
}

// readSetForm takes the form as it was sent. A page that was opened without
// one gets the usual choices.
func readSetForm(v url.Values) setForm {
	f := setForm{
		FromBar: strings.TrimSpace(v.Get("from_bar")), Bars: strings.TrimSpace(v.Get("bars")),
		Transpose: strings.TrimSpace(v.Get("transpose")), Tempo: strings.TrimSpace(v.Get("tempo")),
		Repeat: v.Get("repeat") == "on", Advance: v.Get("advance") == "on",
	}
	if !v.Has("from_bar") {
		f.FromBar, f.Transpose, f.Advance = "1", "auto", true
	}
	return f
}

func (f setForm) request() (arrange.Request, []string) {
	var wrong []string
	whole := func(text, what string) int {
		if text == "" {
			return 0
		}
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > 1e6 {
			wrong = append(wrong, fmt.Sprintf("%s is %q; it should be a whole number from 1.", what, clip(text)))
		}
		return n
	}
	req := arrange.Request{
		FromBar: whole(f.FromBar, "From bar"), Bars: whole(f.Bars, "Number of bars"),
		Repeat: f.Repeat, Advance: f.Advance,
	}
	transpose := f.Transpose
	if transpose == "" {
		transpose = "auto"
	}
	var err error
	if req.Transpose, err = arrange.ParseTranspose(transpose); err != nil {
		wrong = append(wrong, err.Error()+".")
	}
	if f.Tempo != "" {
		if req.TempoBPM, err = readTempo(f.Tempo); err != nil {
			wrong = append(wrong, err.Error())
		}
	}
	return req, wrong
}

func readTempo(text string) (float64, error) {
	bpm, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil || math.IsNaN(bpm) || bpm < 1 || bpm > wheel.MaxTempoBPM {
		return 0, refuse(http.StatusUnprocessableEntity, "The tempo is %q; it should be a number of beats per minute from 1 to %d.", clip(text), wheel.MaxTempoBPM)
	}
	return bpm, nil
}

func clip(text string) string {
	if r := []rune(text); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return text
}

func set(m worked, s *song.Song, form setForm) setResult {
	req, wrong := form.request()
	if len(wrong) > 0 {
		return setResult{Problems: wrong}
	}
	res := setResult{Stock: m.File.Wheel.PinStock, Wheel: m.File.Wheel}
	var err error
	if res.Section, err = arrange.SectionOf(m.File, s, max(req.FromBar, 1), req.Bars); err != nil {
		return setResult{Problems: []string{sentence(err)}}
	}
	if res.Pinning, res.Report, err = arrange.Set(m.Works, s, req); err != nil {
		return setResult{Problems: []string{sentence(err)}}
	}
	turn, err := m.Turn(res.Pinning)
	if err != nil {
		return setResult{Problems: []string{sentence(err)}}
	}
	if res.Verdict, err = turn.Verdict(res.Pinning.TempoBPM); err != nil {
		return setResult{Problems: []string{sentence(err)}}
	}
	res.Stop = stopWords(m.Works, turn)
	return res
}

// sentence makes an error of a package of ours stand as a sentence.
func sentence(err error) string {
	text := err.Error()
	if text == "" {
		return text
	}
	text = strings.ToUpper(text[:1]) + text[1:]
	if !strings.HasSuffix(text, ".") {
		text += "."
	}
	return text
}

func factsOfSong(row store.Song, s *song.Song) songFacts {
	f := songFacts{Song: row, Seconds: s.SecondsAt(float64(s.EndTick)), Bars: len(s.Bars), Notes: len(s.Notes), Warnings: s.Warnings}
	type key struct {
		track   int
		channel uint8
	}
	at := map[key]int{}
	for _, n := range s.Notes {
		k := key{n.Track, n.Channel}
		i, ok := at[k]
		if !ok {
			i = len(f.Parts)
			at[k] = i
			name := s.Tracks[n.Track].Name
			if name == "" {
				name = fmt.Sprintf("Track %d", n.Track+1)
			}
			f.Parts = append(f.Parts, part{Track: name, Channel: n.Channel, Drum: n.Drum(), Low: n.Key, High: n.Key})
		}
		p := &f.Parts[i]
		p.Notes++
		p.Low, p.High = min(p.Low, n.Key), max(p.High, n.Key)
	}
	low, high := math.Inf(1), 0.0
	for _, t := range s.Tempos {
		low, high = min(low, t.BPM()), max(high, t.BPM())
	}
	f.Tempos = bpmWords(low)
	if bpmWords(high) != f.Tempos {
		f.Tempos = fmt.Sprintf("%s to %s", bpmWords(low), bpmWords(high))
	}
	var meters []string
	for i, m := range s.Meters {
		if i == 4 {
			meters = append(meters, "…")
			break
		}
		meters = append(meters, fmt.Sprintf("%d/%d", m.Numerator, m.Denominator))
	}
	f.Meters = strings.Join(meters, ", ")
	return f
}
