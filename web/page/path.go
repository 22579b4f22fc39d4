package page

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"pinwright/store"
	"pinwright/wheel"
)

// ErrNoPage is the answer at an address that leads nowhere.
var ErrNoPage = wheel.Refuse(wheel.ErrNotFound, "There is no page at this address.")

// ID is the id in the path of a request, {id} in its route.
func ID(r *http.Request) (int64, error) { return IDAt(r, "id") }

// IDAt is the id in the path of a request at the place that its route calls
// name. An id has one way to be written, so a page has one address.
func IDAt(r *http.Request, name string) (int64, error) {
	text := chi.URLParam(r, name)
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil || id < 1 || strconv.FormatInt(id, 10) != text {
		return 0, ErrNoPage
	}
	return id, nil
}

// MachineAt is the machine that the path of a request names.
func (k *Kit) MachineAt(r *http.Request) (Compiled, error) {
	id, err := ID(r)
	if err != nil {
		return Compiled{}, err
	}
	return k.Compiled(r.Context(), id)
}

// PinningAt is the pinning that the path of a request names, and its machine,
// counted in the pinning's bars.
func (k *Kit) PinningAt(r *http.Request) (*store.Pinning, Compiled, error) {
	id, err := ID(r)
	if err != nil {
		return nil, Compiled{}, err
	}
	p, err := k.Store.Pinning(r.Context(), id)
	if err != nil {
		return nil, Compiled{}, err
	}
	m, err := k.Compiled(r.Context(), p.MachineID)
	if err != nil {
		return nil, Compiled{}, err
	}
	return p, m.CountedFor(p.File), nil
}
