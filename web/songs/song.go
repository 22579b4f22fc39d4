package songs

import (
	"bytes"
	"fmt"
	"math"
	"net/http"
	"path/filepath"
	"strings"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// songFacts is a song in a few figures.
type songFacts struct {
	store.Song
	Seconds  float64
	Bars     int
	Notes    int
	Parts    int
	Tempos   string
	Meters   string
	LowBPM   float64   // the slowest of its tempos
	Density  []float64 // notes in each bar
	Warnings []string
	Unread   bool // the file cannot be read, and nothing else is known
}

type songPage struct {
	page.Frame
	Facts      songFacts
	HasMachine bool
	WheelBars  float64
	BarBeats   int                 // of a bar of the wheel
	Kinds      []wheel.ChannelKind // of channels that the machine has
	Form       setForm
	Parts      []partRow
	Map        songMap
	Result     setResult
}

func (s *area) song(w http.ResponseWriter, r *http.Request) error {
	form := readSetForm(r.URL.Query())
	form.best = !r.URL.Query().Has("from_bar")
	view, m, parsed, err := s.songAs(r, &form)
	if err != nil {
		return err
	}
	view.Result.explain(r.Context(), m, parsed, &view.Form, songPath(view))
	if page.WantsPart(r) {
		if view.Result.Report != nil {
			w.Header().Set("HX-Replace-Url", page.SongURL(view.Facts.ID)+"?"+view.Form.query().Encode())
		}
		s.Show(w, r, http.StatusOK, newOutcome(view))
		return nil
	}
	s.Show(w, r, http.StatusOK, songView(view))
	return nil
}

// songAs is the page of a song as a form would set it, with the machine that
// it is set on and the song.
func (s *area) songAs(r *http.Request, form *setForm) (songPage, page.Compiled, *song.Song, error) {
	id, err := page.ID(r)
	if err != nil {
		return songPage{}, page.Compiled{}, nil, err
	}
	row, parsed, err := s.ParsedSong(r.Context(), id)
	if err != nil {
		return songPage{}, page.Compiled{}, nil, err
	}
	view := songPage{Frame: s.Frame(r, row.Title).Under(page.Link{Text: "Songs", URL: "/songs"}), Facts: factsOfSong(row, parsed)}
	if form.FromSurvey {
		view.Frame = view.Frame.Under(page.Link{Text: "Survey", URL: "/survey"})
	}
	m, ok, err := s.CurrentCompiled(r.Context())
	if err != nil {
		return view, m, parsed, err
	}
	if ok {
		view.HasMachine = true
		view.WheelBars, view.BarBeats = page.FactsOf(m).Bars, m.File.Wheel.BeatsPerBar
		view.Kinds = arrange.Groups(m.File)
		if form.best {
			form.takeBest(m, parsed)
		}
		view.Result = set(r.Context(), m, parsed, form)
	}
	view.Form, view.Parts = *form, partRows(parsed, form)
	view.Map = mapOf(m, parsed, view.Result.Section)
	return view, m, parsed, nil
}

// addPinning keeps the pinning that the form asks for. Where it cannot, it shows
// the form as it was filled in.
func (s *area) addPinning(w http.ResponseWriter, r *http.Request) error {
	form := readSetForm(r.PostForm)
	view, m, parsed, err := s.songAs(r, &form)
	if err != nil {
		return err
	}
	if !view.HasMachine {
		return wheel.Refuse(wheel.ErrConflict, "There is no machine to set a song on; bring a machine file first.")
	}
	if len(view.Result.Wrong) > 0 || view.Result.SetAside != "" {
		view.Result.explain(r.Context(), m, parsed, &view.Form, songPath(view))
		s.Show(w, r, http.StatusUnprocessableEntity, songView(view))
		return nil
	}
	kept, err := s.Store.AddPinning(r.Context(), m.ID, view.Facts.ID, view.Result.Pinning)
	if err != nil {
		return err
	}
	return page.Redirect(w, r, page.PinningURL(kept))
}

// strikes is what a song sounds like as a form would set it.
func (s *area) strikes(w http.ResponseWriter, r *http.Request) error {
	form := readSetForm(r.URL.Query())
	view, _, _, err := s.songAs(r, &form)
	if err != nil {
		return err
	}
	if !view.HasMachine {
		return wheel.Refuse(wheel.ErrConflict, "There is no machine to hear the song on; bring a machine file first.")
	}
	if len(view.Result.Wrong) > 0 {
		return wheel.Refuse(wheel.ErrInvalid, "%s", strings.Join(view.Result.Problems(), " "))
	}
	return page.AnswerStrikes(w, r, view.Result.Machine, view.Result.Turn, view.Result.Pinning.TempoBPM)
}

func (s *area) file(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	row, err := s.Store.Song(r.Context(), id)
	if err != nil {
		return err
	}
	data, err := s.Store.SongBytes(r.Context(), id)
	if err != nil {
		return err
	}
	return page.Download(w, page.FileName(strings.TrimSuffix(row.FileName, filepath.Ext(row.FileName)), ".mid"), "audio/midi", bytes.NewReader(data))
}

// rename gives the song the title that the form asks for.
func (s *area) rename(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	if err := s.Store.RenameSong(r.Context(), id, r.PostForm.Get("title")); err != nil {
		return err
	}
	return page.Redirect(w, r, page.SongURL(id))
}

func factsOfSong(row store.Song, s *song.Song) songFacts {
	f := songFacts{Song: row, Seconds: s.SecondsAt(float64(s.EndTick)), Bars: len(s.Bars), Notes: len(s.Notes), Parts: len(s.Parts()), Warnings: s.Warnings}
	for _, bar := range arrange.Density(s) {
		f.Density = append(f.Density, float64(bar.Notes))
	}
	low, high := math.Inf(1), 0.0
	for _, t := range s.Tempos {
		low, high = min(low, t.BPM()), max(high, t.BPM())
	}
	f.LowBPM, f.Tempos = low, say.Tempo(low)
	if say.Tempo(high) != f.Tempos {
		f.Tempos = fmt.Sprintf("%s–%s", say.Tempo(low), say.Tempo(high))
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
