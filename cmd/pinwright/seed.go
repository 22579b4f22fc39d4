package main

import (
	"context"
	"errors"
	"reflect"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

// seed adds the demo to a store that never had it: the machine, its songs, and
// each song set on the machine at its own tempo, as often as the turn holds. What is there already is left
// as it is, so that a seeding cut short is completed by the next.
func seed(ctx context.Context, st *store.Store) error {
	if added, err := st.DemoAdded(ctx); err != nil || added {
		return err
	}
	machineID, ours, err := seedMachine(ctx, st)
	if err != nil {
		return err
	}
	if ours {
		if err := seedSongs(ctx, st, machineID); err != nil {
			return err
		}
	}
	return st.SetDemoAdded(ctx)
}

// seedMachine adds the demo machine. ours is false where another machine has
// its name: then there is no place for the demo.
func seedMachine(ctx context.Context, st *store.Store) (id int64, ours bool, err error) {
	machine := demo.Machine()
	id, err = st.AddMachine(ctx, machine)
	if !errors.Is(err, wheel.ErrConflict) {
		return id, err == nil, err
	}
	rows, err := st.Machines(ctx)
	if err != nil {
		return 0, false, err
	}
	for _, row := range rows {
		if row.Name == machine.Name {
			there, err := st.Machine(ctx, row.ID)
			return row.ID, err == nil && reflect.DeepEqual(there.File, machine), err
		}
	}
	return 0, false, nil
}

func seedSongs(ctx context.Context, st *store.Store, machineID int64) error {
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		return err
	}
	rows, err := st.Pinnings(ctx, machineID)
	if err != nil {
		return err
	}
	set := map[int64]bool{} // songs that have a pinning
	for _, row := range rows {
		set[row.SongID] = true
	}
	for _, file := range demo.Songs() {
		kept, err := st.AddSongs(ctx, file.FileName, file.Bytes)
		if err != nil {
			return err
		}
		songs, err := song.Parse(file.Bytes, file.FileName)
		if err != nil {
			return err
		}
		for i, s := range songs {
			if set[kept[i].ID] {
				continue
			}
			p, _, err := arrange.Set(ctx, works, s, arrange.Request{Repeat: true, Advance: true})
			if err != nil {
				return err
			}
			if _, err := st.AddPinning(ctx, machineID, kept[i].ID, p); err != nil {
				return err
			}
		}
	}
	return nil
}
