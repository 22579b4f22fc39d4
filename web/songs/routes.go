// Package songs serves the pages of songs: those that are kept, one song and how
// it is set, and the survey of a folder.
package songs

import (
	"github.com/go-chi/chi/v5"

	"pinwright/web/page"
)

// area is what the handlers here share.
type area struct {
	*page.Kit
}

// Routes adds the addresses of this area.
func Routes(r chi.Router, kit *page.Kit) {
	s := &area{kit}
	r.Get("/songs", s.Page(s.songs))
	r.Post("/songs", s.Page(s.addSongs))
	r.Get("/songs/{id}", s.Page(s.song))
	r.Get("/songs/{id}/strikes", s.Data(s.songStrikes))
	r.Get("/songs/{id}/file", s.Page(s.songFile))
	r.Post("/songs/{id}/pinnings", s.Form(s.setSong))
	r.Post("/songs/{id}/remove", s.Form(s.removeSong))
	r.Get("/survey", s.Page(s.survey))
	r.Post("/survey", s.Page(s.judgeSongs))
}
