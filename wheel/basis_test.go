package wheel_test

import (
	"slices"
	"testing"

	"pinwright/wheel"
)

// Whatever is unknown or assumed is listed with the figures on which times
// depend, once, and nothing else is.
func TestGroundsListWhatIsUnknownAndAssumed(t *testing.T) {
	full := hailstone(t)
	bare := full.Clone()
	c := &bare.Channels[0]
	c.Trip.LatchMS, c.Gate.ReloadMS, c.Strike.ClearMS, c.ExitMMS = wheel.Maybe{}, wheel.Maybe{}, wheel.Maybe{}, wheel.Maybe{}
	bare.Lanes[0].LengthMM, bare.Limits.Wander = wheel.Maybe{}, wheel.Maybe{}
	feed := bare.Clone()
	feed.Channels[0].Gate.FeedSlopeDeg, feed.Channels[0].Strike.Restitution = wheel.Known(4), wheel.Known(0.3)
	hold := full.Clone()
	hold.Channels[0].Works = wheel.Holds
	pipe := full.Clone()
	pipe.Lanes = append(pipe.Lanes, wheel.Lane{ID: "pipe", Kind: wheel.Fall, LengthMM: wheel.Known(300), BoreMM: 14})
	pipe.Channels[0].Path, pipe.Marble.DensityKgM3 = []string{"pipe"}, 0
	for name, m := range map[string]*wheel.Machine{"full": full, "bare": bare, "feed": feed, "hold": hold, "pipe": pipe} {
		grounds := m.Grounds()
		var unknown, assumed []string
		seen := map[string]bool{}
		for _, b := range grounds.All() {
			if seen[b.Path] {
				t.Errorf("%s: %s is listed twice", name, b.Path)
			}
			seen[b.Path] = true
			switch b.Basis {
			case wheel.UnknownBasis:
				unknown = append(unknown, b.Path)
			case wheel.AssumedBasis:
				assumed = append(assumed, b.Path)
			}
		}
		sorted := func(paths []string) []string { return slices.Sorted(slices.Values(paths)) }
		if got, want := sorted(unknown), sorted(m.Unknown(wheel.AllChannels)); !slices.Equal(got, want) {
			t.Errorf("%s: unknown are %v, want %v", name, got, want)
		}
		if got, want := sorted(assumed), sorted(m.Assumed(wheel.AllChannels)); !slices.Equal(got, want) {
			t.Errorf("%s: assumed are %v, want %v", name, got, want)
		}
		n := wheel.CountBases(grounds.All())
		if n[wheel.UnknownBasis] != len(unknown) || n[wheel.AssumedBasis] != len(assumed) || n[0]+n[1]+n[2]+n[3]+n[4] != len(seen) {
			t.Errorf("%s: counted %v of %d", name, n, len(seen))
		}
	}
}

func TestEachFigureRestsOnWhatTheFileSays(t *testing.T) {
	m := hailstone(t)
	c := &m.Channels[0]
	c.Gate.ReloadMS, c.Gate.ReloadSDMS = wheel.Known(140), wheel.Known(8)
	c.Trip.LatchMS = wheel.Known(0) // written to be 0: 5 % of it is nothing
	c.Trip.JitterMS = wheel.Maybe{}
	m.Lanes[0].Keep = wheel.Maybe{}
	m.Wheel.PinSDMM = wheel.Maybe{}
	at := "channels." + c.ID + "."
	m.Measured = []wheel.Measured{
		{Figure: at + "gate.reload_ms", N: 16, SD: wheel.Known(8), On: "2026-11-20"}, // u = 8/√16 = 2
		{Figure: at + "strike.clear_ms", U: wheel.Known(3)},
	}
	want := map[string]struct {
		basis    wheel.Basis
		value, u float64
		entry    bool
	}{
		at + "gate.reload_ms":              {wheel.MeasuredBasis, 140, 2, true},
		at + "strike.clear_ms":             {wheel.MeasuredBasis, c.Strike.ClearMS.Or(0), 3, true},
		at + "trip.latch_ms":               {wheel.FileBasis, 0, 0, false},
		at + "trip.reach_mm":               {wheel.AssumedBasis, c.Trip.ReachMM.Or(0), 0.5, false},
		at + "gate.release_mm_s":           {wheel.UsualBasis, 0, 0, false},
		"wheel.radius_mm":                  {wheel.FileBasis, 600, 0, false},
		"wheel.pin_sd_mm":                  {wheel.AssumedBasis, 0.5, 0, false},
		"lanes." + m.Lanes[0].ID + ".keep": {wheel.UsualBasis, 1, 0, false},
	}
	grounds := m.Grounds()
	for _, b := range grounds.All() {
		if w, is := want[b.Path]; is {
			if b.Basis != w.basis || b.Value != w.value || b.U != w.u || (b.Entry != nil) != w.entry {
				t.Errorf("%s is %+v, want %+v", b.Path, b, w)
			}
			delete(want, b.Path)
		}
	}
	for path := range want {
		t.Errorf("%s is not listed", path)
	}
}
