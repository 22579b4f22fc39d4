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
}

// New is the whole app: every page, its files, and what guards them.
func New(o Options) http.Handler {
	if o.Log == nil {
		o.Log = slog.Default()
	}
	s := &server{o}
	r := chi.NewRouter()
	r.Use(s.recoverer, guardHost, guardOrigin, http.NewCrossOriginProtection().Handler, headers, limitBody, middleware.GetHead)
	r.NotFound(s.page(func(http.ResponseWriter, *http.Request) error { return errNoPage }))
	r.MethodNotAllowed(s.page(func(w http.ResponseWriter, req *http.Request) error {
		may := strings.Join(methodsAt(r, req.URL.Path), ", ")
		w.Header().Set("Allow", may) // RFC 9110, 15.5.6
		return refuse(http.StatusMethodNotAllowed, "This address does not take a %s request; it takes %s.", clip(req.Method), may)
	}))
	r.Handle("/static/*", http.StripPrefix("/static", static.Handler()))

	r.Get("/", s.page(s.home))
	r.Get("/songs", s.page(s.songs))
	r.Post("/songs", s.page(s.addSongs))
	r.Get("/songs/{id}", s.page(s.song))
	r.Get("/songs/{id}/file", s.page(s.songFile))
	r.Get("/songs/{id}/strikes", s.data(s.songStrikes))
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
	r.Get("/pinnings/{id}/timing", s.page(s.timing))
	r.Get("/pinnings/{id}/timing/at", s.page(s.timingAt))
	r.Post("/pinnings/{id}/timing/keep", s.page(s.keepTrial))
	r.Get("/pinnings/{id}/file", s.page(s.pinningFile))
	r.Post("/pinnings/{id}/remove", s.page(s.removePinning))
	r.Get("/machines", s.page(s.machines))
	r.Post("/machines", s.page(s.addMachine))
	r.Get("/machines/{id}", s.page(s.machine))
	r.Get("/machines/{id}/file", s.page(s.machineFile))
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
