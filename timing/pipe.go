package timing

import "math"

// Air that a marble pushes aside in a pipe closed below.
const (
	// PipeC is the coefficient of discharge of the gap round the marble, and
	// PipeCDoubt its standard uncertainty: from memory.
	PipeC      = 0.8
	PipeCDoubt = 0.2
	airDensity = 1.2 // kg/m³, at about 20 °C and sea level
)

// TerminalSpeed is the speed that a ball of diameter d falling in a pipe of
// inner diameter bore comes to, in m/s; lengths in m, density in kg/m³. The air
// that it displaces has to pass the gap.
//
//	v∞ = C (A₁/(A + A₁)) √(2 m g/(ρ A)),  A = π d²/4, A₁ = π bore²/4 − A
//
// m is the ball's mass and ρ the density of air. c is the coefficient of
// discharge, [PipeC].
func TerminalSpeed(d, bore, density, c float64) float64 {
	area := math.Pi * d * d / 4
	gap := math.Pi*bore*bore/4 - area
	mass := density * math.Pi * d * d * d / 6
	return c * gap / (area + gap) * math.Sqrt(2*mass*Gravity/(airDensity*area))
}

// PipeFall returns how long a ball that enters a pipe at speed u takes for x
// metres, and how fast it is then, where it comes to terminal speed v (m/s).
//
//	w² = v² − (v² − u²) e^(−2 g x/v²),  t = (v/g) (artanh(w/v) − artanh(u/v))
//
// with arcoth for artanh above the terminal speed. At it, the ball keeps it.
func PipeFall(u, v, x float64) (t, w float64) {
	// (v − w)(v + w) = (v² − u²) e^(−2 g x/v²) turns the difference of the two
	// artanh into one that serves at and above the terminal speed too.
	w = math.Sqrt(v*v - (v*v-u*u)*math.Exp(-2*Gravity*x/(v*v)))
	return v / Gravity * (math.Log((v+w)/(v+u)) + Gravity*x/(v*v)), w
}

// pipeAlong is how far a ball in a pipe has come t seconds after it entered at
// speed u, in m; the inverse of PipeFall.
//
//	x = (v²/g) ln(cosh φ + (u/v) sinh φ),  φ = g t/v
func pipeAlong(u, v, t float64) float64 {
	phi := Gravity * t / v
	// ln(cosh φ + (u/v) sinh φ) = φ + ln(1 + (1 − u/v)/2 (e^(−2φ) − 1))
	return v * v / Gravity * (phi + math.Log1p((1-u/v)/2*math.Expm1(-2*phi)))
}
