package crank

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"pinwright/wheel/say"
)

// MinRippleTurns is over how many turns of the crank ripple is measured at least.
// What does not repeat from turn to turn is its doubt.
const MinRippleTurns = 9

// Ripple is how a crank's speed varies within a turn, alike in every turn: the
// tempo at the crank's angle φ is T (1 + h(φ)),
//
//	h(φ) = a₁ cos φ + b₁ sin φ + a₂ cos 2φ + b₂ sin 2φ
//
// and the ripple is half of h's peak-to-peak.
type Ripple struct {
	Fraction float64 // of the tempo
	U        float64 // its standard uncertainty: twice it holds the true ripple 95 times in 100
	Once     float64 // amplitude of the part that comes once a turn
	Twice    float64 // of the part that comes twice
	FastestN int     // the mark of a turn nearest to which the crank is fastest, from 0
	Turns    int     // that it was measured over
	Faults   Faults
	JitterS  float64 // how far the times lie from even ones: standard deviation
	UnevenD  float64 // how far marks seem to lie from their places: the most, in degrees; 0 where it is not sure
}

// RippleOf measures ripple by the marks of a stretch, of which there are perTurn
// in a turn of the crank. The error is a sentence that says why it cannot be told.
//
// What a mark's span takes is divided by the turn of the crank around its middle,
// so that a slow wander falls out: over a whole turn ripple is the same wherever
// it begins. The harmonics 1 and 2 of 1 + h are fitted to these by least squares.
//
// The doubt is what the same fit finds where there is no ripple: besides the
// frequency of 1 or 2 a turn, of m/K more and less, K turns being measured. As so
// few of these say how large the noise is, it is widened by Student's t (JCGM
// 100:2008, G.3). Noise makes a harmonic longer, so its mean square is taken off the
// square of the harmonic's length; what that takes off the ripple is a doubt too.
func RippleOf(marks []Mark, perTurn int) (Ripple, error) {
	if perTurn < MinRippleMarks {
		return Ripple{}, fmt.Errorf("ripple takes at least %d marks in a turn of the crank, and the sensor has %s", MinRippleMarks, say.Whole(perTurn))
	}
	if err := inOrder(marks); err != nil {
		return Ripple{}, err
	}
	var r Ripple
	marks, used := thinned(marks, perTurn)
	marks, r.Faults = mended(marks)
	var s *markSpans
	sparse := len(marks) > 1 && 2*(len(marks)-1) < marks[len(marks)-1].N-marks[0].N
	if !sparse {
		s = spansOf(marks, used)
		r.Turns, sparse = s.turns(), 2*s.seen < s.all
	}
	switch {
	case sparse:
		return r, fmt.Errorf("ripple cannot be told: the machine’s file gives the sensor %s in a turn of the crank, and fewer than half of them arrive one after the other", say.Count(perTurn, "mark", "marks"))
	case r.Turns < MinRippleTurns-1:
		return r, fmt.Errorf("ripple is shown after %d turns of the crank without a rest", MinRippleTurns)
	case 4*(r.Faults.Missed+r.Faults.Doubled) > r.Turns:
		return r, fmt.Errorf("ripple cannot be told: the times between neighbouring marks jump (%s as if one were missed, %s as if one were counted twice, in %s)",
			times(r.Faults.Missed), times(r.Faults.Doubled), say.Count(r.Turns, "turn", "turns"))
	}
	h, ok := s.fit()
	if !ok {
		return r, errors.New("ripple cannot be told: the crank all but stops within a turn")
	}
	noise, raw := s.noise(h), h.ripple()
	for n := range noise {
		h[n].shorten(math.Sqrt2 * noise[n].wide())
	}
	r.Fraction, r.Once, r.Twice = h.ripple(), h[0].length(), h[1].length()
	r.U = math.Hypot(h.doubt(noise), raw-r.Fraction)
	r.FastestN = int(math.Round(h.fastest()*float64(perTurn))) % perTurn
	r.JitterS, r.UnevenD = s.jitter(h), s.uneven(h)
	return r, nil
}

