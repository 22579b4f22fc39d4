package limits_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"testing"
	"time"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web"
	"pinwright/wheel/arrange"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

// What a move of the handle asks of the server, from request to answer.
func BenchmarkTempoMoved(b *testing.B) {
	ctx := context.Background()
	st, err := store.Open(ctx, filepath.Join(b.TempDir(), "kept.db"), time.Now)
	if err != nil {
		b.Fatal(err)
	}
	defer st.Close()
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		b.Fatal(err)
	}
	songs, err := song.Parse(demo.Songs()[0].Bytes, "")
	if err != nil {
		b.Fatal(err)
	}
	p, _, err := arrange.Set(b.Context(), works, songs[0], arrange.Request{Advance: true})
	if err != nil {
		b.Fatal(err)
	}
	id, err := st.AddMachine(ctx, works.Machine)
	if err != nil {
		b.Fatal(err)
	}
	if _, err := st.AddPinning(ctx, id, 0, p); err != nil {
		b.Fatal(err)
	}
	handler := web.New(web.Options{Store: st, Now: time.Now})
	for b.Loop() {
		r := httptest.NewRequest("GET", "http://127.0.0.1/pinnings/1/timing/at?tempo=131", nil)
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			b.Fatal(w.Code)
		}
	}
}
