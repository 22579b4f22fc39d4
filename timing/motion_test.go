package timing

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"
)

// The rolling test holds the closed form against the energy balance of a
// sphere on two rails, worked by hand: after x metres down the slope the
// height lost is x sin α, so
//
//	m g x sin α − k m g cos α x = ½ m v² + ½ I ω²,  I = 2/5 m r²
//
// and rolling about the chord through the contacts, at distance
// h = √(r² − (w/2)²) from the centre, gives ω = v/h.
func TestRollingOnTwoRailsKeepsTheEnergyBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0.004, 0.04).Draw(t, "diameter")
		w := d * rapid.Float64Range(0, 0.95).Draw(t, "gap")
		alpha := rapid.Float64Range(0.02, 1.5).Draw(t, "slope")
		k := rapid.Float64Range(0, 0.01).Draw(t, "rolling")
		x := rapid.Float64Range(0.01, 3).Draw(t, "length")

		a := RampAcceleration(alpha, k, w, d)
		_, v, err := Traverse(0, a, x)
		if err != nil {
			t.Fatal(err)
		}
		r, mass := d/2, 1.0
		h := math.Sqrt(r*r - w*w/4)
		moving := 0.5*mass*v*v + 0.5*(0.4*mass*r*r)*(v/h)*(v/h)
		given := mass * 9.80665 * x * (math.Sin(alpha) - k*math.Cos(alpha))
		if math.Abs(moving-given) > 1e-9*given {
			t.Fatalf("energy %v J, %v J given", moving, given)
		}
	})
}

// Any mechanics handbook: a solid sphere rolls down a plane with 5/7 g sin α.
func TestSolidSphereOnAPlaneRollsWithFiveSeventhsOfTheSlope(t *testing.T) {
	for _, deg := range []float64{1, 11, 30, 89} {
		alpha := radians(deg)
		want := 5.0 / 7 * 9.80665 * math.Sin(alpha)
		if got := RampAcceleration(alpha, 0, 0, 0.012); math.Abs(got-want) > 1e-12 {
			t.Errorf("%v°: %v m/s², want %v", deg, got, want)
		}
	}
}

// 3rd CGPM (1901): g = 9.80665 m/s². Free fall from rest over 1 m then takes
// √(2/9.80665) = 0.45160 s and ends at √(2·9.80665) = 4.42869 m/s (worked by
// hand).
func TestFreeFallOverOneMetre(t *testing.T) {
	time, v, err := Traverse(0, Gravity, 1)
	if err != nil || math.Abs(time-0.451601) > 1e-6 || math.Abs(v-4.428690) > 1e-6 {
		t.Errorf("got %v s, %v m/s, %v", time, v, err)
	}
}

// The reference is the integral of dx/v(x) with v² = u² + 2ax, by
// Gauss–Legendre quadrature (gonum). It goes from the end at which the marble is
// slower, backward where it slows down; x = l y² takes out the root there.
func TestTraverseAgreesWithNumericalIntegration(t *testing.T) {
	compared, backward, stalled, crawling := 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.Float64Range(0, 3).Draw(t, "u")
		a := rapid.Float64Range(-2, 12).Draw(t, "a")
		l := rapid.Float64Range(0.01, 2).Draw(t, "l")
		got, v, err := Traverse(u, a, l)
		square := u*u + 2*a*l
		if square <= 0 {
			if !errors.Is(err, ErrStall) {
				t.Fatalf("v² = %v and no stall", square)
			}
			stalled++
			return
		}
		if math.Abs(v*v-square) > 1e-9 {
			t.Fatalf("v² = %v, want %v", v*v, square)
		}
		if square < 1e-12 { // under a micrometre a second: v² itself is rounding
			crawling++
			return
		}
		slow := u
		if a < 0 {
			slow = math.Sqrt(square)
			backward++
		}
		compared++
		want := quad.Fixed(func(y float64) float64 {
			return 2 * l * y / math.Sqrt(slow*slow+2*math.Abs(a)*l*y*y)
		}, 0, 1, 1000, quad.Legendre{}, 0)
		if math.Abs(got-want) > 1e-5*want {
			t.Fatalf("through in %v s, by integration %v s", got, want)
		}
	})
	t.Logf("%d lanes compared, %d of them backward; %d stalled, %d crawling", compared, backward, stalled, crawling)
	if compared < floor(800) || backward < floor(20) || stalled < floor(20) || crawling > compared/8 {
		t.Errorf("%d lanes compared, %d of them backward; %d stalled, %d crawling", compared, backward, stalled, crawling)
	}
}

