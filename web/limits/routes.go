package limits

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
	r.Get("/pinnings/{id}/timing", s.Page(s.timing))
	r.Get("/pinnings/{id}/timing/at", s.Page(s.timingAt))
	r.Get("/pinnings/{id}/timing/doubts", s.Page(s.timingDoubts))
	r.Get("/pinnings/{id}/timing/where", s.Page(s.timingWhere))
	r.Get("/pinnings/{id}/timing/lane", s.Page(s.timingLane))
	r.Post("/pinnings/{id}/timing/keep", s.Form(s.keepTrial))
}
