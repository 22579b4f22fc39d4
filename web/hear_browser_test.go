package web

import (
	"context"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"pinwright/web/browsertest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// bisect is the root of f between two points at which its signs differ.
func bisect(f func(float64) float64, low, high float64) float64 {
	for range 200 {
		if mid := (low + high) / 2; (f(mid) > 0) == (f(low) > 0) {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// freeBarRoot is the nth root of cos x · cosh x = 1 above 0, the characteristic
// equation of a beam with free ends.
func freeBarRoot(n int) float64 {
	middle := (2*float64(n) + 1) * math.Pi / 2
	return bisect(func(x float64) float64 { return math.Cos(x)*math.Cosh(x) - 1 }, middle-0.5, middle+0.5)
}

// Blevins, Formulas for Natural Frequency and Mode Shape, prints 4.73004074,
// 7.85320462 and 10.9956078 for a free beam (from memory).
func TestHearTheBarsOfTheCheckAreTheHandbooks(t *testing.T) {
	for i, want := range []float64{4.73004074, 7.85320462, 10.9956078} {
		if got := freeBarRoot(i + 1); math.Abs(got-want) > 1e-7 {
			t.Errorf("root %d is %.8f, want %.8f", i+1, got, want)
		}
	}
}

const rate = 44100

// peakNear is the frequency of the strongest peak within a tenth of hz in the
// spectrum of the first second, in Hz: the top of a parabola through the
// logarithms of three lines of a Hann window's transform, and its level.
func peakNear(samples []float64, hz float64) (peakHz, level float64) {
	n := rate
	windowed := make([]float64, n)
	for i := range min(n, len(samples)) {
		windowed[i] = samples[i] * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n)))
	}
	lines := fourier.NewFFT(n).Coefficients(nil, windowed)
	power := func(i int) float64 { return math.Log(math.Hypot(real(lines[i]), imag(lines[i])) + 1e-300) }
	best := int(hz * 0.9)
	for i := best; float64(i) <= hz*1.1; i++ {
		if power(i) > power(best) {
			best = i
		}
	}
	a, b, c := power(best-1), power(best), power(best+1)
	return float64(best) + (a-c)/(2*(a-2*b+c)), b
}

func cents(hz, want float64) float64 { return 1200 * math.Log2(hz/want) }

// Sounds rendered by the browser have their partials where mechanics and the
// standard pitch put them: ISO 16 (A4 = 440 Hz) in equal temperament; bars and
// tubes by the characteristic equation; drums by the zeros of Bessel's
// functions as Go's math.Jn has them; strings by whole numbers.
func TestHearBodiesRingAtTheirPartials(t *testing.T) {
	page := browsertest.Start(t).Open(t, newApp(t).URL+"/machines", browsertest.Laptop)
	pitch := func(key int) float64 { return 440 * math.Pow(2, float64(key-69)/12) }
	beam := func(over float64, ns ...int) (ratios []float64) {
		for _, n := range ns {
			ratios = append(ratios, math.Pow(freeBarRoot(n)/over, 2))
		}
		return ratios
	}
	zero := func(order int, low, high float64) float64 {
		return bisect(func(x float64) float64 { return math.Jn(order, x) }, low, high)
	}
	rim := zero(0, 2, 3)
	membrane := []float64{1, zero(1, 3, 4.5) / rim, zero(2, 4.5, 6) / rim}
	bar := beam(freeBarRoot(1), 1, 2, 3)
	for i, want := range []float64{1, 2.756, 5.404} { // as handbooks print them, the second cut and not rounded
		if math.Abs(bar[i]-want) > 6e-4 {
			t.Fatalf("the bar's ratios are %v", bar)
		}
	}
	tube := beam(freeBarRoot(4)/math.Sqrt2, 4, 5, 6)
	for _, c := range []struct {
		kind       string
		key        int
		hz         float64
		ratios     []float64
		mostCents  float64
		lowestPeak bool // the first partial is the strongest
	}{
		{"bar", 69, 440, bar, 2, true},
		{"bar", 67, pitch(67), bar, 2, true},
		{"bar", 72, 523.2511, bar, 2, true}, // C5, as tables of the equal temperament have it
		{"bar", 84, pitch(84), bar, 2, true},
		{"tube", 48, pitch(48), tube, 2, true},
		{"tube", 55, pitch(55), tube, 2, true},
		{"block", 76, pitch(76), bar[:2], 15, true}, // so short that its lines are wide
		{"drum", 57, 220, membrane, 6, true},
		{"string", 60, pitch(60), []float64{1, 2, 3, 4}, 2, true},
		{"bell", 72, pitch(72), []float64{0.5, 1, 2}, 2, false},
	} {
		t.Run(fmt.Sprintf("%s-%d", c.kind, c.key), func(t *testing.T) {
			samples := browsertest.Eval[[]float64](t, page, fmt.Sprintf(`(async () => {
				const { bodyOf, strikeOf } = await import("/static/js/lib/sound.js");
				const context = new OfflineAudioContext(1, %[1]d, %[1]d);
				const samples = strikeOf(bodyOf("%[2]s", %[3]d, false), %[1]d);
				const buffer = new AudioBuffer({ length: samples.length, sampleRate: %[1]d });
				buffer.copyToChannel(samples, 0);
				const source = new AudioBufferSourceNode(context, { buffer });
				source.connect(context.destination);
				source.start();
				return [...(await context.startRendering()).getChannelData(0)].map((v) => Math.fround(v));
			})()`, rate, c.kind, c.key))
			_, first := peakNear(samples, c.hz*c.ratios[0])
			for i, ratio := range c.ratios {
				got, level := peakNear(samples, c.hz*ratio)
				off := cents(got, c.hz*ratio)
				t.Logf("partial %.4f: %.2f Hz, off by %+.2f cents, level %.1f dB", ratio, got, off, (level-first)*20/math.Ln10)
				if math.Abs(off) > c.mostCents {
					t.Errorf("partial %.3f is at %.2f Hz, want %.2f: %+.1f cents", ratio, got, c.hz*ratio, off)
				}
				if c.lowestPeak && i > 0 && level >= first {
					t.Errorf("partial %.3f is louder than the first", ratio)
				}
			}
			if samples[0] != 0 {
				t.Errorf("it starts with a click, at %v", samples[0])
			}
		})
	}
}

// Every sound of the demo machine starts and ends at nothing, stays below full
// scale, and is a new sound for another key.
func TestHearEverySoundOfTheMachineIsWhole(t *testing.T) {
	page := browsertest.Start(t).Open(t, newApp(t).URL+"/machines", browsertest.Laptop)
	type sound struct{ Start, End, Most, Seconds, Sum float64 }
	seen := map[float64]string{}
	for _, ch := range demo.Machine().Channels {
		got := browsertest.Eval[sound](t, page, fmt.Sprintf(`import("/static/js/lib/sound.js").then(({ bodyOf, strikeOf }) => {
			const s = strikeOf(bodyOf("%s", %d, %v), 48000);
			let most = 0, sum = 0;
			for (const v of s) { most = Math.max(most, Math.abs(v)); sum += v * v; }
			return { Start: Math.abs(s[0]), End: Math.abs(s.at(-1)), Most: most, Seconds: s.length / 48000, Sum: sum };
		})`, ch.Kind, ch.Keys[0], ch.Drum))
		if got.Start != 0 || got.End > 1e-6 || got.Most < 0.1 || got.Most > 1 || got.Seconds < 0.05 || got.Seconds > 4.6 {
			t.Errorf("%s: %+v", ch.Name, got)
		}
		if other := seen[got.Sum]; other != "" {
			t.Errorf("%s sounds as %s", ch.Name, other)
		}
		seen[got.Sum] = ch.Name
	}
}

// Whatever strikes at once, what comes out is below full scale and is not
// nothing; and more than the most at once make room.
func TestHearNothingClipsAndTheOldestMakeRoom(t *testing.T) {
	page := browsertest.Start(t).Open(t, newApp(t).URL+"/machines", browsertest.Laptop)
	type heardAtOnce struct {
		Most, Least float64
		AtOnce      int
	}
	for _, strikes := range []int{1, 8, 48, 400} {
		got := browsertest.Eval[heardAtOnce](t, page, fmt.Sprintf(`(async () => {
			const { Room, mostAtOnce } = await import("/static/js/lib/sound.js");
			const context = new OfflineAudioContext(1, 24000, 48000);
			const room = new Room(context);
			for (let i = 0; i < %d; i++) room.strike({ kind: "bar", key: 60 + (i %% 24), drum: false }, 0.05 + i * 1e-5);
			if (room.sounding.length > mostAtOnce) throw new Error("too many");
			const samples = (await context.startRendering()).getChannelData(0);
			let most = 0, least = 0;
			for (const v of samples) most = Math.max(most, Math.abs(v));
			for (const v of samples.slice(0, 2000)) least = Math.max(least, Math.abs(v));
			return { Most: most, Least: least, AtOnce: room.sounding.length };
		})()`, strikes))
		t.Logf("%d at once: %+v", strikes, got)
		if got.Most > 1 || got.Most < 0.02 || got.Least > 1e-4 || got.AtOnce != min(strikes, 48) {
			t.Errorf("%d strikes at once: %+v", strikes, got)
		}
	}
}

// A wheel on a clock of the test's own: over any changes of tempo and way each
// pin sounds once a turn, and at one tempo at its own times, without drift.
func TestHearEveryStrikeComesOnceATurnOverChangesOfTempo(t *testing.T) {
	page := browsertest.Start(t).Open(t, newApp(t).URL+"/machines", browsertest.Laptop)
	type result struct {
		Fewest, Most, Turns int
		Drift               float64
		Steps               []float64
	}
	got := browsertest.Eval[result](t, page, `(async () => {
		const { Turning } = await import("/static/js/lib/turning.js");
		let seed = 7;
		const chance = () => (seed = (seed * 48271) % 2147483647) / 2147483647;
		// Pins whose strikes lag, some before the seam, some beyond it.
		const pins = Array.from({ length: 60 }, (_, i) => ({ channel: i % 7, step: i, part: chance(), lag: (chance() - 0.3) * 0.4 }));
		const at = (turnS, played) => pins.map(({ channel, step, part, lag }) =>
			({ channel, step, at_s: part * turnS + (played ? lag : 0), missed: false, why: "" }));
		// Without a change: the thousandth turn as the first.
		const even = new Turning();
		even.load(at(2.5, true), 2.5);
		even.start(100);
		let drift = 0;
		const heard = new Map();
		for (let now = 100; now < 2600; now += 0.31) {
			even.take(now + 0.15, (s, time) => {
				const n = heard.get(s.step) ?? 0;
				heard.set(s.step, n + 1);
				const turns = (time - 100 - s.at_s) / 2.5;
				drift = Math.max(drift, Math.abs(turns - Math.round(turns)) * 2.5);
			});
		}
		// With a change every few moments: each pin once in each turn.
		const turning = new Turning();
		let turnS = 4;
		turning.load(at(turnS, false), turnS);
		turning.start(10);
		const times = pins.map(() => []);
		const places = [];
		let last = 0;
		for (let now = 10; now < 400; now += 0.025) {
			turning.take(now + 0.15, (s, time) => { times[s.step].push(time); if (time < now - 1e-9) throw new Error("late"); });
			const place = turning.placeAt(now + 0.15);
			places.push(place - last);
			last = place;
			if (chance() < 0.05) {
				turnS = 1.5 + chance() * 6;
				turning.load(at(turnS, chance() < 0.5), turnS);
			}
		}
		const counts = times.map((t) => t.length);
		const gap = Math.min(...times.flatMap((t) => t.slice(1).map((v, i) => v - t[i])));
		if (gap < 0.7) throw new Error("twice in " + gap + " s");
		return { Fewest: Math.min(...counts), Most: Math.max(...counts), Turns: Math.round(last), Drift: drift,
			Steps: [Math.min(...places), Math.max(...places.slice(1))] };
	})()`)
	t.Logf("%+v", got)
	if got.Drift > 1e-9 {
		t.Errorf("after a thousand turns a strike is off by %v s", got.Drift)
	}
	if got.Fewest < got.Turns-1 || got.Most > got.Turns+1 {
		t.Errorf("in %d turns pins sounded from %d to %d times", got.Turns, got.Fewest, got.Most)
	}
	// 25 ms at turns of 1.5 s to 7.5 s.
	if got.Steps[0] < 0.025/7.5-1e-9 || got.Steps[1] > 0.025/1.5+1e-9 {
		t.Errorf("the wheel moved by %v to %v of a turn", got.Steps[0], got.Steps[1])
	}
}

// smallWheel keeps a machine of 16 steps, whose turn takes a second at 240 BPM,
// and a pinning of four pins on it, and returns the pinning's page.
func (a *app) smallWheel(t testing.TB) string {
	t.Helper()
	m := demo.Machine()
	m.Name, m.Wheel.Steps, m.Wheel.RadiusMM = "Little Hail", 16, m.Wheel.RadiusMM/16
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Four Drops", Machine: m.Name, TempoBPM: 240}
	for i, id := range []string{"bar-c5", "bar-e5", "bar-g5", "bar-e5"} {
		p.Pins = append(p.Pins, wheel.Pin{Channel: id, Step: i * 4})
	}
	ctx := context.Background()
	id, err := a.store.AddMachine(ctx, m)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := a.store.AddPinning(ctx, id, 0, p)
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("/pinnings/%d", kept)
}

// hearingHere is what plays on the page.
const hearingHere = `document.querySelector("[data-hear]").hearing`

// record keeps when each strike is due by the audio clock in window.due, and
// in window.starts when it was started, which is later only after a stall.
func record(t testing.TB, page *browsertest.Page) {
	t.Helper()
	browsertest.Eval[bool](t, page, `(() => {
		window.due = [];
		window.starts = [];
		const start = AudioBufferSourceNode.prototype.start;
		AudioBufferSourceNode.prototype.start = function (at) { window.starts.push(at); start.call(this, at); };
		const { turning } = `+hearingHere+`;
		const take = turning.take.bind(turning);
		turning.take = (until, sound) => take(until, (strike, at) => { window.due.push(at); sound(strike, at); });
		return true;
	})()`)
}

// setTempo sets the tempo in one go, as a slide does: no half of it is heard.
func setTempo(t *testing.T, page *browsertest.Page, bpm string) {
	t.Helper()
	browsertest.Eval[bool](t, page, fmt.Sprintf(`(() => {
		const field = document.querySelector("form.tempo #tempo");
		field.value = %q;
		return field.dispatchEvent(new Event("input", { bubbles: true }));
	})()`, bpm))
}

// recordPlaces keeps every place that the page names while the wheel turns.
func recordPlaces(t *testing.T, page *browsertest.Page) {
	t.Helper()
	browsertest.Eval[bool](t, page, `(() => {
		window.places = [];
		const place = document.querySelector("[data-place]");
		new MutationObserver(() => places.push(place.textContent)).observe(place, { childList: true, characterData: true, subtree: true });
		return true;
	})()`)
}

func TestHearThePageSoundsTurnAfterTurnByTheAudioClock(t *testing.T) {
	a := newApp(t)
	page := browsertest.Start(t).Open(t, a.URL+a.smallWheel(t), browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	if browsertest.Eval[bool](t, page, hearingHere+`.room !== null`) {
		t.Error("the sound is open before anyone asked for it")
	}
	record(t, page)
	page.Click(t, "[data-crank]")
	page.WaitFor(t, `window.starts.length >= 12`)
	if got := page.Text(t, "[data-crank]"); got != "Stop the wheel" {
		t.Errorf("while it turns the button says %q", got)
	}
	page.Click(t, "[data-crank]")
	page.WaitFor(t, `!document.querySelector("[data-turning]")`)
	due := browsertest.Eval[[]float64](t, page, `window.due`)
	for i, at := range due {
		// Four strikes to the turn of 1 s, so one each quarter (worked by hand).
		if want := due[0] + 0.25*float64(i); math.Abs(at-want) > 1e-9 {
			t.Errorf("strike %d is due at %v s, want %v", i, at, want)
		}
	}
	onTime := 0
	for _, at := range browsertest.Eval[[]float64](t, page, `window.starts`) {
		if slices.Contains(due, at) {
			onTime++
		}
	}
	t.Logf("%d of %d strikes were started on time", onTime, len(due))
	if onTime < len(due)/2 {
		t.Errorf("only %d of %d strikes were started when they were due", onTime, len(due))
	}
	n := browsertest.Eval[int](t, page, `new Promise((done) => setTimeout(() => done(window.due.length), 400))`)
	if n != len(due) {
		t.Errorf("%d strikes came after the stop", n-len(due))
	}
	if got := page.Text(t, "[data-crank]"); got != "Turn the wheel" {
		t.Errorf("after the stop the button says %q", got)
	}
}

func TestHearTheTempoChangesWithoutLosingThePlace(t *testing.T) {
	a := newApp(t)
	page := browsertest.Start(t).Open(t, a.URL+a.smallWheel(t), browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	record(t, page)
	page.Click(t, "[data-crank]")
	page.WaitFor(t, `window.due.length >= 3`)
	setTempo(t, page, "120")
	page.WaitFor(t, hearingHere+`.answer.tempo_bpm === 120`)
	changed := browsertest.Eval[int](t, page, `window.due.length`)
	page.WaitFor(t, fmt.Sprintf(`window.due.length >= %d`, changed+4))
	page.Click(t, "[data-crank]")
	due := browsertest.Eval[[]float64](t, page, `window.due`)
	slow := 0
	for i := 1; i < len(due); i++ {
		// A quarter of a second at 240 BPM, half of one at 120, and one gap in
		// which the tempo changed.
		switch gap := due[i] - due[i-1]; {
		case math.Abs(gap-0.25) < 1e-6 && slow == 0:
		case math.Abs(gap-0.5) < 1e-6:
			slow++
		case gap > 0.25 && gap < 0.5 && slow == 0:
			slow++
		default:
			t.Errorf("gap %d is %v s in %v", i, gap, due)
		}
	}
	if slow < 3 {
		t.Errorf("%d gaps of the new tempo", slow)
	}
	if got := page.Text(t, "[data-facts]"); got != "At 120 BPM a turn takes 2 s." {
		t.Errorf("the page says %q", got)
	}

	// Typed wrong it goes on as it was, and says so.
	page.Click(t, "[data-crank]")
	page.WaitFor(t, hearingHere+`.turning.turns`)
	page.Type(t, "form.tempo #tempo", "fast")
	page.WaitFor(t, `document.querySelector(".hear [data-problem]").textContent.endsWith("The wheel goes on at 120 BPM.")`)
	if !browsertest.Eval[bool](t, page, hearingHere+`.turning.turns`) {
		t.Error("the wheel stopped over a tempo that is none")
	}
	setTempo(t, page, "60")
	page.WaitFor(t, hearingHere+`.answer.tempo_bpm === 60 && document.querySelector(".hear [data-problem]").hidden`)
	browsertest.Eval[bool](t, page, `new Promise((done) => setTimeout(() => done(true), 200))`)
	page.Troubles(t) // the browser's own notes of the refusals
}

func TestHearAsThisMachinePlaysItMissedDropsAreCountedAndMarked(t *testing.T) {
	a := newDemo(t)
	path := a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"140"}})
	page := browsertest.Start(t).Open(t, a.URL+path, browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	missed := map[string][]int{}
	all := a.strikes(t, path+"/strikes?as=played")
	n := 0
	for _, s := range all.Strikes {
		if s.Missed {
			id := all.Channels[s.Channel].ID
			missed[id] = append(missed[id], s.Step)
			n++
		}
	}
	page.Click(t, "[data-crank]")
	page.WaitFor(t, hearingHere+`.turning.turns`)
	if got := page.Text(t, ".hear"); strings.Contains(got, "missed each turn") {
		t.Errorf("as written the page says %q", got)
	}
	const where = `((now) => [` + hearingHere + `.turning.placeAt(now), now])(` + hearingHere + `.now)`
	before := browsertest.Eval[[]float64](t, page, where)
	page.Click(t, ".hear input[value=played]")
	page.WaitFor(t, `document.querySelector("[data-missed]").textContent !== ""`)
	want := fmt.Sprintf("%d of %d drops are missed each turn: %d unready.", n, len(all.Strikes), n)
	if n == 1 {
		want = strings.Replace(want, "are", "is", 1)
	}
	if got := page.Text(t, "[data-missed]"); got != want {
		t.Errorf("the page says %q, want %q", got, want)
	}
	// 64 beats to the turn, at 140 a minute 27.43 s (worked by hand).
	now := browsertest.Eval[[]float64](t, page, where)
	if off := now[0] - before[0] - (now[1]-before[1])/(64*60./140); math.Abs(off-math.Round(off)) > 1e-3 {
		t.Errorf("in %v s the wheel went from %v to %v of a turn", now[1]-before[1], before[0], now[0])
	}
	for id, steps := range missed {
		for _, step := range steps {
			kinds := browsertest.Eval[string](t, page, fmt.Sprintf(`(() => {
				const { face } = document.querySelector("[data-face]");
				return face.marksAt.get(face.turn.channels.findIndex((c) => c.id === "%s"))?.get(%d) ?? "";
			})()`, id, step))
			if !strings.Contains(kinds, "missed") {
				t.Errorf("the face marks %s at step %d with %q", id, step, kinds)
			}
		}
	}
	page.Axe(t)
	page.Screenshot(t, "hear-played")
	page.Click(t, ".hear input[value=written]")
	page.WaitFor(t, `document.querySelector("[data-missed]").textContent === "" && document.querySelector("[data-face]").face.marks.size === 1`)
}

func TestHearTheFaceTurnsWithTheWheelUntilSomeoneLooksElsewhere(t *testing.T) {
	a := newDemo(t)
	page := browsertest.Start(t).Open(t, a.URL+a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"150"}}), browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	recordPlaces(t, page)
	// From the page's head to the wheel by keys: Space on the face turns it.
	browsertest.Eval[bool](t, page, `(document.querySelector(".face-scroll").focus(), true)`)
	page.Press(t, "Space")
	const face = `document.querySelector("[data-face]").face`
	page.WaitFor(t, face+`.rolls && `+face+`.at > 4`)
	line := `(` + face + `.middleOf({ across: 0, down: ` + face + `.at }).y)`
	first := browsertest.Eval[float64](t, page, line)
	page.WaitFor(t, face+`.at > 12`)
	if then := browsertest.Eval[float64](t, page, line); math.Abs(then-first) > 1 {
		t.Errorf("the line moved from %v to %v px", first, then)
	}
	page.Screenshot(t, "hear-rolling")
	page.WaitFor(t, `places.includes("bar 2 beat 1")`)
	if got := browsertest.Eval[string](t, page, `document.querySelector("[data-rim]").getAttribute("transform")`); !strings.HasPrefix(got, "rotate(-") {
		t.Errorf("the wheel seen from its end stands at %q", got)
	}
	browsertest.Eval[bool](t, page, `(document.querySelector(".face-scroll").scrollTop = 1800, true)`)
	page.WaitFor(t, `!document.querySelector("[data-follow]").checked && !`+face+`.rolls`)
	if top := browsertest.Eval[float64](t, page, `new Promise((done) => setTimeout(() => done(document.querySelector(".face-scroll").scrollTop), 200))`); top != 1800 {
		t.Errorf("the face was taken back to %v px", top)
	}
	page.Click(t, "[data-follow]")
	page.WaitFor(t, face+`.rolls`)
	browsertest.Eval[bool](t, page, `(document.querySelector(".face-scroll").focus(), true)`)
	page.Press(t, "Space")
	page.WaitFor(t, `!document.querySelector("[data-turning]")`)
	stood := browsertest.Eval[float64](t, page, `(() => {
		const face = `+face+`, { draw } = face;
		window.drawn = []; // where the wheel stood, and in how many parts it was drawn
		face.draw = function () {
			drawn.push([this.at, this.rolls ? this.views.length : 0]);
			draw.call(this);
		};
		return face.at;
	})()`)
	page.Click(t, "[data-crank]")
	page.WaitFor(t, fmt.Sprintf(`drawn.some(([at]) => at > %v)`, stood))
	if at := browsertest.Eval[float64](t, page, fmt.Sprintf(`drawn.find(([at]) => at !== %v)[0]`, stood)); at < stood || at > stood+16 {
		t.Errorf("it stood at step %v and goes on from %v", stood, at)
	}
	page.Click(t, "[data-seam]")
	page.WaitFor(t, `drawn.some(([at]) => at < 2)`)
	if parts := browsertest.Eval[float64](t, page, `drawn.find(([at]) => at < 2)[1]`); parts != 2 {
		t.Errorf("at the seam the face is drawn in %v parts; the end of the turn is to be in view before its beginning", parts)
	}
	page.Screenshot(t, "hear-at-the-seam")
	page.Press(t, "Shift+Tab", "Space") // from "Back to the seam" to "Stop the wheel"
	page.WaitFor(t, `!document.querySelector("[data-turning]")`)
}

