package visitors

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// programmeAt is the programme that the path of a request names, in the version
// that the request asks for, or the latest.
func (s *area) programmeAt(r *http.Request) (*store.Programme, error) {
	id, err := page.ID(r)
	if err != nil {
		return nil, err
	}
	version := 0
	if text := r.URL.Query().Get("version"); text != "" {
		if version, err = strconv.Atoi(text); err != nil || version < 1 {
			return nil, wheel.Refuse(wheel.ErrInvalid, "The version asked for is %q; it should be a number from 1.", say.Short(text))
		}
	}
	return s.Store.ProgrammeAt(r.Context(), id, version)
}

// placedSong is a song of a programme with its pinning on the wheel, and the
// tempos at which visitors can turn it.
type placedSong struct {
	programme *store.Programme
	song      programme.Song
	machine   page.Compiled
	turn      *timing.Turn
	window    timing.Window
}

// songAt is the song that the path of a request names, by its place in a
// programme from 1.
func (s *area) songAt(r *http.Request) (at placedSong, err error) {
	id, err := page.ID(r)
	if err != nil {
		return at, err
	}
	p, err := s.Store.Programme(r.Context(), id)
	if err != nil {
		return at, err
	}
	n, err := strconv.Atoi(chi.URLParam(r, "n"))
	if err != nil || n < 1 || n > len(p.Body.Songs) {
		return at, wheel.Refuse(wheel.ErrNotFound, "The programme %s has no song %s; it has %s.", p.Name, say.Short(chi.URLParam(r, "n")), say.Count(len(p.Body.Songs), "song", "songs"))
	}
	at.programme, at.song = p, p.Body.Songs[n-1]
	if p.MachineID == 0 {
		return at, wheel.Refuse(wheel.ErrNotFound, "The machine of this programme, %s, was removed.", p.MachineName)
	}
	if at.machine, err = s.Compiled(r.Context(), p.MachineID); err != nil {
		return at, err
	}
	pinning, err := s.Store.Pinning(r.Context(), at.song.PinningID)
	if err != nil {
		return at, wheel.Refuse(wheel.ErrNotFound, "The pinning %s was removed; put another in its place in the programme %s.", at.song.Title, p.Name)
	}
	at.machine = at.machine.CountedFor(pinning.File)
	if at.turn, err = at.machine.Turn(pinning.File); err != nil {
		return at, err
	}
	visitors, err := s.Store.Visitors(r.Context())
	if err != nil {
		return at, err
	}
	at.window = at.turn.Window(visitors.Margin)
	return at, nil
}
