package pinnings_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net/http"
	"testing"
	"time"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// Where the large wheel has a pin, alone on its channel, and a channel without
// any. The step is on no bar or beat line.
const aPin, noPin, aStep = 64, 100, 2050

// largeWheel keeps a machine of 128 channels and 4,096 steps and a pinning of
// 20,000 pins, and returns the pinning's page.
func largeWheel(t testing.TB, a *webtest.App) string {
	t.Helper()
	const channels, steps, pins = 128, 4096, 20_000
	m := demo.Machine()
	m.Name, m.Wheel.Steps, m.Wheel.PinStock = "Hailstone the Great", steps, 0
	m.Wheel.RadiusMM *= 16
	m.Limits.TripsAtOnce = 0
	pattern, fall := m.Channels[0], m.Lanes[0]
	m.Channels, m.Lanes = nil, nil
	for i := range channels {
		fall.ID = fmt.Sprintf("drop-%03d", i)
		c := pattern
		c.ID, c.Name, c.Row, c.Keys = fmt.Sprintf("bar-%03d", i), fmt.Sprintf("Bar %d", i), i, []int{i}
		c.Path, c.Exit = []string{fall.ID}, nil
		m.Lanes, m.Channels = append(m.Lanes, fall), append(m.Channels, c)
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Every Drop", Machine: m.Name, TempoBPM: 60}
	pinAt := func(at int) {
		p.Pins = append(p.Pins, wheel.Pin{Channel: m.Channels[at/steps].ID, Step: at % steps})
	}
	pinAt(aPin*steps + aStep)
	random := rand.New(rand.NewPCG(1, 2))
	for _, at := range random.Perm(channels * steps) {
		if c := at / steps; c != aPin && c != noPin && len(p.Pins) < pins {
			pinAt(at)
		}
	}
	ctx := context.Background()
	id, err := a.Store.AddMachine(ctx, m)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := a.Store.AddPinning(ctx, id, 0, p)
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("/pinnings/%d", kept)
}

// How a large wheel scrolls is printed, not judged: it depends on what else
// the computer does. That its pins are drawn is judged, by their ink.
func TestALargeWheelIsDrawnAsItScrolls(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.Start(t, web.New)
	path := largeWheel(t, a)
	for _, part := range []string{"", "/verdict", "/verdict?tempo=180", "/wheel.json"} {
		start := time.Now()
		status, body := a.Get(t, path+part)
		t.Logf("GET %s: %d bytes in %v", path+part, len(body), time.Since(start).Round(time.Millisecond))
		if status != http.StatusOK {
			t.Fatalf("%d: %.200s", status, body)
		}
	}
	page := b.Open(t, a.URL+path, browsertest.Laptop)
	for _, tempo := range []string{"60", "180"} { // without findings, and with hundreds
		page.Go(t, a.URL+path+"?tempo="+tempo)
		page.WaitFor(t, `document.querySelector("[data-ready]")`)
		page.Click(t, "[data-whole]")
		for _, near := range []string{"whole turn", "far", "near", "nearest"} {
			if tempo == "60" {
				dark := browsertest.Eval[[]int](t, page, inkScript)
				if dark[0] < dark[1]+200 {
					t.Errorf("%s: the pin is %d dark of 765, the sheet beside it %d", near, dark[0], dark[1])
				}
			}
			f := browsertest.Eval[frames](t, page, scrollScript)
			t.Logf("%3s BPM, %-10s frames: p50 %5.1f ms, p95 %5.1f ms, longest %5.1f ms; drawing: p50 %4.1f ms, p95 %4.1f ms, longest %4.1f ms",
				tempo, near, f.Frame.P50, f.Frame.P95, f.Frame.Longest, f.Drawn.P50, f.Drawn.P95, f.Drawn.Longest)
			page.Screenshot(t, "large-"+tempo+"-"+near)
			if near != "nearest" {
				page.Click(t, "[data-nearer]")
			}
		}
		if !testing.Verbose() {
			break
		}
	}
}

// Pins are driven on a large wheel as on a small one. How long that takes is
// printed.
func TestALargeWheelIsWorkedOn(t *testing.T) {
	b := browsertest.Start(t)
	a := webtest.Start(t, web.New)
	w := openEditor(t, b, a.URL+largeWheel(t, a), browsertest.Laptop)
	w.over("bar-100", aStep)
	clickTimes(t, w, "bar-100", aStep+1, 16)
	if got := w.pins("bar-100"); len(got) != 0 {
		t.Errorf("driven and pulled in turn, the channel has pins at %v", got)
	}
	w.point("bar-064", 0)
	w.Press(t, "Shift+PageDown", "Shift+ArrowUp", "n") // its one pin, elsewhere, goes with its channel
	w.kept(17)
	if got := w.pins("bar-064"); len(got) != 1 || got[0] != aStep+1 {
		t.Errorf("nudged, the channel has pins at %v, want %d", got, aStep+1)
	}
}

type frames struct {
	Frame, Drawn struct{ P50, P95, Longest float64 } // ms
}

// inkScript reads how dark the middle of the pin is and of the channel without
// pins at the same step: the most over a few pixels, as a pin of the whole turn
// is thin.
var inkScript = fmt.Sprintf(`(async () => {
	const { face } = document.querySelector("[data-face]");
	const look = async (across) => {
		face.scroll.scrollTo((across - 3) * face.cellWidth, (%[3]d - 3) * face.cellHeight);
		await new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve)));
		const { x, y } = face.middleOf({ across, down: %[3]d });
		const { data } = face.ink.getImageData(Math.round(x * face.ratio), Math.round((y - 1) * face.ratio), 1, 3);
		return Math.max(...[0, 4, 8].map((i) => 765 - data[i] - data[i + 1] - data[i + 2]));
	};
	return [await look(%[1]d), await look(%[2]d)];
})()`, aPin, noPin, aStep)

const scrollScript = `(async () => {
	const { face } = document.querySelector("[data-face]");
	const next = () => new Promise((resolve) => requestAnimationFrame(resolve));
	const down = face.scroll.scrollHeight - face.scroll.clientHeight;
	const across = face.scroll.scrollWidth - face.scroll.clientWidth;
	const frame = [], drawn = [];
	let before = await next();
	for (let i = 0; i <= 40; i++) {
		face.scroll.scrollTo(across * i / 40, down * i / 40);
		face.redraw();
		const now = await next();
		frame.push(now - before);
		before = now;
		drawn.push(face.drawn);
	}
	const of = (list) => {
		list.sort((a, b) => a - b);
		return { P50: list[list.length >> 1], P95: list[Math.floor(list.length * 0.95)], Longest: list.at(-1) };
	};
	return { Frame: of(frame), Drawn: of(drawn) };
})()`
