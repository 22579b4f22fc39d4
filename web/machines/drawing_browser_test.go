package machines_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel"
)

// textsThatMeet are the pairs of texts in the drawing that is shown whose boxes
// meet, and the texts that leave it, as the browser measures them. A box is as
// tall as its font asks for, capitals and descenders need less.
const textsThatMeet = `(() => {
	const svg = [...document.querySelectorAll(".machine-drawing svg")].filter(e => e.checkVisibility());
	if (svg.length !== 1) return [svg.length + " drawings are shown"];
	const frame = svg[0].getBoundingClientRect();
	const texts = [...svg[0].querySelectorAll("text")].map(e => {
		const b = e.getBoundingClientRect();
		return { says: e.textContent, l: b.left, r: b.right, t: b.top + b.height * 0.16, b: b.bottom - b.height * 0.16 };
	});
	const wrong = [];
	texts.forEach((a, i) => {
		if (a.l < frame.left - 0.5 || a.r > frame.right + 0.5) wrong.push(a.says + " leaves the drawing");
		for (const b of texts.slice(0, i)) {
			if (a.l < b.r && b.l < a.r && a.t < b.b && b.t < a.b) wrong.push(a.says + " meets " + b.says);
		}
	});
	return wrong;
})()`

// smallest is the size of the smallest text in the drawing that is shown, in
// CSS pixels.
const smallest = `(() => {
	const svg = [...document.querySelectorAll(".machine-drawing svg")].find(e => e.checkVisibility());
	const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
	return Math.min(...[...svg.querySelectorAll("text:not(.letter)")].map(e => parseFloat(e.getAttribute("font-size")) * scale));
})()`

// notSeen are the lines and texts of the drawing in the colour of what is
// behind them.
const notSeen = `(() => {
	const paper = getComputedStyle(document.querySelector(".machine-drawing")).backgroundColor;
	const all = [...document.querySelectorAll(".machine-drawing :is(polyline, polygon, circle, text)")];
	return all.filter(e => getComputedStyle(e)[e.localName === "text" ? "fill" : "stroke"] === paper).map(e => e.outerHTML);
})()`

// few is the demo machine with six of its channels, many one of 64 channels,
// each with lanes of its own.
func few(m *wheel.Machine) { m.Name, m.Channels = "Six", m.Channels[13:19] }

func many(m *wheel.Machine) {
	m.Name, m.Channels = "Sixty-four", nil
	drain := m.Lanes[m.Lane("drain")]
	m.Lanes = []wheel.Lane{drain}
	for i := range 64 {
		fall := wheel.Lane{ID: fmt.Sprint("drop-", i), Kind: wheel.Fall, LengthMM: wheel.Known(200 + 6*float64(i)), Keep: wheel.Known(1)}
		m.Lanes = append(m.Lanes, fall)
		kind := wheel.ChannelKinds[i/16]
		c := wheel.Channel{ID: fmt.Sprint("c", i), Name: fmt.Sprintf("%s %d", kind, i+1), Row: i, Kind: kind, Service: wheel.Playing, Keys: []int{i + 36}, Path: []string{fall.ID}}
		c.Trip, c.Gate.ReloadMS, c.Strike.ClearMS, c.ExitMMS = wheel.Trip{ReachMM: wheel.Known(3), HoldMM: wheel.Known(6), ReturnMS: wheel.Known(60), LatchMS: wheel.Known(20)}, wheel.Known(150), wheel.Known(90), wheel.Known(200)
		if i%4 == 0 {
			chute := wheel.Lane{ID: fmt.Sprint("chute-", i/4), Kind: wheel.Ramp, LengthMM: wheel.Known(300 + 4*float64(i)), SlopeDeg: wheel.Known(9 + float64(i%5)), Keep: wheel.Known(0.5)}
			m.Lanes = append(m.Lanes, chute)
		}
		c.Exit = []string{fmt.Sprint("chute-", i/4), drain.ID}
		m.Channels = append(m.Channels, c)
	}
}

// From a phone to a wide window the drawing fits, its words are readable and
// meet nothing, and the page breaks no rule of axe-core. In forced colours every
// line is seen.
func TestDrawingIsReadableAtEveryWidth(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.StartDemo(t, web.New)
	for i, change := range []func(*wheel.Machine){few, many} {
		if status, body := a.Bring(t, "/machines", fmt.Sprint(i, ".json"), webtest.MachineFile(t, change)); status != 303 {
			t.Fatalf("%d: %s", status, body)
		}
	}
	for _, c := range []struct{ name, path string }{
		{"demo", "/machines/1"}, {"demo-channel", "/machines/1?channel=tube-c3"}, {"six", "/machines/2"}, {"sixty-four", "/machines/3"},
	} {
		t.Run(c.name, func(t *testing.T) {
			page := b.Open(t, a.URL+c.path, browsertest.Laptop)
			for _, v := range []struct {
				view  browsertest.View
				rules bool
			}{
				{browsertest.View{WidthPX: 320, HeightPX: 640}, false},
				{browsertest.Phone.InDark(), c.name != "six"},
				{browsertest.View{WidthPX: 640, HeightPX: 900}, false},
				{browsertest.View{WidthPX: 1020, HeightPX: 768}, false},
				{browsertest.View{WidthPX: 1280, HeightPX: 800}, c.name != "six"},
			} {
				page.Show(t, v.view)
				page.NoSideScroll(t)
				for _, s := range browsertest.Eval[[]string](t, page, textsThatMeet) {
					t.Errorf("%d px: %s", v.view.WidthPX, s)
				}
				if size := browsertest.Eval[float64](t, page, smallest); size < 10.5 {
					t.Errorf("%d px: letters of %.1f px", v.view.WidthPX, size)
				}
				page.Screenshot(t, fmt.Sprintf("drawing-%s-%d", c.name, v.view.WidthPX))
				if v.rules {
					page.Axe(t)
				}
			}
			page.Show(t, browsertest.View{WidthPX: 1280, HeightPX: 800, Dark: true})
			page.Screenshot(t, "drawing-"+c.name+"-1280-dark")
			page.Do(t, "force colours", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
				_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
					Features: []*emulation.MediaFeature{{Name: "forced-colors", Value: "active"}},
				})
				return err
			}))
			page.Screenshot(t, "drawing-"+c.name+"-1280-forced")
			for _, s := range browsertest.Eval[[]string](t, page, notSeen) {
				t.Errorf("in forced colours %s is not seen", s)
			}
		})
	}
}
