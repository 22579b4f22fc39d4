package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"

	"pinwright/store"
	"pinwright/wheel/song"
)

type songsPage struct {
	frame
	Songs []store.Song
	Added []store.AddedSong
}

func (s *server) songs(w http.ResponseWriter, r *http.Request) error {
	rows, err := s.Store.Songs(r.Context())
	if err != nil {
		return err
	}
	s.show(w, r, http.StatusOK, songsView(songsPage{frame: s.frame(r, "Songs"), Songs: rows}))
	return nil
}

// addSongs keeps every file that can be read, and says of each other why not.
func (s *server) addSongs(w http.ResponseWriter, r *http.Request) error {
	files, err := uploads(r, "file", song.MaxBytes)
	if err != nil {
		return err
	}
	var added []store.AddedSong
	var refused []string
	status := http.StatusUnprocessableEntity
	for _, f := range files {
		songs, err := s.Store.AddSongs(r.Context(), f.Name, f.Data)
		if err != nil {
			code, lines := s.explain(r, err)
			status = code
			refused = append(refused, strings.Join(lines, " "))
			continue
		}
		added = append(added, songs...)
	}
	if len(refused) > 0 {
		for _, a := range added {
			refused = append(refused, fmt.Sprintf("%s was added.", a.Title))
		}
		s.show(w, r, status, errorPage(s.frame(r, "Not every file could be added"), refused))
		return nil
	}
	if len(added) == 1 {
		return see(w, r, fmt.Sprintf("/songs/%d", added[0].ID))
	}
	return see(w, r, "/songs")
}

func (s *server) songFile(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
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
	return takeAway(w, fileName(strings.TrimSuffix(row.FileName, ".mid"), ".mid"), "audio/midi", bytes.NewReader(data))
}

func (s *server) removeSong(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := s.Store.RemoveSong(r.Context(), id); err != nil {
		return err
	}
	return see(w, r, "/songs")
}
