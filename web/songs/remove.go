package songs

import (
	"net/http"
	"slices"
	"strconv"
	"sync"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
)

// mostRemoved is how many removed songs can be brought back: each is held with
// its file, up to 8 MiB.
const mostRemoved = 10

// wastebasket holds the songs that were removed last, until the program ends.
type wastebasket struct {
	mu   sync.Mutex
	held []*store.RemovedSong // the latest last
}

func (b *wastebasket) put(gone *store.RemovedSong) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.held = append(b.held, gone)
	if n := len(b.held) - mostRemoved; n > 0 {
		b.held = slices.Delete(b.held, 0, n)
	}
}

// find returns a removed song by its id, or nil.
func (b *wastebasket) find(id int64) *store.RemovedSong {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, gone := range b.held {
		if gone.ID == id {
			return gone
		}
	}
	return nil
}

func (b *wastebasket) forget(id int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.held = slices.DeleteFunc(b.held, func(gone *store.RemovedSong) bool { return gone.ID == id })
}

// remove removes a song, and leads to the list, where it can be brought back.
func (s *area) remove(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	gone, err := s.Store.RemoveSong(r.Context(), id)
	if err != nil {
		return err
	}
	s.removed.put(gone)
	return page.Redirect(w, r, "/songs?removed="+strconv.FormatInt(id, 10))
}

// restore brings back a song that was removed.
func (s *area) restore(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	gone := s.removed.find(id)
	if gone == nil {
		return wheel.Refuse(wheel.ErrNotFound, "The song can no longer be brought back. Add its file again.")
	}
	if err := s.Store.RestoreSong(r.Context(), gone); err != nil {
		return err
	}
	s.removed.forget(id)
	return page.Redirect(w, r, "/songs?restored="+strconv.FormatInt(id, 10))
}
