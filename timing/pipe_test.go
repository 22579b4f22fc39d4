package timing

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

// A 12 mm steel ball in a bore of 14 mm: A = 113.10 mm², A₁ = 40.84 mm², so
// A₁/(A + A₁) = 0.26531; m = 7.1025 g; √(2 m g/(ρ A)) = 32.04 m/s; v∞ = 0.8 ·
// 0.26531 · 32.04 = 6.80 m/s (worked by hand).
func TestTerminalSpeedInAPipe(t *testing.T) {
	if v := TerminalSpeed(0.012, 0.014, 7850, PipeC); math.Abs(v-6.80) > 0.005 {
		t.Errorf("the terminal speed is %.4f m/s, want 6.80", v)
	}
}

// The integral of dv/dt = g (1 − v²/v∞²) by the classical Runge-Kutta method.
func TestAFallInAPipeIsThatOfTheEquationOfMotion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		terminal := rapid.Float64Range(0.2, 20).Draw(t, "terminal")
		u := rapid.Float64Range(0, 1.5).Draw(t, "of it") * terminal
		length := rapid.Float64Range(0.01, 1.5).Draw(t, "length")
		accel := func(v float64) float64 { return 9.80665 * (1 - v*v/terminal/terminal) }
		const h = 1e-4
		x, v, at := 0.0, u, 0.0
		for {
			k1 := accel(v)
			k2 := accel(v + h/2*k1)
			k3 := accel(v + h/2*k2)
			k4 := accel(v + h*k3)
			// Position by the same steps: its derivative is v.
			dx := h * (v + h/6*(k1+k2+k3))
			if x+dx > length {
				break
			}
			x, v, at = x+dx, v+h/6*(k1+2*k2+2*k3+k4), at+h
		}
		// The rest of the last step at the speed reached.
		at += (length - x) / v
		got, speed := PipeFall(u, terminal, length)
		if math.Abs(got-at) > 1e-5*at+1e-6 || math.Abs(speed-v) > 2e-3 {
			t.Fatalf("%v s and %v m/s, by integration %v s and %v m/s", got, speed, at, v)
		}
		if back := pipeAlong(u, terminal, got); math.Abs(back-length) > 1e-9 {
			t.Fatalf("after that time it has come %v m of %v", back, length)
		}
	})
}

// With a bore far wider than the ball the air does not matter: the time is that
// of free fall, √(2·0.5/9.80665) = 0.31933 s (worked by hand).
func TestAWidePipeIsFreeAir(t *testing.T) {
	if got, _ := PipeFall(0, 1e4, 0.5); math.Abs(got-0.31933) > 1e-5 {
		t.Errorf("%v s, want 0.31933", got)
	}
}

// Clear gap 7 mm, rods of 4 mm, ball of 12 mm: (7 + 4)·12/(12 + 4) = 8.25 mm
// (worked by hand).
func TestContactGapOnRoundRods(t *testing.T) {
	if got := ContactGapMM(&wheel.Lane{ClearGapMM: 7, RodMM: 4}, 12); got != 8.25 {
		t.Errorf("%v mm, want 8.25", got)
	}
}

// On a flat bottom (ρ = 1) a ball rolls up to tan α · 0.4/1.4 = friction: with
// 0.15 to atan 0.525 = 27.7° (worked by hand; the handbook's 7/2 μ).
func TestASteepRampSlips(t *testing.T) {
	l := wheel.Lane{Kind: wheel.Ramp, SlopeDeg: wheel.Known(28)}
	if _, most, slips := slipsAt(&l, 12); !slips || math.Abs(most-27.7) > 0.01 {
		t.Errorf("slips %v above %v°, want 27.70°", slips, most)
	}
	l.SlopeDeg = wheel.Known(27)
	if _, _, slips := slipsAt(&l, 12); slips {
		t.Error("slips at 27°")
	}
}