func TestHearWithReducedMotionOnlyWordsMove(t *testing.T) {
	a := newDemo(t)
	page := browsertest.Start(t).Open(t, a.URL+a.keepPinning(t, "Nine Knocks", url.Values{"tempo": {"180"}}), browsertest.Phone.HeldStill())
	page.Show(t, browsertest.Phone.HeldStill())
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	before := browsertest.Eval[float64](t, page, `document.querySelector(".face-scroll").scrollTop`)
	recordPlaces(t, page)
	page.Click(t, "[data-crank]")
	page.WaitFor(t, `places.includes("bar 1 beat 3")`)
	if browsertest.Eval[bool](t, page, `document.querySelector("[data-face]").face.at !== null || document.querySelector("[data-rim]").hasAttribute("transform")`) {
		t.Error("the wheel moves")
	}
	if now := browsertest.Eval[float64](t, page, `document.querySelector(".face-scroll").scrollTop`); now != before {
		t.Errorf("the face scrolled from %v to %v", before, now)
	}
	if live := browsertest.Eval[bool](t, page, `document.querySelector("[data-place]").closest("[aria-live], [role=status], [role=alert]") !== null`); live {
		t.Error("every beat would be read out")
	}
	page.Click(t, "[data-crank]")
	page.WaitFor(t, `!document.querySelector("[data-turning]")`)
}

