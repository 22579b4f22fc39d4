// Package web serves the pages: one file per page, its view beside it. Pages
// read and write the store and ask wheel, wheel/arrange and timing; they work
// out nothing themselves.
package web

import (
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"pinwright/static"
	"pinwright/store"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Options are what the pages need.
type Options struct {
	Store   *store.Store
	Version string
	Now     func() time.Time
	Log     *slog.Logger // slog.Default where nil
}

type server struct {
	Options
	desks   desks
	crankAt crankSensor
	leaving leaveGuard
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
	if o.Log == nil {
		o.Log = slog.Default()
	}
	s := &server{Options: o}
	pages := s.pages()
	if phones != nil {
		there = s.recoverer(phones.door(s, pages))
	}
	return s.recoverer(guardHost(pages)), there
}

// pages is every page, whoever asks.
func (s *server) pages() http.Handler {
	r := chi.NewRouter()
	r.Use(guardOrigin, http.NewCrossOriginProtection().Handler, headers, limitBody, middleware.GetHead)
	r.NotFound(s.page(func(http.ResponseWriter, *http.Request) error { return errNoPage }))
	r.MethodNotAllowed(s.page(func(w http.ResponseWriter, req *http.Request) error {
		may := strings.Join(methodsAt(r, req.URL.Path), ", ")
		w.Header().Set("Allow", may) // RFC 9110, 15.5.6
		return wheel.Refuse(wheel.ErrNotAllowed, "This address does not take a %s request; it takes %s.", say.Short(req.Method), may)
	}))
	r.Handle("/static/*", http.StripPrefix("/static", static.Handler()))

	r.Get("/", s.page(s.home))
	r.Get("/songs", s.page(s.songs))
	r.Post("/songs", s.page(s.addSongs))
	r.Get("/songs/{id}", s.page(s.song))
	r.Get("/songs/{id}/strikes", s.data(s.songStrikes))
	r.Get("/songs/{id}/file", s.page(s.songFile))
	r.Post("/songs/{id}/pinnings", s.page(s.setSong))
	r.Post("/songs/{id}/remove", s.page(s.removeSong))
	r.Get("/survey", s.page(s.survey))
	r.Post("/survey", s.page(s.judgeSongs))
	r.Get("/pinnings", s.page(s.pinnings))
	r.Post("/pinnings", s.page(s.addPinning))
	r.Get("/pinnings/{id}", s.page(s.wheel))
	r.Get("/pinnings/{id}/verdict", s.page(s.verdict))
	r.Get("/pinnings/{id}/wheel.json", s.page(s.wheelData))
	r.Get("/pinnings/{id}/strikes", s.data(s.pinningStrikes))
	r.Get("/pinnings/{id}/live", s.page(s.live))
	r.Get("/pinnings/{id}/differences", s.data(s.differences))
	r.Get("/pinnings/{id}/timing", s.page(s.timing))
	r.Get("/pinnings/{id}/timing/at", s.page(s.timingAt))
	r.Get("/pinnings/{id}/timing/lane", s.page(s.timingLane))
	r.Post("/pinnings/{id}/timing/keep", s.page(s.keepTrial))
	r.Get("/pinnings/{id}/window", s.page(s.window))
	r.Post("/pinnings/{id}/window/keep", s.page(s.keepSlow))
	r.Get("/pinnings/{id}/sheets", s.page(s.sheets))
	r.Get("/pinnings/{id}/sheets/{file}", s.page(s.sheetFile))
	r.Get("/pinnings/{id}/onto/{machine}", s.page(s.onto))
	r.Post("/pinnings/{id}/onto/{machine}", s.page(s.keepOntoOther))
	r.Post("/machines/{id}/pinnings", s.page(s.keepOnto))
	r.Get("/pinnings/{id}/file", s.page(s.pinningFile))
	r.Post("/pinnings/{id}/file", s.page(s.replacePinning))
	r.Post("/pinnings/{id}/title", s.page(s.renamePinning))
	r.Post("/pinnings/{id}/remove", s.page(s.removePinning))
	r.Get("/programmes", s.page(s.programmes))
	r.Post("/programmes", s.page(s.addProgramme))
	r.Get("/programmes/{id}", s.page(s.programme))
	r.Post("/programmes/{id}", s.page(s.changeProgramme))
	r.Post("/programmes/{id}/return", s.page(s.returnProgramme))
	r.Post("/programmes/{id}/join", s.page(s.joinSongs))
	r.Post("/programmes/{id}/remove", s.page(s.removeProgramme))
	r.Get("/programmes/{id}/card/{n}", s.page(s.programmeCard))
	r.Get("/programmes/{id}/visitor/{n}", s.page(s.visitor))
	r.Post("/visitors/margin", s.page(s.keepMargin))
	r.Post("/visitors/code", s.page(s.keepLeaveCode))
	r.Post("/visitors/leave", s.data(s.leaveVisitors))
	r.Get("/crank", s.page(s.crank))
	r.Post("/crank", s.data(s.crankTurned))
	r.Get("/crank/now", s.data(s.crankNow))
	r.Get("/crank/tapped", s.data(s.crankTapped))
	r.Post("/crank/keep", s.page(s.keepWander))
	r.Get("/noise", s.page(s.noise))
	r.Get("/machines", s.page(s.machines))
	r.Post("/machines", s.page(s.addMachine))
	r.Get("/machines/{id}", s.page(s.machine))
	r.Get("/machines/{id}/file", s.page(s.machineFile))
	r.Post("/machines/{id}/file", s.page(s.replaceMachine))
	r.Get("/machines/{id}/wheel", s.page(s.onWheel))
	r.Post("/machines/{id}/wheel", s.page(s.sayOnWheel))
	r.Get("/machines/{id}/changeover", s.page(s.changeover))
	r.Get("/machines/{id}/changeover.pdf", s.page(s.changeoverPDF))
	r.Get("/machines/{id}/changeover.csv", s.page(s.changeoverCSV))
	r.Post("/machines/{id}/changeover", s.page(s.beginChangeover))
	r.Post("/machines/{id}/proof", s.page(s.beginProof))
	r.Get("/machines/{id}/jobs/{job}", s.page(s.job))
	r.Get("/machines/{id}/jobs/{job}/state", s.data(s.jobState))
	r.Post("/machines/{id}/jobs/{job}/taps", s.data(s.tap))
	r.Post("/machines/{id}/jobs/{job}/stop", s.page(s.stopJob))
	r.Post("/machines/{id}/jobs/{job}/resume", s.page(s.resumeJob))
	r.Post("/machines/{id}/jobs/{job}/right", s.page(s.putRight))
	r.Post("/machines/{id}/troubles/{trouble}/mended", s.page(s.mendTrouble))
	r.Post("/machines/{id}/choose", s.page(s.chooseMachine))
	r.Post("/machines/{id}/remove", s.page(s.removeMachine))
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
