package pinnings

import (
	"github.com/go-chi/chi/v5"

	"pinwright/web/desk"
	"pinwright/web/page"
)

// area is what the handlers here share.
type area struct {
	*page.Kit
	desks *desk.Desks
}

// Routes adds the addresses of this area.
func Routes(r chi.Router, kit *page.Kit, desks *desk.Desks) {
	s := &area{kit, desks}
	r.Get("/pinnings", s.Page(s.pinnings))
	r.Post("/pinnings", s.Page(s.addPinning))
	r.Get("/pinnings/{id}", s.Page(s.wheel))
	r.Get("/pinnings/{id}/verdict", s.Page(s.verdict))
	r.Get("/pinnings/{id}/wheel.json", s.Data(s.wheelData))
	r.Get("/pinnings/{id}/strikes", s.Data(s.pinningStrikes))
	r.Get("/pinnings/{id}/live", s.Page(s.live))
	r.Get("/pinnings/{id}/differences", s.Data(s.differences))
	r.Get("/pinnings/{id}/onto/{machine}", s.Page(s.onto))
	r.Post("/pinnings/{id}/onto/{machine}", s.Form(s.keepOntoOther))
	r.Post("/machines/{id}/pinnings", s.Page(s.keepOnto))
	r.Get("/pinnings/{id}/file", s.Page(s.pinningFile))
	r.Post("/pinnings/{id}/file", s.Page(s.replacePinning))
	r.Post("/pinnings/{id}/title", s.Form(s.renamePinning))
	r.Post("/pinnings/{id}/bars", s.Form(s.countPinning))
	r.Post("/pinnings/{id}/remove", s.Form(s.removePinning))
}
