package pinnings_test

import (
	"context"
	"database/sql"
	"fmt"
	"log/slog"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pinwright/store"
	"pinwright/web"
	"pinwright/web/page"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// One pinning that a fault of the disk has struck is listed by its name with what
// is wrong with it; the others are listed as before.
func TestDamagedPinningTakesNoListDown(t *testing.T) {
	ctx, path := context.Background(), filepath.Join(t.TempDir(), "kept.db")
	st, err := store.Open(ctx, path, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	a := &webtest.App{Store: st, Server: httptest.NewServer(web.New(page.Options{Store: st, Now: time.Now, Log: slog.New(slog.DiscardHandler)}))}
	defer a.Close()
	if _, err := st.AddMachine(ctx, demo.Machine()); err != nil {
		t.Fatal(err)
	}
	if err := st.SetCurrentMachine(ctx, 1); err != nil {
		t.Fatal(err)
	}
	whole := a.AddPinning(t, "Whole", 60, wheel.Pin{Channel: "bar-c5", Step: 0})
	for _, harm := range []struct{ title, query, says string }{
		{"Headless", `UPDATE pinnings SET head = json_set(head, '$.format', 'none') WHERE id = ?`, "The pinning Headless cannot be read by this version of the program: "},
		{"Astray", `UPDATE holes SET channel = 'organ' WHERE pinning_id = ?`, `"organ"`},
	} {
		id := a.AddPinning(t, harm.title, 60, wheel.Pin{Channel: "bar-d5", Step: 4})
		db, err := sql.Open("sqlite", path)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec(harm.query, id); err != nil {
			t.Fatal(err)
		}
		db.Close()
		status, list := a.Get(t, "/")
		webtest.Expect(t, status, list, 200, harm.title+" cannot be checked", harm.says, "Whole trusted at 60 BPM")
		status, list = a.Get(t, "/pinnings")
		webtest.Expect(t, status, list, 200, harm.title, harm.says, "Whole 60 BPM trusted keep below 180")
		if strings.Contains(list, fmt.Sprintf("/pinnings/%d/sheets", id)) || !strings.Contains(list, fmt.Sprintf("/pinnings/%d/sheets", whole)) {
			t.Error("sheets are offered of what cannot be read, or not of what can")
		}
	}
}
