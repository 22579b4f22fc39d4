package songs

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

const (
	surveyFiles = 100              // MIDI files that one form may bring
	surveyLimit = 45 * time.Second // for judging them, well within the minute that an answer may take
)

type surveyPage struct {
	page.Frame
	HasMachine bool
	Revision   int    // of the machine
	Tempo      string // as it was typed
	Problems   []string
	Found      surveyFound
}

// surveyFound is what the files of one form come to.
type surveyFound struct {
	Files      int // that are MIDI files by their names
	Others     int // that are not
	Songs      []surveyLine
	Unreadable []arrange.Unreadable
	Whole      bool // a page of its own; else a part of one that ranks and keeps songs itself
}

// surveyLine is a song as judged.
type surveyLine struct {
	suits
	Part int   // which file of the form it came in, from 0
	Kept int64 // its id among the songs; 0 where it is not one of them

	asked string // the tempo asked for; empty for each song's own
}

// choice is the query of a song's page with the stretch set as it was judged.
func (l surveyLine) choice() string {
	f := setForm{
		FromBar: strconv.Itoa(l.FromBar), Bars: strconv.Itoa(l.Bars), Transpose: strconv.Itoa(l.Transpose), Tempo: l.asked,
		Advance: true, Ease: l.EasedNotes+l.LeftOut > 0 || l.KeepBelowBPM == nil || *l.KeepBelowBPM < l.TempoBPM, FromSurvey: true,
	}
	return "?" + f.query().Encode()
}

func (s *area) survey(w http.ResponseWriter, r *http.Request) error {
	view := surveyPage{Frame: s.Frame(r, "Survey")}
	m, err := s.CurrentMachine(r.Context())
	if err != nil {
		return err
	}
	if m != nil {
		view.HasMachine, view.Revision = true, m.Revision
	}
	s.Show(w, r, http.StatusOK, surveyView(view))
	return nil
}

// judge answers with the page, or with its results alone where the page
// brings the files of a folder in several forms.
func (s *area) judge(w http.ResponseWriter, r *http.Request) error {
	form, err := readSurveyForm(r)
	if err != nil {
		return err
	}
	m, err := s.surveyMachine(r.Context(), form.machine)
	if err != nil {
		return err
	}
	part := page.WantsPart(r)
	view := surveyPage{Frame: s.Frame(r, "Survey"), HasMachine: true, Revision: m.Revision, Tempo: form.tempo}
	view.Frame.Machine, view.Frame.At = m.File.Name, m.ID
	status := http.StatusOK
	view.Found, err = s.judged(r.Context(), m.Works, form, surveyLimit)
	if refused := new(wheel.Error); !part && errors.As(err, &refused) {
		status, view.Problems = s.Explain(r, err)
	} else if err != nil {
		return err
	}
	view.Found.Whole = !part
	if part {
		s.Show(w, r, status, surveyResults(view.Found))
		return nil
	}
	s.Show(w, r, status, surveyView(view))
	return nil
}

// surveyMachine is the machine that a form names by its id, or the one that the
// crew works on.
func (s *area) surveyMachine(ctx context.Context, named string) (page.Compiled, error) {
	if named != "" {
		id, err := strconv.ParseInt(named, 10, 64)
		if err != nil || id < 1 {
			return page.Compiled{}, wheel.Refuse(wheel.ErrInvalid, "The machine is %q; it should be the number of one that is here.", say.Short(named))
		}
		return s.Compiled(ctx, id)
	}
	m, ok, err := s.CurrentCompiled(ctx)
	if err == nil && !ok {
		err = wheel.Refuse(wheel.ErrConflict, "There is no machine to judge songs for; bring a machine file first.")
	}
	return m, err
}

