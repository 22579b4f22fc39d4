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
	"pinwright/web/atwheel"
	"pinwright/web/desk"
	"pinwright/web/limits"
	"pinwright/web/machines"
	"pinwright/web/page"
	"pinwright/web/pinnings"
	"pinwright/web/songs"
	"pinwright/web/visitors"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Options are what the pages need from outside.
type Options = page.Options

type server struct {
	*page.Kit
	desks *desk.Desks
}

func newServer(o Options) *server {
	kit := page.NewKit(o)
	desks := desk.New(kit.Store, pinnings.WriteVerdict, kit.Log)
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
	r.Use(guardOrigin, http.NewCrossOriginProtection().Handler, headers, limitBody, middleware.GetHead, page.ReadChoice)
	r.NotFound(s.Page(func(http.ResponseWriter, *http.Request) error { return page.ErrNoPage }))
	r.MethodNotAllowed(s.Page(func(w http.ResponseWriter, req *http.Request) error {
		may := strings.Join(methodsAt(r, req.URL.Path), ", ")
		w.Header().Set("Allow", may) // RFC 9110, 15.5.6
		return wheel.Refuse(wheel.ErrNotAllowed, "This address does not take a %s request; it takes %s.", say.Short(req.Method), may)
	}))
	r.Handle("/static/*", http.StripPrefix("/static", static.Handler()))

	machines.Routes(r, s.Kit)
	r.Get("/", s.Page(s.home))
	songs.Routes(r, s.Kit)
	pinnings.Routes(r, s.Kit, s.desks)
	limits.Routes(r, s.Kit)
	atwheel.Routes(r, s.Kit)
	visitors.Routes(r, s.Kit)
	r.Get("/look", s.Page(s.look))
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