func TestHearAProgramThatIsGoneStopsTheWheelWithWords(t *testing.T) {
	a := newApp(t)
	page := browsertest.Start(t).Open(t, a.URL+a.smallWheel(t), browsertest.Laptop)
	page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
	page.Click(t, "[data-crank]")
	page.WaitFor(t, hearingHere+`.turning.turns`)
	a.CloseClientConnections()
	a.Listener.Close()
	page.Click(t, ".hear input[value=played]")
	page.WaitFor(t, `document.querySelector(".hear [data-problem]").textContent.startsWith("The program does not answer.") && !document.querySelector("[data-turning]")`)
	if got := page.Text(t, "[data-crank]"); got != "Turn the wheel" {
		t.Errorf("the button says %q", got)
	}
	browsertest.Eval[bool](t, page, `new Promise((done) => setTimeout(() => done(true), 300))`) // for the browser's own log
	page.Troubles(t)
}

func TestHearIsGoodForEveryone(t *testing.T) {
	a := newDemo(t)
	page := browsertest.Start(t).Open(t, a.URL+a.keepPinning(t, "Mill Race", url.Values{"tempo": {"150"}}), browsertest.Laptop)
	for _, v := range []struct {
		name string
		view browsertest.View
	}{
		{"laptop-light", browsertest.Laptop}, {"laptop-dark", browsertest.Laptop.InDark()},
		{"phone-light", browsertest.Phone}, {"phone-dark", browsertest.Phone.InDark()},
	} {
		if !testing.Verbose() && v.name != "laptop-light" && v.name != "phone-dark" {
			continue
		}
		page.Show(t, v.view)
		page.WaitFor(t, `document.querySelector("[data-ready]") && document.querySelector("[data-joined]")`)
		page.Click(t, ".hear input[value=played]")
		page.Click(t, "[data-crank]")
		page.WaitFor(t, hearingHere+`.turning.turns && document.querySelector("[data-face]").face.at > 1`)
		page.NoSideScroll(t)
		page.Axe(t)
		page.Screenshot(t, "hear-"+v.name)
		page.Click(t, "[data-crank]")
		page.WaitFor(t, `!document.querySelector("[data-turning]")`)
	}
	small := browsertest.Eval[[]string](t, page, `[...document.querySelectorAll(".hear button, .hear input")]
		.filter((e) => e.checkVisibility())
		.map((e) => [e, e.getBoundingClientRect()])
		.filter(([e, box]) => box.width < 24 || box.height < 24)
		.map(([e, box]) => e.outerHTML.slice(0, 60) + " " + box.width + " by " + box.height)`)
	for _, s := range small {
		t.Error(s)
	}
}
