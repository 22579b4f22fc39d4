// Package web serves the pages: one file per page, its view beside it. Pages
// read and write the store and ask wheel, wheel/arrange and timing; they work
// out nothing themselves.
package web

import (
	"log/slog"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

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
	r.Use(s.recoverer, guardHost, guardOrigin, http.NewCrossOriginProtection().Handler, headers, limitBody)
	r.NotFound(s.page(func(http.ResponseWriter, *http.Request) error { return errNoPage }))
	r.MethodNotAllowed(s.page(func(_ http.ResponseWriter, r *http.Request) error {
		return refuse(http.StatusMethodNotAllowed, "This address does not take a %s request.", r.Method)
	}))
	r.Handle("/static/*", http.StripPrefix("/static", static.Handler()))

	r.Get("/", s.page(s.home))
	r.Get("/songs", s.page(s.songs))
	r.Post("/songs", s.page(s.addSongs))
	r.Get("/songs/{id}", s.page(s.song))
	r.Get("/songs/{id}/file", s.page(s.songFile))
	r.Post("/songs/{id}/pinnings", s.page(s.setSong))
	r.Post("/songs/{id}/remove", s.page(s.removeSong))
	r.Get("/pinnings", s.page(s.pinnings))
	r.Post("/pinnings", s.page(s.addPinning))
	r.Get("/pinnings/{id}", s.page(s.wheel))
	r.Get("/pinnings/{id}/verdict", s.page(s.verdict))
	r.Get("/pinnings/{id}/wheel.json", s.page(s.wheelData))
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
