package atwheel

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
	s := &area{Kit: kit}
	r.Get("/pinnings/{id}/sheets", s.Page(s.sheets))
	r.Get("/pinnings/{id}/sheets/{file}", s.Page(s.sheetFile))
	r.Get("/machines/{id}/wheel", s.Page(s.onWheel))
	r.Post("/machines/{id}/wheel", s.Form(s.sayOnWheel))
	r.Get("/machines/{id}/changeover", s.Page(s.changeover))
	r.Get("/machines/{id}/changeover.pdf", s.Page(s.changeoverPDF))
	r.Get("/machines/{id}/changeover.csv", s.Page(s.changeoverCSV))
	r.Post("/machines/{id}/changeover", s.Form(s.beginChangeover))
	r.Post("/machines/{id}/proof", s.Form(s.beginProof))
	r.Get("/machines/{id}/jobs/{job}", s.Page(s.job))
	r.Get("/machines/{id}/jobs/{job}/state", s.Data(s.jobState))
	r.Post("/machines/{id}/jobs/{job}/taps", s.Data(s.tap))
	r.Post("/machines/{id}/jobs/{job}/stop", s.Form(s.stopJob))
	r.Post("/machines/{id}/jobs/{job}/resume", s.Form(s.resumeJob))
	r.Post("/machines/{id}/jobs/{job}/right", s.Form(s.putRight))
	r.Post("/machines/{id}/troubles/{trouble}/mended", s.Form(s.mendTrouble))
}

// frameAt is the frame of a page under a machine; under names the pages between.
func frameAt(f page.Frame, m page.Compiled, under ...page.Link) page.Frame {
	f.Machine, f.At = m.File.Name, m.ID
	return f.Under(append([]page.Link{{Text: "Machines", URL: "/machines"}, {Text: m.File.Name, URL: page.MachineURL(m.ID)}}, under...)...)
}

// onWheelLink leads to what is on a machine's wheel.
func onWheelLink(machine int64) page.Link {
	return page.Link{Text: "On the wheel", URL: page.MachineURL(machine, "wheel")}
}
