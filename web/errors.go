package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"github.com/a-h/templ"

	"pinwright/store"
	"pinwright/wheel"
)

// refusal is an answer other than the page asked for, in words.
type refusal struct {
	status int
	says   string
}

func (r *refusal) Error() string { return r.says }

func refuse(status int, format string, args ...any) error {
	return &refusal{status, fmt.Sprintf(format, args...)}
}

var errNoPage = refuse(http.StatusNotFound, "There is no page at this address.")

// page makes a handler of a function that may fail, and turns its error into
// a page that says what is wrong.
func (s *server) page(f func(http.ResponseWriter, *http.Request) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		err := f(w, r)
		if err == nil || errors.Is(err, context.Canceled) {
			return
		}
		status, lines := s.explain(r, err)
		if r.Header.Get("HX-Request") == "true" {
			s.show(w, r, status, problem(lines))
			return
		}
		s.show(w, r, status, errorPage(s.frame(r, headOf(status)), lines))
	}
}

// headOf is the heading above the sentences that say what is wrong.
func headOf(status int) string {
	switch status {
	case http.StatusNotFound:
		return "Not here"
	case http.StatusMethodNotAllowed:
		return "Not possible here"
	case http.StatusConflict:
		return "Not as things stand"
	case http.StatusRequestEntityTooLarge:
		return "Too large"
	}
	if status >= 500 {
		return "Something went wrong"
	}
	return "That could not be done"
}

// explain turns an error into a status and sentences.
func (s *server) explain(r *http.Request, err error) (int, []string) {
	var ref *refusal
	var kept *store.Error
	var problems wheel.Problems
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &ref):
		return ref.status, []string{ref.says}
	case errors.As(err, &kept):
		return storeStatus(kept), strings.Split(kept.Error(), "\n")
	case errors.As(err, &problems):
		return http.StatusUnprocessableEntity, strings.Split(problems.Error(), "\n")
	case errors.As(err, &large):
		return http.StatusRequestEntityTooLarge, []string{fmt.Sprintf("What was sent is larger than %d MiB, the most that is taken in here; send less at a time.", large.Limit>>20)}
	}
	s.Log.Error("a page failed", "method", r.Method, "path", r.URL.Path, "error", err)
	return http.StatusInternalServerError, []string{"Something went wrong inside the program. Load the page again, and look whether what you did was kept."}
}

func storeStatus(err *store.Error) int {
	switch err.Kind {
	case store.ErrNotFound:
		return http.StatusNotFound
	case store.ErrConflict:
		return http.StatusConflict
	case store.ErrInvalid:
		return http.StatusUnprocessableEntity
	case store.ErrTooLarge:
		return http.StatusRequestEntityTooLarge
	}
	return http.StatusServiceUnavailable
}

// show writes a view, whole or not at all.
func (s *server) show(w http.ResponseWriter, r *http.Request, status int, view templ.Component) {
	var b bytes.Buffer
	if err := view.Render(r.Context(), &b); err != nil {
		s.Log.Error("a view failed", "path", r.URL.Path, "error", err)
		http.Error(w, "Something went wrong inside the program.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes())
}
