package visitors

import (
	"github.com/go-chi/chi/v5"

	"pinwright/web/page"
)

// area is what the handlers here share.
type area struct {
	*page.Kit
	sensor  crankSensor
	leaving leaveGuard
}

// Routes adds the addresses of this area.
func Routes(r chi.Router, kit *page.Kit) {
	s := &area{Kit: kit}
	r.Get("/pinnings/{id}/window", s.Page(s.window))
	r.Post("/pinnings/{id}/window/keep", s.Form(s.keepSlow))
	r.Get("/programmes", s.Page(s.programmes))
	r.Post("/programmes", s.Form(s.addProgramme))
	r.Get("/programmes/{id}", s.Page(s.programme))
	r.Post("/programmes/{id}", s.Form(s.changeProgramme))
	r.Post("/programmes/{id}/return", s.Form(s.returnProgramme))
	r.Post("/programmes/{id}/join", s.Form(s.joinSongs))
	r.Post("/programmes/{id}/remove", s.Form(s.removeProgramme))
	r.Get("/programmes/{id}/card/{n}", s.Page(s.programmeCard))
	r.Get("/programmes/{id}/visitor/{n}", s.Page(s.visitor))
	r.Post("/visitors/margin", s.Form(s.keepMargin))
	r.Post("/visitors/code", s.Form(s.keepLeaveCode))
	r.Get("/crank", s.Page(s.crank))
	r.Post("/crank", s.Data(s.countTurn))
	r.Get("/crank/now", s.Data(s.crankNow))
	r.Get("/crank/tapped", s.Data(s.crankTapped))
	r.Post("/crank/keep", s.Form(s.keepCrank))
	r.Get("/noise", s.Page(s.noise))
	r.Post("/visitors/leave", s.Data(page.WithForm(s.leaveVisitors)))
}