// With quadratic drag a sphere falls at v² = (g/k)(1 − e^(−2kx)),
// k = ½ ρ C A/m. Air 1.2 kg/m³, C = 0.47 for a sphere (from memory), steel
// 7850 kg/m³. Its time over 0.5 m by quadrature, x = y², against ours.
func TestDragLeftOutChangesHalfAMetreOfFallByLessThanThreeTenthsOfAMillisecond(t *testing.T) {
	const d, l = 0.012, 0.5
	mass := 7850 * math.Pi / 6 * d * d * d
	k := 0.5 * 1.2 * 0.47 * (math.Pi * d * d / 4) / mass
	withDrag := quad.Fixed(func(y float64) float64 {
		if y == 0 {
			return 0
		}
		return 2 * y / math.Sqrt(9.80665/k*-math.Expm1(-2*k*y*y))
	}, 0, math.Sqrt(l), 200, quad.Legendre{}, 0)
	ours, _, _ := Traverse(0, Gravity, l)
	late := (withDrag - ours) * 1000
	t.Logf("drag makes it %.3f ms late", late)
	if late <= 0 || late >= 0.3 {
		t.Errorf("drag makes it %v ms late; the bound is 0.3 ms", late)
	}
}

// Bounce off a plate: up at e v, back after 2 e v/g (worked by hand from
// v = g t): 0.5 × 2 m/s gives 2·1/9.80665 = 0.203943 s.
func TestBounceTime(t *testing.T) {
	if got := BounceTime(0.5, 2); math.Abs(got-0.203943) > 1e-6 {
		t.Errorf("%v s", got)
	}
}

// Each bounce is e times as long as the one before: at 0.5 and 2 m/s 0.203943 s,
// then half, a quarter … in all 0.407886 s (worked by hand).
func TestSettleTimeIsTheSumOfAllBounces(t *testing.T) {
	if got := SettleTime(0.5, 2); math.Abs(got-0.407886) > 2e-6 {
		t.Errorf("%v s", got)
	}
	sum, v := 0.0, 3.0
	for range 400 {
		sum, v = sum+BounceTime(0.7, v), v*0.7
	}
	if got := SettleTime(0.7, 3); math.Abs(got-sum) > 1e-9 {
		t.Errorf("%v s, want the sum of the bounces, %v s", got, sum)
	}
}

// One 12 mm diameter from rest down 10° without rolling resistance: a =
// 5/7 · 9.80665 · 0.173648 = 1.216355 m/s², t = √(0.024/1.216355) = 0.140467 s
// (worked by hand).
func TestFeedTimeOverOneDiameter(t *testing.T) {
	got, err := FeedTime(0.012, radians(10), 0)
	if err != nil || math.Abs(got-0.140467) > 1e-6 {
		t.Errorf("%v s, %v", got, err)
	}
	if _, err := FeedTime(0.012, radians(0.1), 0.003); !errors.Is(err, ErrStall) {
		t.Errorf("a feed flatter than its rolling resistance: %v", err)
	}
}

// Two marbles moved in small steps tell by themselves how near they come. A lead
// a little longer than the need keeps them s apart, one a little shorter does
// not; a need of the whole time through is one that only an empty lane meets.
func TestNeedAgreesWithMarblesMovedInSmallSteps(t *testing.T) {
	longer, shorter, whole, none, stalled := 0, 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		l := lane{length: rapid.Float64Range(0.02, 1).Draw(t, "length"), accel: rapid.Float64Range(-0.5, 10).Draw(t, "accel")}
		u1 := rapid.Float64Range(0.05, 2).Draw(t, "u1")
		u2 := rapid.Float64Range(0.05, 2).Draw(t, "u2")
		s := rapid.Float64Range(0.005, 0.05).Draw(t, "spacing")
		q1, q2 := passing{speed: u1, accel: l.accel, length: l.length}, passing{speed: u2, accel: l.accel, length: l.length}
		if !(q1.leaving() > 0 && q2.leaving() > 0) { // v² ≤ 0: its root is 0 or none
			stalled++
			return
		}
		time1 := q1.through()
		const steps = 2000
		apart := func(lead float64) bool {
			if lead >= time1 {
				return true
			}
			for i := range steps + 1 {
				clock := lead + (time1-lead)*float64(i)/steps // both on the lane from lead to the first's exit
				if q1.at(clock)-q2.at(clock-lead) < s-1e-12 {
					return false
				}
			}
			return true
		}
		switch need := l.need(u1, time1, u2, s); {
		case need > time1+1e-12 || need < 0:
			t.Fatalf("need %v s of %v s through", need, time1)
		case need < time1-1e-9:
			if longer++; !apart(need + 1e-7) {
				t.Fatalf("need %v s, and marbles meet with that lead", need)
			}
			fallthrough
		default:
			if need >= time1-1e-9 {
				whole++
			}
			if need <= 1e-6 {
				none++
				return
			}
			if shorter++; apart(need - 1e-6) {
				t.Fatalf("need %v s, and marbles stay apart with less", need)
			}
		}
	})
	t.Logf("%d leads longer, %d shorter; %d needs of the whole time, %d of none, %d stalled", longer, shorter, whole, none, stalled)
	if longer < floor(800) || shorter < floor(1000) || none > 0 || stalled > longer/4 {
		t.Errorf("%d leads longer, %d shorter; %d needs of the whole time, %d of none, %d stalled", longer, shorter, whole, none, stalled)
	}
}
