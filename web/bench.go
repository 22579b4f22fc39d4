package web

import (
	"context"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/song"
)

// frame is what stands around every page.
type frame struct {
	Title   string
	Here    string // the address of the part of the app it belongs to
	Machine string // the machine that the page is about, or that the crew works on; empty where there is none
	At      int64  // its id
	Version string
}

func (s *server) frame(r *http.Request, title string) frame {
	f := frame{Title: title, Here: "/" + firstPart(r.URL.Path), Version: s.Version}
	if m, err := s.currentMachine(r.Context()); err == nil && m != nil {
		f.Machine, f.At = m.Name, m.ID
	}
	return f
}

func firstPart(path string) string {
	part, _, _ := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	return part
}

// currentMachine is the machine that the crew works on: the chosen one, else
// the first; nil where there is none.
func (s *server) currentMachine(ctx context.Context) (*store.Machine, error) {
	id, err := s.Store.CurrentMachine(ctx)
	if err != nil {
		return nil, err
	}
	if id == 0 {
		rows, err := s.Store.Machines(ctx)
		if err != nil || len(rows) == 0 {
			return nil, err
		}
		id = rows[0].ID
	}
	return s.Store.Machine(ctx, id)
}

// worked is a machine and its mechanics.
type worked struct {
	*store.Machine
	*timing.Works
}

func (s *server) worked(ctx context.Context, id int64) (worked, error) {
	m, err := s.Store.Machine(ctx, id)
	if err != nil {
		return worked{}, err
	}
	w, err := timing.Compile(m.File)
	return worked{m, w}, err
}

// currentWorks is the machine that the crew works on, worked out. ok is false
// where there is none.
func (s *server) currentWorks(ctx context.Context) (m worked, ok bool, err error) {
	file, err := s.currentMachine(ctx)
	if err != nil || file == nil {
		return worked{}, false, err
	}
	w, err := timing.Compile(file.File)
	return worked{file, w}, err == nil, err
}

func (s *server) parsedSong(ctx context.Context, id int64) (store.Song, *song.Song, error) {
	row, err := s.Store.Song(ctx, id)
	if err != nil {
		return row, nil, err
	}
	data, err := s.Store.SongBytes(ctx, id)
	if err != nil {
		return row, nil, err
	}
	songs, err := song.Parse(data, row.FileName)
	if err != nil {
		return row, nil, err
	}
	if row.Track >= len(songs) {
		return row, nil, wheel.Refuse(wheel.ErrInvalid, "The file %s no longer has the song that was kept from it.", row.FileName)
	}
	return row, songs[row.Track], nil
}

func idOf(r *http.Request) (int64, error) {
	text := chi.URLParam(r, "id")
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil || id < 1 || strconv.FormatInt(id, 10) != text {
		return 0, errNoPage
	}
	return id, nil
}

func see(w http.ResponseWriter, r *http.Request, where string) error {
	http.Redirect(w, r, where, http.StatusSeeOther)
	return nil
}
