package pinnings_test

import (
	"context"
	"os"
	"strconv"
	"strings"
	"testing"

	"pinwright/web/browsertest"
	"pinwright/web/page"
	"pinwright/web/webtest"
	"pinwright/wheel"
)

func TestMain(m *testing.M) { os.Exit(browsertest.Main(m)) }

// knocks keeps a pinning of Nine Knocks and returns its id.
func knocks(t *testing.T, a *webtest.App) int64 {
	t.Helper()
	id, err := strconv.ParseInt(strings.TrimPrefix(a.SetSong(t, "Nine Knocks", nil), "/pinnings/"), 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// fourDrops keeps a pinning of three pins of Bar C5 and of one of Tube D3, and
// returns its id.
func fourDrops(t *testing.T, a *webtest.App) int64 {
	t.Helper()
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Four Drops", TempoBPM: 60, Advance: map[string]int{"bar-c5": 2}}
	for _, step := range []int{0, 40, 80} {
		p.Pins = append(p.Pins, wheel.Pin{Channel: "bar-c5", Step: step})
	}
	p.Pins = append(p.Pins, wheel.Pin{Channel: "tube-d3", Step: 100})
	id, err := a.Store.AddPinning(context.Background(), 1, 0, p)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// address is that of a pinning's page.
func address(a *webtest.App, id int64) string { return a.URL + page.PinningURL(id) }
