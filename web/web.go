// Package web serves the pages: one file per page, its view beside it, and what
// all of them share in web/page. Pages read and write the store and ask wheel,
// wheel/arrange and timing; they work out nothing themselves.
package web

import (
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"pinwright/static"
	"pinwright/web/desk"
	"pinwright/web/machines"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Options are what the pages need from outside.
type Options = page.Options

type server struct {
	*page.Kit
	desks   *desk.Desks
	crankAt crankSensor
	leaving leaveGuard
}

func newServer(o Options) *server {
	kit := page.NewKit(o)
	desks := desk.New(kit.Store, deskView, kit.Log)
	kit.Open = desks
	return &server{Kit: kit, desks: desks}
}

// New is the whole app: every page, its files, and what guards them. It answers
// this computer alone.
func New(o Options) http.Handler {
	here, _ := NewWithPhones(o, nil)
	return here
}

// NewWithPhones is [New] and beside it, unless phones is nil, the same pages
// for phones that come through its door.
func NewWithPhones(o Options, phones *Phones) (here, there http.Handler) {
	s := newServer(o)
	pages := s.pages()
	if phones != nil {
		there = s.recoverer(phones.door(s, pages))
	}
	return s.recoverer(guardHost(pages)), there
}

// pages is every page, whoever asks.
func (s *server) pages() chi.Router {
	r := chi.NewRouter()
	r.Use(guardOrigin, http.NewCrossOriginProtection().Handler, headers, limitBody, middleware.GetHead)
	r.NotFound(s.Page(func(http.ResponseWriter, *http.Request) error { return page.ErrNoPage }))
	r.MethodNotAllowed(s.Page(func(w http.ResponseWriter, req *http.Request) error {
		may := strings.Join(methodsAt(r, req.URL.Path), ", ")
		w.Header().Set("Allow", may) // RFC 9110, 15.5.6
		return wheel.Refuse(wheel.ErrNotAllowed, "This address does not take a %s request; it takes %s.", say.Short(req.Method), may)
	}))
	r.Handle("/static/*", http.StripPrefix("/static", static.Handler()))

	machines.Routes(r, s.Kit)
	r.Get("/", s.Page(s.home))
	r.Get("/songs", s.Page(s.songs))
	r.Post("/songs", s.Page(s.addSongs))
	r.Get("/songs/{id}", s.Page(s.song))
	r.Get("/songs/{id}/strikes", s.Data(s.songStrikes))
	r.Get("/songs/{id}/file", s.Page(s.songFile))
	r.Post("/songs/{id}/pinnings", s.Form(s.setSong))
	r.Post("/songs/{id}/remove", s.Form(s.removeSong))
	r.Get("/survey", s.Page(s.survey))
	r.Post("/survey", s.Page(s.judgeSongs))
	r.Get("/pinnings", s.Page(s.pinnings))
	r.Post("/pinnings", s.Page(s.addPinning))
	r.Get("/pinnings/{id}", s.Page(s.wheel))
	r.Get("/pinnings/{id}/verdict", s.Page(s.verdict))
	r.Get("/pinnings/{id}/wheel.json", s.Page(s.wheelData))
	r.Get("/pinnings/{id}/strikes", s.Data(s.pinningStrikes))
	r.Get("/pinnings/{id}/live", s.Page(s.live))
	r.Get("/pinnings/{id}/differences", s.Data(s.differences))
	r.Get("/pinnings/{id}/timing", s.Page(s.timing))
	r.Get("/pinnings/{id}/timing/at", s.Page(s.timingAt))
	r.Get("/pinnings/{id}/timing/lane", s.Page(s.timingLane))
	r.Post("/pinnings/{id}/timing/keep", s.Form(s.keepTrial))
	r.Get("/pinnings/{id}/window", s.Page(s.window))
	r.Post("/pinnings/{id}/window/keep", s.Form(s.keepSlow))
	r.Get("/pinnings/{id}/sheets", s.Page(s.sheets))
	r.Get("/pinnings/{id}/sheets/{file}", s.Page(s.sheetFile))
	r.Get("/pinnings/{id}/onto/{machine}", s.Page(s.onto))
	r.Post("/pinnings/{id}/onto/{machine}", s.Form(s.keepOntoOther))
	r.Post("/machines/{id}/pinnings", s.Page(s.keepOnto))
	r.Get("/pinnings/{id}/file", s.Page(s.pinningFile))
	r.Post("/pinnings/{id}/file", s.Page(s.replacePinning))
	r.Post("/pinnings/{id}/title", s.Form(s.renamePinning))
	r.Post("/pinnings/{id}/remove", s.Form(s.removePinning))
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
	r.Post("/visitors/leave", s.Data(page.WithForm(s.leaveVisitors)))
	r.Get("/crank", s.Page(s.crank))
	r.Post("/crank", s.Data(s.crankTurned))
	r.Get("/crank/now", s.Data(s.crankNow))
	r.Get("/crank/tapped", s.Data(s.crankTapped))
	r.Post("/crank/keep", s.Form(s.keepWander))
	r.Get("/noise", s.Page(s.noise))
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
	return r
}

// methodsAt is what can be asked of an address.
func methodsAt(routes chi.Routes, path string) (methods []string) {
	for _, method := range []string{http.MethodGet, http.MethodPost} {
		if routes.Match(chi.NewRouteContext(), method, path) {
			methods = append(methods, method)
			if method == http.MethodGet {
				methods = append(methods, http.MethodHead)
			}
		}
	}
	return methods
}
