package machines_test

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
)

func TestMachineFileIsReplacedOnlyWhereItsPinningsFit(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	a.SetSong(t, "Nine Knocks", nil)
	slower := webtest.MachineFile(t, func(m *wheel.Machine) { m.Channels[m.Channel("bar-c5")].Gate.ReloadMS = wheel.Known(200) })
	if status, to := a.Bring(t, "/machines/1/file?revision=1", "m.json", slower); status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
	m, err := a.Store.Machine(context.Background(), 1)
	if err != nil || m.Revision != 2 || m.File.Channels[m.File.Channel("bar-c5")].Gate.ReloadMS != wheel.Known(200) {
		t.Errorf("kept %+v, %v", m, err)
	}
	short := webtest.MachineFile(t, func(m *wheel.Machine) { m.Wheel.Steps = 16 })
	for _, bad := range []struct {
		path string
		data []byte
		want int
	}{
		{"/machines/1/file?revision=1", slower, http.StatusConflict}, // changed since
		{"/machines/1/file?revision=2", short, http.StatusConflict},  // pinnings no longer fit
		{"/machines/1/file", slower, http.StatusUnprocessableEntity},
		{"/machines/1/file?revision=2", []byte("{}"), http.StatusUnprocessableEntity},
		{"/machines/9/file?revision=1", slower, http.StatusNotFound},
	} {
		if status, page := a.Bring(t, bad.path, "m.json", bad.data); status != bad.want {
			t.Errorf("%s: %d, want %d: %s", bad.path, status, bad.want, page)
		}
	}
	if m, err := a.Store.Machine(context.Background(), 1); err != nil || m.Revision != 2 {
		t.Errorf("a refused file changed something: %+v, %v", m, err)
	}
}

// Each browser chooses for itself: what one brings or chooses does not take the
// machine from under another.
func TestEachBrowserChoosesItsOwnMachine(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	b := a.OtherBrowser()
	graupel := webtest.MachineFile(t, func(m *wheel.Machine) { m.Name = "Graupel" })
	if status, to := a.Bring(t, "/machines", "graupel.json", graupel); status != http.StatusSeeOther || to != "/machines/2" {
		t.Fatalf("%d: %s", status, to)
	}
	heading := func(a *webtest.App) string {
		_, home := a.Get(t, "/")
		_, rest, _ := strings.Cut(home, "<h1><bdi>")
		name, _, _ := strings.Cut(rest, "</bdi>")
		return name
	}
	if here, there := heading(a), heading(b); here != "Graupel" || there != "Hailstone" {
		t.Errorf("one browser has %q, the other %q", here, there)
	}
	// A machine that is gone is not a choice.
	if status, to := b.Post(t, "/machines/2/remove", nil); status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
	if here := heading(a); here != "Hailstone" {
		t.Errorf("after its machine was removed the browser has %q", here)
	}
}

func TestTheMachineThatIsBroughtIsTheOneToWorkOn(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	graupel := webtest.MachineFile(t, func(m *wheel.Machine) { m.Name = "Graupel" })
	status, to := a.Bring(t, "/machines", "graupel.json", graupel)
	if status != http.StatusSeeOther || to != "/machines/2" {
		t.Fatalf("%d: %s", status, to)
	}
	status, list := a.Get(t, "/machines")
	webtest.Expect(t, status, list, 200, "This browser works on Graupel", "In use", "Choose Hailstone")
	// The button's name, read aloud, is two words.
	if !strings.Contains(list, `Choose<span class="unseen"> Hailstone</span>`) {
		t.Error("there is no button Choose Hailstone")
	}
	if status, to := a.Post(t, "/machines/1/choose", nil); status != http.StatusSeeOther || to != "/" {
		t.Errorf("%d: %s", status, to)
	}
	status, list = a.Get(t, "/machines")
	webtest.Expect(t, status, list, 200, "Choose Graupel")
}
