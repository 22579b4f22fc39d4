package atwheel_test

import (
	"fmt"
	"net/url"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

// As every page: no accessibility rule of axe-core is broken, and nothing lies
// outside the window.
func TestPagesAtTheWheelAreGoodForEveryone(t *testing.T) {
	browser := browsertest.Start(t)
	a := webtest.StartWheel(t, web.New)
	at := fmt.Sprintf("/pinnings/%d/sheets", a.Old)
	look := func(name, path, wait string) {
		t.Helper()
		page := browser.Open(t, a.URL+path, browsertest.Laptop)
		if wait != "" {
			page.WaitFor(t, wait)
		}
		for _, v := range []struct {
			name string
			view browsertest.View
		}{{"laptop-light", browsertest.Laptop}, {"phone-dark", browsertest.Phone.InDark()}} {
			page.Show(t, v.view)
			page.NoSideScroll(t)
			page.Screenshot(t, name+"-"+v.name)
			page.Axe(t)
		}
	}
	look("sheets", at, "")
	look("sheets-wrong", at+"?paper=roll&roll=9", "")
	look("onwheel-unknown", "/machines/1/wheel", "")
	a.SayOnWheel(t, a.Old)
	look("changeover", fmt.Sprintf("/machines/1/changeover?to=%d&rotate=on&exchange=on", a.New), "")
	job := a.BeginChangeover(t)
	sendTap(t, a, job, map[string]any{"id": "t1", "do": "done", "step": 4, "channels": []string{"bar-c5", "bar-e5"}})
	look("atwheel", job, webtest.JobShown)
	a.Post(t, job+"/stop", nil)
	look("onwheel-between", "/machines/1/wheel", "")
	look("atwheel-stopped", job, "")
	_, proof := a.Post(t, "/machines/1/proof", url.Values{"start": {"0"}})
	look("proof", proof, webtest.JobShown)
}
