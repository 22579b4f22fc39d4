package song

import (
	"fmt"
	"slices"
)

// check says what keeps the song from being written.
func (s *Song) check() error {
	if _, err := s.division(); err != nil {
		return err
	}
	if len(s.Tracks) > MaxTracks {
		return fmt.Errorf("it has %s tracks; a song may have up to %s", count(int64(len(s.Tracks))), count(MaxTracks))
	}
	end := s.EndTick
	for i, t := range s.Tempos {
		if t.Tick < 0 || i > 0 && t.Tick <= s.Tempos[i-1].Tick {
			return fmt.Errorf("Tempos[%d].Tick is %d; ticks start from 0 and rise", i, t.Tick)
		}
		if t.MicrosPerQuarter < 1 || t.MicrosPerQuarter > 0xFFFFFF {
			return fmt.Errorf("Tempos[%d].MicrosPerQuarter is %d; it goes from 1 to 16,777,215", i, t.MicrosPerQuarter)
		}
		end = max(end, t.Tick)
	}
	for i, m := range s.Meters {
		if m.Tick < 0 || i > 0 && m.Tick <= s.Meters[i-1].Tick {
			return fmt.Errorf("Meters[%d].Tick is %d; ticks start from 0 and rise", i, m.Tick)
		}
		if wrong := m.wrong(s.TicksPerQuarter); wrong != "" {
			return fmt.Errorf("Meters[%d].%s", i, wrong)
		}
		end = max(end, m.Tick)
	}
	for i, n := range s.Notes {
		if wrong := n.wrong(max(1, len(s.Tracks))); wrong != "" {
			return fmt.Errorf("Notes[%d].%s", i, wrong)
		}
		end = max(end, n.Tick+n.Ticks, n.Tick+1)
	}
	if s.EndTick < 0 {
		return fmt.Errorf("EndTick is %d; it cannot be negative", s.EndTick)
	}
	meters := inForce(slices.Clone(s.Meters), defaultMeter, Meter.tick, Meter.same)
	if layBars(meters, s.TicksPerQuarter, end, MaxBars).full {
		return fmt.Errorf("it has more than %s bars, the most a song may have", count(MaxBars))
	}
	return nil
}

// maxTick keeps sums of ticks far from overflow; no song comes near it.
const maxTick = 1 << 50

// wrong says what is wrong with a note among so many tracks, or nothing.
func (n Note) wrong(tracks int) string {
	switch {
	case n.Tick < 0 || n.Tick > maxTick:
		return fmt.Sprintf("Tick is %d; it goes from 0 to %d", n.Tick, int64(maxTick))
	case n.Ticks < 0 || n.Ticks > maxTick:
		return fmt.Sprintf("Ticks is %d; it goes from 0 to %d", n.Ticks, int64(maxTick))
	case n.Track < 0 || n.Track >= tracks:
		return fmt.Sprintf("Track is %d; it goes from 0 to %d", n.Track, tracks-1)
	case n.Key > 127:
		return fmt.Sprintf("Key is %d; it goes from 0 to 127", n.Key)
	case n.Velocity < 1 || n.Velocity > 127:
		return fmt.Sprintf("Velocity is %d; it goes from 1 to 127", n.Velocity)
	case n.Channel < 1 || n.Channel > 16:
		return fmt.Sprintf("Channel is %d; it goes from 1 to 16", n.Channel)
	}
	return ""
}

// wrong says what is wrong with a meter at so many ticks per quarter note, or
// nothing.
func (m Meter) wrong(ticksPerQuarter float64) string {
	switch length := barTicks(m, ticksPerQuarter); {
	case m.Numerator < 1 || m.Numerator > 255:
		return fmt.Sprintf("Numerator is %d; it goes from 1 to 255", m.Numerator)
	case m.Denominator < 1 || m.Denominator > 64 || m.Denominator&(m.Denominator-1) != 0:
		return fmt.Sprintf("Denominator is %d; it is a power of two from 1 to 64", m.Denominator)
	case length < 1:
		return fmt.Sprintf("Numerator is %d over %d, a bar of %.2g ticks; it must be 1 tick or longer", m.Numerator, m.Denominator, length)
	}
	return ""
}
