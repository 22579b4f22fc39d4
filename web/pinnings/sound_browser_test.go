package pinnings_test

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
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
	page := browsertest.Start(t).Open(t, webtest.Start(t, web.New).URL+"/machines", browsertest.Laptop)
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
	page := browsertest.Start(t).Open(t, webtest.Start(t, web.New).URL+"/machines", browsertest.Laptop)
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
	page := browsertest.Start(t).Open(t, webtest.Start(t, web.New).URL+"/machines", browsertest.Laptop)
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
	page := browsertest.Start(t).Open(t, webtest.Start(t, web.New).URL+"/machines", browsertest.Laptop)
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