// findRipple finds the ripple of the marks of a stretch; between is how many counts
// came that are none of the marks.
func (m *Measured) findRipple(marks []Mark, perTurn, between int) {
	m.RippleNo = ""
	r, err := RippleOf(marks, perTurn)
	switch {
	case perTurn < MinRippleMarks:
		m.RippleNo = fmt.Sprintf("Ripple is not seen: it takes at least %d marks in a turn of the crank, and the machine’s file gives the sensor %s (wheel.crank_marks).", MinRippleMarks, say.Whole(perTurn))
	case 4*between > len(marks):
		m.RippleNo = fmt.Sprintf("Ripple is not seen: counts of the sensor come between the %s in a turn that the machine’s file has (wheel.crank_marks).", say.Count(perTurn, "mark", "marks"))
	case err != nil:
		m.RippleNo = say.Sentence(err)
	}
	m.Ripple, m.RippleOK = r, m.RippleNo == ""
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return say.Count(n, "time", "times")
}

// markSpans are the spans between marks, over the turns around them.
type markSpans struct {
	perTurn   int
	first     int       // the mark at which the first span begins
	part      []float64 // of an even turn that each takes, 1 in the mean; NaN where a mark is not there
	turnS     []float64 // that the turn around each takes
	seen, all int
}

func (s *markSpans) turns() int { return len(s.part) / s.perTurn }

// spansOf takes the latest whole turns of marks.
func spansOf(marks []Mark, perTurn int) *markSpans {
	s := &markSpans{perTurn: perTurn}
	if len(marks) < 2 {
		return s
	}
	first := marks[0].N
	at := make([]float64, marks[len(marks)-1].N-first+1) // of each mark
	there := make([]bool, len(at))
	for i, m := range marks {
		at[m.N-first], there[m.N-first] = m.AtS, true
		if i > 0 { // what is not there lies evenly between
			before := marks[i-1]
			for n := before.N + 1; n < m.N; n++ {
				at[n-first] = before.AtS + (m.AtS-before.AtS)*float64(n-before.N)/float64(m.N-before.N)
			}
		}
	}
	half := perTurn / 2
	last := len(at) - 1 - half - 1 // a span i needs marks i − half to i + 1 + half
	from := half
	if n := last - from + 1; n < perTurn {
		return s
	} else {
		from += n % perTurn
	}
	s.first = first + from
	for i := from; i <= last; i++ {
		turn := at[i+1+half] - at[i-half]
		if perTurn%2 == 0 {
			turn = (at[i+half] - at[i-half] + at[i+1+half] - at[i+1-half]) / 2
		}
		part := math.NaN()
		if there[i] && there[i+1] {
			part = (at[i+1] - at[i]) * float64(perTurn) / turn
			s.seen++
		}
		s.all++
		s.part, s.turnS = append(s.part, part), append(s.turnS, turn)
	}
	return s
}

// phase is where in the turn a span lies, from 0.
func (s *markSpans) phase(i int) int { return (s.first + i) % s.perTurn }

// eachSeen calls use with each span that is there.
func (s *markSpans) eachSeen(use func(i, phase int, part float64)) {
	for i, part := range s.part {
		if !math.IsNaN(part) {
			use(i, s.phase(i), part)
		}
	}
}

// harmonic is a cos nφ + b sin nφ.
type harmonic struct{ a, b float64 }

func (v harmonic) length() float64 { return math.Hypot(v.a, v.b) }

// shorten takes from the square of v's length that of a noise.
func (v *harmonic) shorten(noise float64) {
	if l := v.length(); l > 0 {
		f := math.Sqrt(max(0, l*l-noise*noise)) / l
		v.a, v.b = v.a*f, v.b*f
	}
}

// harmonics are once and twice a turn.
type harmonics [2]harmonic

// at is h where the bases have these values.
func (h harmonics) at(v [4]float64) float64 {
	return h[0].a*v[0] + h[0].b*v[1] + h[1].a*v[2] + h[1].b*v[3]
}

// bases are cos φ, sin φ, cos 2φ, sin 2φ at a part of a turn.
func bases(turn float64) [4]float64 {
	sin, cos := math.Sincos(2 * math.Pi * turn)
	return [4]float64{cos, sin, cos*cos - sin*sin, 2 * sin * cos}
}

// places are where in a turn h is looked at for its ends: what lies between is
// nearer than 1 part in 5,000 to them.
var places = func() (all [360][4]float64) {
	for i := range all {
		all[i] = bases(float64(i) / float64(len(all)))
	}
	return all
}()

