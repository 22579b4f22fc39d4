package place

import (
	"context"
	"iter"
	"slices"

	"pinwright/wheel"
)

// Log is what was said in a job, as it was kept. A job may have many thousand
// taps: whoever keeps them is asked for those that matter and no more. Lists are
// in the order in which the taps came.
type Log interface {
	// Tap is the tap with an id; kept is false where the job has none.
	Tap(ctx context.Context, id string) (k KeptTap, kept bool, err error)
	// Kind are the taps of a kind.
	Kind(ctx context.Context, kind TapKind) ([]KeptTap, error)
	// KindAt are those of a kind at a step.
	KindAt(ctx context.Context, kind TapKind, step int) ([]KeptTap, error)
	// Steps are the steps that taps of a kind name, each once, in order.
	Steps(ctx context.Context, kind TapKind) ([]int, error)
	// LatestFirst are all taps from the latest on, read as they are asked for.
	// failed says what went wrong, after they were.
	LatestFirst(ctx context.Context) (taps iter.Seq[KeptTap], failed func() error)
}

// Taps is the [Log] of taps that are all at hand.
type Taps []KeptTap

func (all Taps) Tap(_ context.Context, id string) (k KeptTap, kept bool, err error) {
	if i := slices.IndexFunc(all, func(k KeptTap) bool { return k.ID == id }); i >= 0 {
		return all[i], true, nil
	}
	return k, false, nil
}

func (all Taps) Kind(_ context.Context, kind TapKind) ([]KeptTap, error) {
	return slices.DeleteFunc(slices.Clone(all), func(k KeptTap) bool { return k.Kind != kind }), nil
}

func (all Taps) KindAt(_ context.Context, kind TapKind, step int) ([]KeptTap, error) {
	return slices.DeleteFunc(slices.Clone(all), func(k KeptTap) bool { return k.Kind != kind || k.Step != step }), nil
}

func (all Taps) Steps(_ context.Context, kind TapKind) ([]int, error) {
	var steps []int
	for _, k := range all {
		if k.Kind == kind {
			steps = append(steps, k.Step)
		}
	}
	slices.Sort(steps)
	return slices.Compact(steps), nil
}

func (all Taps) LatestFirst(context.Context) (taps iter.Seq[KeptTap], failed func() error) {
	return backward(all), func() error { return nil }
}

// SetProgress reads from what was said in the job how far it has come: the last
// tap that can be taken back, or what a proofreading has read and found.
func (w *Work) SetProgress(ctx context.Context, log Log) (err error) {
	if w.Kind != JobProof {
		taps, failed := log.LatestFirst(ctx)
		last, _ := LastDone(taps)
		w.Last, w.LastStep = last.ID, last.Step
		return failed()
	}
	if w.Read, err = log.Steps(ctx, TapRead); err != nil {
		return err
	}
	found, err := log.Kind(ctx, TapFound)
	if err != nil {
		return err
	}
	var sum wheel.Sum
	for _, k := range found {
		sum.Add(k.Changes...)
	}
	w.Found = sum.Changes()
	return nil
}

// StepTap is the kind and the step of a tap that was kept.
type StepTap struct {
	Kind TapKind
	Step int
}

// Touched are the steps at which something may have changed with some taps, each
// once, in order. ok is false where work was begun, stopped or resumed among
// them, or other pins were said to be there: then any step may have changed, and
// no further tap is looked at.
func Touched(taps iter.Seq[StepTap]) (steps []int, ok bool) {
	for t := range taps {
		switch t.Kind {
		case TapSaid, TapBegin, TapStop, TapResume:
			return nil, false
		}
		steps = append(steps, t.Step)
	}
	slices.Sort(steps)
	return slices.Compact(steps), true
}
