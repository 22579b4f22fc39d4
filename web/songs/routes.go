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
	removed wastebasket
	known   judgements
}

// Routes adds the addresses of this area.
func Routes(r chi.Router, kit *page.Kit) {
	s := &area{Kit: kit}
	r.Get("/songs", s.Page(s.list))
	r.Post("/songs", s.Page(s.add))
	r.Get("/songs/{id}", s.Page(s.song))
	r.Get("/songs/{id}/strikes", s.Data(s.strikes))
	r.Get("/songs/{id}/file", s.Page(s.file))
	r.Post("/songs/{id}/pinnings", s.Form(s.addPinning))
	r.Get("/songs/{id}/suits", s.Page(s.suits))
	r.Post("/songs/{id}/rename", s.Form(s.rename))
	r.Post("/songs/{id}/remove", s.Form(s.remove))
	r.Post("/songs/{id}/restore", s.Form(s.restore))
	r.Get("/survey", s.Page(s.survey))
	r.Post("/survey", s.Page(s.judge))
}