func (h harmonics) ends() (low, high, fastest float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for i := range places {
		v := h.at(places[i])
		if low = min(low, v); v > high {
			high, fastest = v, float64(i)/float64(len(places))
		}
	}
	return low, high, fastest
}

func (h harmonics) ripple() float64 {
	low, high, _ := h.ends()
	return (high - low) / 2
}

// fastest is the part of a turn at which the crank is fastest.
func (h harmonics) fastest() float64 {
	_, _, turn := h.ends()
	return turn
}

// spanParts works out what part of an even turn each span of a turn takes,
//
//	g(k) = ∫ dφ/(1 + h) over the span / mean of all
//
// and how g changes with a₁, b₁, a₂, b₂, by Simpson's rule. It is false where the
// crank would all but stop.
func (h harmonics) spanParts(perTurn int) (g []float64, by [4][]float64, ok bool) {
	if low, _, _ := h.ends(); low < -0.95 {
		return nil, by, false
	}
	g = make([]float64, perTurn)
	for k := range by {
		by[k] = make([]float64, perTurn)
	}
	steps := 2 * max(2, 64/perTurn)
	mean, meanBy := 0.0, [4]float64{}
	for p := range perTurn {
		for i := range steps + 1 {
			weight := 2 + 2*float64(i%2)
			if i == 0 || i == steps {
				weight = 1
			}
			weight /= 3 * float64(steps)
			at := bases((float64(p) + float64(i)/float64(steps)) / float64(perTurn))
			slow := 1 / (1 + h.at(at))
			g[p] += weight * slow
			for k, v := range at {
				by[k][p] -= weight * slow * slow * v
			}
		}
		mean += g[p] / float64(perTurn)
		for k := range by {
			meanBy[k] += by[k][p] / float64(perTurn)
		}
	}
	for p := range g {
		g[p] /= mean
		for k := range by {
			by[k][p] = (by[k][p] - g[p]*meanBy[k]) / mean
		}
	}
	return g, by, true
}

func (h harmonics) moved(by []float64, times float64) harmonics {
	return harmonics{{h[0].a + times*by[0], h[0].b + times*by[1]}, {h[1].a + times*by[2], h[1].b + times*by[3]}}
}

// fit finds h by least squares, with Gauss and Newton's steps. It is false where
// there is none.
func (s *markSpans) fit() (h harmonics, ok bool) {
	for range 50 {
		g, by, ok := h.spanParts(s.perTurn)
		if !ok {
			return h, false
		}
		step, ok := s.project(by, func(i, phase int, part float64) float64 { return part - g[phase] })
		if !ok {
			return h, false
		}
		times := 1.0
		for low := -1.0; times > 1e-3; times /= 2 { // not past where the crank would stop
			if low, _, _ = h.moved(step, times).ends(); low > -0.95 {
				break
			}
		}
		h = h.moved(step, times)
		if mat.Norm(mat.NewVecDense(4, step), 2) < 1e-10 {
			return h, true
		}
	}
	low, _, _ := h.ends()
	return h, low > -0.9
}

// project finds by least squares how much of each column of by there is in a
// value of every span.
func (s *markSpans) project(by [4][]float64, value func(i, phase int, part float64) float64) ([]float64, bool) {
	normal, right := mat.NewSymDense(4, nil), mat.NewVecDense(4, nil)
	s.eachSeen(func(i, phase int, part float64) {
		v := value(i, phase, part)
		for a := range by {
			right.SetVec(a, right.AtVec(a)+by[a][phase]*v)
			for b := a; b < 4; b++ {
				normal.SetSym(a, b, normal.At(a, b)+by[a][phase]*by[b][phase])
			}
		}
	})
	var factors mat.Cholesky
	if !factors.Factorize(normal) {
		return nil, false
	}
	var x mat.VecDense
	if err := factors.SolveVecTo(&x, right); err != nil {
		return nil, false
	}
	return x.RawVector().Data, true
}

// noise is that of a harmonic: the standard deviation of its a and of its b, and
// by how many independent values it is known.
type noise struct{ s, dof float64 }

// wide is a standard deviation twice which is exceeded 5 times in 100.
func (n noise) wide() float64 { return n.s * widened(n.dof) }

