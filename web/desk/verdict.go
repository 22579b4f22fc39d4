package desk

import (
	"context"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel"
)

// View writes the verdict on an open pinning as a page shows it.
type View func(context.Context, Snapshot) (Verdict, error)

// Snapshot is an open pinning as it is now, to be read only. A [View] keeps
// nothing of it.
type Snapshot struct {
	PinningID int64
	Machine   *store.Machine
	Works     *timing.Works
	File      *wheel.Pinning
	Turn      *timing.Turn // has the pins of File
	Standing  timing.Standing
	TempoBPM  float64 // at which findings are wanted
}

// sendVerdict sends clients the verdict, each at its tempo; it is worked out
// once for all who want it at the same one.
func (d *desk) sendVerdict(ctx context.Context, to map[*Client]struct{}, made string) error {
	sent := map[float64]VerdictMessage{}
	for c := range to {
		m, ok := sent[c.tempo]
		if !ok {
			v, err := d.view(ctx, Snapshot{d.id, d.machine, d.works, d.file, d.turn, d.standing, c.tempo})
			if err != nil {
				return err
			}
			m = VerdictMessage{"verdict", d.seq, v, made}
			sent[c.tempo] = m
		}
		c.Send(m)
	}
	return nil
}
