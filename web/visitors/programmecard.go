package visitors

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/place/cards"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// programmeCard is the crank card of one song of a programme, counted from 1.
func (s *area) programmeCard(w http.ResponseWriter, r *http.Request) error {
	p, song, m, turn, err := s.askedSong(r)
	if err != nil {
		return err
	}
	paper, err := cards.ParsePaper(r.URL.Query().Get("paper"))
	if err != nil {
		return wheel.Refuse(wheel.ErrInvalid, "%s", say.Sentence(err))
	}
	redLine, _ := turn.MaxSafe()
	card, err := cards.CrankCard(m.File, cards.Options{
		Paper: paper, Song: song.Title, TempoBPM: song.TempoBPM, RedLineBPM: redLine, Call: p.Body.Call, Date: s.Now(),
	})
	if err != nil {
		return wheel.Refuse(wheel.ErrInvalid, "%s", say.Sentence(err))
	}
	return page.DownloadSheet(w, page.FileName(song.Title, ".crank-card-"+string(paper)+".pdf"), "application/pdf", card.WritePDF)
}

// askedSong is a song of a programme, by its place from 1, with its pinning on
// the wheel.
func (s *area) askedSong(r *http.Request) (*store.Programme, programme.Song, page.Compiled, *timing.Turn, error) {
	fail := func(err error) (*store.Programme, programme.Song, page.Compiled, *timing.Turn, error) {
		return nil, programme.Song{}, page.Compiled{}, nil, err
	}
	id, err := page.ID(r)
	if err != nil {
		return fail(err)
	}
	p, err := s.Store.Programme(r.Context(), id)
	if err != nil {
		return fail(err)
	}
	n, err := strconv.Atoi(chi.URLParam(r, "n"))
	if err != nil || n < 1 || n > len(p.Body.Songs) {
		return fail(wheel.Refuse(wheel.ErrNotFound, "The programme %s has no song %s; it has %s.", p.Name, say.Short(chi.URLParam(r, "n")), say.Count(len(p.Body.Songs), "song", "songs")))
	}
	song := p.Body.Songs[n-1]
	if p.MachineID == 0 {
		return fail(wheel.Refuse(wheel.ErrNotFound, "The machine of this programme, %s, was removed.", p.MachineName))
	}
	m, err := s.Compiled(r.Context(), p.MachineID)
	if err != nil {
		return fail(err)
	}
	pinning, err := s.Store.Pinning(r.Context(), song.PinningID)
	if err != nil {
		return fail(wheel.Refuse(wheel.ErrNotFound, "The pinning %s was removed; put another in its place in the programme %s.", song.Title, p.Name))
	}
	turn, err := m.Turn(pinning.File)
	if err != nil {
		return fail(err)
	}
	return p, song, m, turn, nil
}