// mostBeside is how many frequencies on either side a noise is taken from at most.
const mostBeside = 8

// noise looks for ripple where there is none: the same fit to what is left over,
// turned by m whole turns over the whole stretch. That moves its frequencies by m/K
// of one a turn, up to a quarter.
func (s *markSpans) noise(h harmonics) (of [2]noise) {
	g, by, _ := h.spanParts(s.perTurn)
	beside := min(max(s.turns()/4, 2), mostBeside)
	squares := [2]float64{}
	for m := 1; m <= beside; m++ {
		for quarter := range 2 {
			x, _ := s.project(by, func(i, phase int, part float64) float64 {
				turned := 2*math.Pi*float64(m)*(float64(i)+0.5)/float64(len(s.part)) + math.Pi/2*float64(quarter)
				return math.Sqrt2 * math.Cos(turned) * (part - g[phase])
			})
			for k, v := range x {
				squares[k/2] += v * v
			}
		}
	}
	for n := range of {
		of[n] = noise{math.Sqrt(squares[n] / float64(4*beside)), float64(4 * beside)}
	}
	return of
}

// doubt is the standard uncertainty of h's ripple. Each harmonic is moved by its
// noise to either side, along itself and across; the mean squares of what that
// changes are added. Where a harmonic is lost in its noise all four ways lengthen
// it, so that the doubt of no ripple is on the careful side.
func (h harmonics) doubt(of [2]noise) float64 {
	is, sum := h.ripple(), 0.0
	for n, v := range h {
		along := harmonic{1, 0}
		if l := v.length(); l > 0 {
			along = harmonic{v.a / l, v.b / l}
		}
		s := of[n].wide()
		for _, way := range []harmonic{along, {-along.b, along.a}} {
			for _, by := range []float64{s, -s} {
				to := h
				to[n].a, to[n].b = to[n].a+by*way.a, to[n].b+by*way.b
				change := to.ripple() - is
				sum += change * change / 2
			}
		}
	}
	return math.Sqrt(sum)
}

// jitter is how far, in seconds, the times of marks lie from even ones: τ. A mark
// that is late makes one span longer and the next shorter. Differences from span
// to span then vary together by −4τ² with their neighbours, and a hand's by hardly
// anything.
func (s *markSpans) jitter(h harmonics) float64 {
	g, _, _ := h.spanParts(s.perTurn)
	together, n, late, before := 0.0, 0, math.NaN(), math.NaN()
	for i, part := range s.part {
		now := (part - g[s.phase(i)]) * s.turnS[i] / float64(s.perTurn)
		if both := (now - late) * before; !math.IsNaN(both) {
			together += both
			n++
		}
		late, before = now, now-late
	}
	return math.Sqrt(max(0, -together/float64(4*max(n, 1))))
}

// uneven is how far marks seem to lie from their places, in degrees: what repeats
// from turn to turn and is no ripple once or twice a turn. It is 0 where that is
// not more than chance would make it (four times the expected square).
func (s *markSpans) uneven(h harmonics) float64 {
	g, _, _ := h.spanParts(s.perTurn)
	sum, n := make([]float64, s.perTurn), make([]float64, s.perTurn)
	s.eachSeen(func(_, phase int, part float64) {
		sum[phase] += part - g[phase]
		n[phase]++
	})
	squares, left := 0.0, 0.0
	s.eachSeen(func(_, phase int, part float64) {
		d := part - g[phase] - sum[phase]/n[phase]
		squares += d * d
		left++
	})
	free := float64(s.perTurn - 5)
	variance := squares / max(left-float64(s.perTurn), 1)
	explained, at, places := 0.0, 0.0, make([]float64, s.perTurn)
	for phase := range sum {
		if n[phase] == 0 {
			return 0
		}
		explained += sum[phase] * sum[phase] / n[phase]
		at += sum[phase] / n[phase] * 360 / float64(s.perTurn)
		places[phase] = at
	}
	if explained <= 4*free*variance || variance == 0 && explained < 1e-9 {
		return 0
	}
	mean, most := 0.0, 0.0
	for _, p := range places {
		mean += p / float64(s.perTurn)
	}
	for _, p := range places {
		most = max(most, math.Abs(p-mean))
	}
	if most < 0.05 {
		return 0
	}
	return most
}