// judged judges the songs of a form within a time limit.
func (s *area) judged(ctx context.Context, works *timing.Works, form surveyForm, limit time.Duration) (surveyFound, error) {
	found := surveyFound{Files: form.count, Others: form.others}
	var o arrange.SurveyOptions
	var err error
	if form.tempo != "" {
		if o.TempoBPM, err = page.ReadTempo(form.tempo); err != nil {
			return found, err
		}
	}
	switch {
	case form.count > surveyFiles:
		return found, wheel.Refuse(wheel.ErrTooLarge, "There are %d MIDI files in what was sent; at most %d are judged at once. Send the folder in parts.", form.count, surveyFiles)
	case form.count == 0 && form.others == 0:
		return found, wheel.Refuse(wheel.ErrInvalid, "No file was chosen; choose a folder or files and send them again.")
	case form.count == 0:
		return found, wheel.Refuse(wheel.ErrInvalid, "There is no MIDI file in what was sent (%s); their names end in %s.", say.Count(form.others, "other file", "other files"), endingWords())
	}
	sources := make([]arrange.Source, len(form.files))
	parts := map[string]int{}
	for i, f := range form.files {
		parts[f.Name] = i
		sources[i] = arrange.Source{Name: f.Name, Read: func() ([]byte, error) { return bytesOf(f) }}
	}
	ctx, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	songs, unreadable, err := arrange.Survey(ctx, works, sources, o)
	if errors.Is(err, context.DeadlineExceeded) {
		return found, wheel.Refuse(wheel.ErrTooLarge, "Judging %s takes longer than %d seconds; send fewer at once.", say.Count(len(form.files), "file", "files"), int(surveyLimit.Seconds()))
	}
	if err != nil {
		return found, err
	}
	kept, err := s.keptSongs(ctx)
	if err != nil {
		return found, err
	}
	found.Unreadable = unreadable
	for _, j := range songs {
		part := parts[j.File]
		line := surveyLine{suits{Judgement: j}, part, kept[keptSong{sha256.Sum256(form.files[part].Data), j.Number - 1}], form.tempo}
		if line.Strip, err = stripOf(works, &line.Judgement); err != nil {
			return found, err
		}
		found.Songs = append(found.Songs, line)
	}
	return found, nil
}

// keptSong tells a song by its file's content and its place in it.
type keptSong struct {
	sum   [sha256.Size]byte
	track int
}

func (s *area) keptSongs(ctx context.Context) (map[keptSong]int64, error) {
	rows, err := s.Store.Songs(ctx)
	kept := make(map[keptSong]int64, len(rows))
	for _, row := range rows {
		kept[keptSong{row.SHA256, row.Track}] = row.ID
	}
	return kept, err
}

// bytesOf is the file's content, if a song may have so much.
func bytesOf(f page.Upload) ([]byte, error) {
	if len(f.Data) > song.MaxBytes {
		return nil, errors.New(tooLargeWords())
	}
	return f.Data, nil
}

func tooLargeWords() string {
	return fmt.Sprintf("it is larger than %s MiB; that is the most that is read", page.Megabytes(song.MaxBytes))
}

func endingWords() string {
	last := len(song.Endings) - 1
	return strings.Join(song.Endings[:last], ", ") + " or " + song.Endings[last]
}

// fullFigure is a number with every digit it has.
func fullFigure(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// barsWords names a stretch by its bars.
func barsWords(from, bars int) string {
	if bars == 1 {
		return strconv.Itoa(from)
	}
	return fmt.Sprintf("%d–%d", from, from+bars-1)
}

// words say how many files came to what.
func (f surveyFound) words() string {
	words := fmt.Sprintf("%s read: %s ranked", say.Count(f.Files, "file", "files"), say.Count(len(f.Songs), "song", "songs"))
	if n := len(f.Unreadable); n > 0 {
		words += fmt.Sprintf(", %d not judged", n)
	}
	if f.Others > 0 {
		words += ", " + say.Count(f.Others, "file that is no MIDI file", "files that are no MIDI files")
	}
	return words + "."
}
