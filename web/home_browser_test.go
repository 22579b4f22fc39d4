package web

import (
	"fmt"
	"testing"

	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

// Home on a day with everything on it: a changeover that was stopped, trouble, a
// programme, pinnings.
func TestHomeIsOneScreen(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartWheel(t, New)
	a.SetSong(t, "Nine Knocks", nil)
	a.SetSong(t, "Mill Race", nil)
	a.AddSunday(t)
	a.SayOnWheel(t, a.Old)
	job := a.BeginChangeover(t)
	type m = map[string]any
	a.SendTap(t, job, m{"id": "t1", "do": "done", "step": 4, "channels": []string{"bar-c5", "bar-e5"}})
	a.SendTap(t, job, m{"id": "t2", "do": "trouble", "step": 8, "channel": "bar-d5", "trouble": "split hole", "note": "glue it"})
	a.Post(t, job+"/stop", nil)
	p := b.Open(t, a.URL+"/", browsertest.Laptop)
	p.Show(t, browsertest.View{WidthPX: 1280, HeightPX: 800})
	p.Screenshot(t, "home-1280")
	if bottom := browsertest.Eval[float64](t, p, `document.querySelector("main").getBoundingClientRect().bottom`); bottom > 800 {
		t.Errorf("at 1,280 × 800 it is %g px tall", bottom)
	}
	for _, heading := range []string{"On the wheel", "Waiting", "Programme", "Recent pinnings", "Add songs"} {
		p.Find(t, "heading", heading)
	}
	for _, link := range []string{"On the wheel", "See the trouble", "See where it stands", "Sunday", "Mill Race"} {
		p.Find(t, "link", link)
	}
	for name, view := range map[string]browsertest.View{
		"390": browsertest.Phone, "390-dark": browsertest.Phone.InDark(), "320": {WidthPX: 320, HeightPX: 568, Touch: true},
		"1280-dark": browsertest.View{WidthPX: 1280, HeightPX: 800}.InDark(), "1280-forced": browsertest.View{WidthPX: 1280, HeightPX: 800}.InForcedColours(),
		"768": {WidthPX: 768, HeightPX: 1024},
	} {
		p.Show(t, view)
		p.NoSideScroll(t)
		p.Contained(t)
		p.Handy(t)
		if !view.Forced {
			p.Axe(t)
		}
		p.Screenshot(t, "home-"+name)
	}
	p.Show(t, browsertest.Phone)
	p.Go(t, a.URL+"/")
	p.InFirstScreen(t, "h1", "[aria-labelledby=on] .figure-words", "[aria-labelledby=on] .machine-drawing")
	if top := browsertest.Eval[float64](t, p, `document.querySelector("[aria-labelledby=waiting]").getBoundingClientRect().top`); top > 844 {
		t.Errorf("on a phone what is waiting begins at %g px", top)
	}
}

// A first day: no machine, then one of which nothing is known yet. Each leads on.
func TestHomeLeadsOnWhereThereIsNothingYet(t *testing.T) {
	b := browsertest.Start(t)
	empty, demo := webtest.Start(t, New), webtest.StartDemo(t, New)
	p := b.Open(t, empty.URL+"/", browsertest.Phone)
	for name, url := range map[string]string{"no-machine": empty.URL, "first-day": demo.URL} {
		p.Show(t, browsertest.Phone)
		p.Go(t, url+"/")
		if name == "no-machine" {
			p.Find(t, "button", "Bring the machine")
		} else {
			p.Find(t, "link", "Say what is on the wheel")
		}
		for _, view := range []browsertest.View{browsertest.Phone, browsertest.Phone.InDark(), {WidthPX: 1280, HeightPX: 800}} {
			p.Show(t, view)
			p.NoSideScroll(t)
			p.Contained(t)
			p.Handy(t)
			p.Axe(t)
			p.Screenshot(t, fmt.Sprintf("home-%s-%d", name, view.WidthPX))
		}
	}
}
