package web

import (
	"fmt"
	"math"
	"net/http"
	"strings"

	"pinwright/store"
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
	Warnings []string
}

type songPage struct {
	frame
	Facts      songFacts
	HasMachine bool
	WheelBars  float64
	Kinds      []wheel.ChannelKind // of channels that the machine has
	Form       setForm
	Parts      []partRow
	Map        songMap
	Result     setResult
}

func (s *server) song(w http.ResponseWriter, r *http.Request) error {
	form := readSetForm(r.URL.Query())
	page, m, parsed, err := s.songAs(r, &form)
	if err != nil {
		return err
	}
	page.Result.explain(r.Context(), m, parsed, &page.Form, songPath(page))
	if r.Header.Get("HX-Request") == "true" {
		if page.Result.Report != nil {
			w.Header().Set("HX-Replace-Url", fmt.Sprintf("/songs/%d?%s", page.Facts.ID, page.Form.query().Encode()))
		}
		s.show(w, r, http.StatusOK, newOutcome(page))
		return nil
	}
	s.show(w, r, http.StatusOK, songView(page))
	return nil
}

// songAs is the page of a song as a form would set it, with the machine that
// it is set on and the song.
func (s *server) songAs(r *http.Request, form *setForm) (songPage, worked, *song.Song, error) {
	id, err := idOf(r)
	if err != nil {
		return songPage{}, worked{}, nil, err
	}
	row, parsed, err := s.parsedSong(r.Context(), id)
	if err != nil {
		return songPage{}, worked{}, nil, err
	}
	page := songPage{frame: s.frame(r, row.Title+", song"), Facts: factsOfSong(row, parsed)}
	m, ok, err := s.currentWorks(r.Context())
	if err != nil {
		return page, m, parsed, err
	}
	if ok {
		page.HasMachine = true
		page.WheelBars = factsOf(m).Bars
		page.Kinds = arrange.Groups(m.File)
		page.Result = set(r.Context(), m, parsed, form)
	}
	page.Form, page.Parts = *form, partRows(parsed, form)
	page.Map = mapOf(m, parsed, page.Result.Section)
	return page, m, parsed, nil
}

// setSong keeps the pinning that the form asks for. Where it cannot, it shows
// the form as it was filled in.
func (s *server) setSong(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return brokenOff(err)
	}
	form := readSetForm(r.PostForm)
	page, m, parsed, err := s.songAs(r, &form)
	if err != nil {
		return err
	}
	if !page.HasMachine {
		return wheel.Refuse(wheel.ErrConflict, "There is no machine to set a song on; bring a machine file first.")
	}
	if len(page.Result.Wrong) > 0 || page.Result.SetAside != "" {
		page.Result.explain(r.Context(), m, parsed, &page.Form, songPath(page))
		s.show(w, r, http.StatusUnprocessableEntity, songView(page))
		return nil
	}
	kept, err := s.Store.AddPinning(r.Context(), m.ID, page.Facts.ID, page.Result.Pinning)
	if err != nil {
		return err
	}
	return see(w, r, fmt.Sprintf("/pinnings/%d", kept))
}

// songStrikes is what a song sounds like as a form would set it.
func (s *server) songStrikes(w http.ResponseWriter, r *http.Request) error {
	form := readSetForm(r.URL.Query())
	page, m, _, err := s.songAs(r, &form)
	if err != nil {
		return err
	}
	if !page.HasMachine {
		return wheel.Refuse(wheel.ErrConflict, "There is no machine to hear the song on; bring a machine file first.")
	}
	if len(page.Result.Wrong) > 0 {
		return wheel.Refuse(wheel.ErrInvalid, "%s", strings.Join(page.Result.Problems(), " "))
	}
	return answerStrikes(w, r, m.File, page.Result.Turn, page.Result.Pinning.TempoBPM)
}

func readTempo(text string) (float64, error) {
	bpm, err := readNumber(text)
	if err != nil || math.IsNaN(bpm) || bpm < 1 || bpm > wheel.MaxTempoBPM {
		return 0, wheel.Refuse(wheel.ErrInvalid, "The tempo is %q; it should be a number of beats per minute from 1 to %d.", say.Short(text), wheel.MaxTempoBPM)
	}
	return bpm, nil
}

func factsOfSong(row store.Song, s *song.Song) songFacts {
	f := songFacts{Song: row, Seconds: s.SecondsAt(float64(s.EndTick)), Bars: len(s.Bars), Notes: len(s.Notes), Parts: len(s.Parts()), Warnings: s.Warnings}
	low, high := math.Inf(1), 0.0
	for _, t := range s.Tempos {
		low, high = min(low, t.BPM()), max(high, t.BPM())
	}
	f.Tempos = say.Tempo(low)
	if say.Tempo(high) != f.Tempos {
		f.Tempos = fmt.Sprintf("%s to %s", say.Tempo(low), say.Tempo(high))
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
