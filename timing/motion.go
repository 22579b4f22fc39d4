package timing

import (
	"errors"
	"math"
)

// Gravity is standard gravity in m/s² (3rd CGPM, 1901).
const Gravity = 9.80665

// ErrStall says that a marble would stop before the end of its way.
var ErrStall = errors.New("the marble stalls")

// Traverse returns how long a marble takes through a lane and how fast it
// leaves it. The marble enters at speed u (m/s) and moves l metres under
// constant acceleration a (m/s²).
//
//	v = √(u² + 2al),  t = 2l/(u + v)
//
// It returns ErrStall if the marble would stop inside the lane or never start.
func Traverse(u, a, l float64) (t, v float64, err error) {
	square := u*u + 2*a*l
	if !(square > 0) {
		return 0, 0, ErrStall
	}
	v = math.Sqrt(square)
	return 2 * l / (u + v), v, nil
}

// RampAcceleration is that of a solid sphere of diameter d rolling without
// slip on two rails w apart (same unit; 0 = flat bottom) down a slope of angle
// alpha (radians) against rolling resistance k, in m/s².
//
//	a = g (sin α − k cos α) / (1 + (2/5)/ρ²),  ρ² = 1 − (w/d)²
//
// The sphere, I = 2/5 m r², turns about the chord through its two points of
// contact, ρr from its centre. On a flat bottom ρ = 1 and this is the
// handbook's 5/7 g sin α.
func RampAcceleration(alpha, k, w, d float64) float64 {
	rho2 := 1 - (w/d)*(w/d)
	return Gravity * (math.Sin(alpha) - k*math.Cos(alpha)) / (1 + 0.4/rho2)
}

// FeedTime is the time the next marble takes to roll one diameter d (m) from
// rest down a feed of angle alpha (radians) with rolling resistance k, in s.
//
//	t = √(2d/a),  a = g (sin α − k cos α)/(7/5)
//
// It returns ErrStall if the feed is too flat for a marble to start.
func FeedTime(d, alpha, k float64) (float64, error) {
	t, _, err := Traverse(0, RampAcceleration(alpha, k, 0, 1), d)
	return t, err
}

// BounceTime is how long a marble that struck at speed v (m/s) with a
// coefficient of restitution e is in the air before it is back on the plate,
// t = 2 e v / g, in s.
func BounceTime(e, v float64) float64 { return 2 * e * v / Gravity }

// SettleTime is how long a marble that struck at speed v (m/s) goes on bouncing
// with a coefficient of restitution e below 1, t = 2 e v / (g (1 − e)), in s.
func SettleTime(e, v float64) float64 { return BounceTime(e, v) / (1 - e) }
