package store

import (
	"context"
	"reflect"
	"slices"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

// What the database answers is what the same taps answer that are all at hand.
// Another job on the same wheel has taps before and after them.
func TestTheLogOfAJobAnswersAsItsTapsDo(t *testing.T) {
	ctx := context.Background()
	w := newWorkshop(t)
	must(t, w.s.SayOnWheel(ctx, w.machine, 0))
	before, err := w.s.BeginProof(ctx, w.machine, 0)
	must(t, err)
	w.tap(t, before.ID, place.Tap{ID: "earlier", Kind: place.TapRead, Step: 3})
	must(t, w.s.StopJob(ctx, before.ID))
	target, err := w.s.Pinning(ctx, w.new)
	must(t, err)
	j := w.begin(t)
	kept := place.Taps{{Kind: place.TapBegin}}
	for i, p := range target.File.Pins {
		id := "t" + string(rune('a'+i))
		w.tap(t, j.ID, done(id, p.Step, p.Channel))
		w.tap(t, j.ID, done(id+"-again", p.Step, p.Channel))
		drive := []wheel.PinChange{wheel.Drive(wheel.Pin{Channel: p.Channel, Step: p.Step})}
		kept = append(kept, place.KeptTap{ID: id, Kind: place.TapDone, Step: p.Step, Changes: drive}, place.KeptTap{ID: id + "-again", Kind: place.TapDone, Step: p.Step})
		if i%2 == 0 { // what was found done already takes back the tap that did it
			w.tap(t, j.ID, place.Tap{ID: id + "-back", Kind: place.TapBack, Step: 1, Of: id + "-again"})
			kept = append(kept, place.KeptTap{ID: id + "-back", Kind: place.TapBack, Step: 1, Of: id, Changes: wheel.Inverse(drive)})
		}
	}
	log := tapLog{w.s.reader, j}
	same := func(what string, got, want any) {
		t.Helper()
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v, want %+v", what, got, want)
		}
	}
	plain := func(taps []place.KeptTap, err error) []place.KeptTap {
		t.Helper()
		must(t, err)
		for i := range taps {
			if len(taps[i].Changes) == 0 {
				taps[i].Changes = nil
			}
		}
		return append([]place.KeptTap{}, taps...)
	}
	for _, id := range []string{"ta", "ta-again", "ta-back", "earlier", "nobody's"} {
		got, is, err := log.Tap(ctx, id)
		want, wanted, _ := kept.Tap(ctx, id)
		same(id, plain([]place.KeptTap{got}, err), []place.KeptTap{want})
		same(id, is, wanted)
	}
	for _, kind := range []place.TapKind{place.TapDone, place.TapBack, place.TapRead} {
		got, err := log.Kind(ctx, kind)
		want, _ := kept.Kind(ctx, kind)
		same(string(kind), plain(got, err), plain(want, nil))
		steps, err := log.Steps(ctx, kind)
		must(t, err)
		wantSteps, _ := kept.Steps(ctx, kind)
		same(string(kind), steps, wantSteps)
		for _, step := range []int{1, target.File.Pins[0].Step, 3} {
			got, err := log.KindAt(ctx, kind, step)
			want, _ := kept.KindAt(ctx, kind, step)
			same(string(kind), plain(got, err), plain(want, nil))
		}
	}
	taps, failed := log.LatestFirst(ctx)
	got := slices.Collect(taps)
	want, _ := kept.LatestFirst(ctx)
	same("latest first", plain(got, failed()), plain(slices.Collect(want), nil))
}
