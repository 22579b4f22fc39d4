package store

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/programme"
)

func sunday(pinnings ...int64) programme.Programme {
	b := programme.Programme{Name: "Sunday", Call: "the workshop, 12", PinsPerMin: 6}
	for _, id := range pinnings {
		b.Songs = append(b.Songs, programme.Song{PinningID: id, TempoBPM: 52.5, Turns: 3, Plays: 4, RestMin: 10, PauseMin: 45, Story: "The mill\nstood here."})
	}
	return b
}

// twoSongs is a store with a machine and two pinnings, Old and New.
func twoSongs(t *testing.T) (s *Store, machine, old, new int64) {
	t.Helper()
	s = openNew(t)
	machine = addMachine(t, s, smallMachine("Hailstone", 2))
	old = addPinning(t, s, machine, 0, pinsAt("Old", at("a", 1)))
	new = addPinning(t, s, machine, 0, pinsAt("New", at("b", 2)))
	return s, machine, old, new
}

func TestEveryVersionOfAProgrammeCanBeLookedAtAndReturnedTo(t *testing.T) {
	ctx := context.Background()
	s, machine, old, new := twoSongs(t)
	id, err := s.AddProgramme(ctx, machine, programme.Change{By: "Ada", Text: "begin", Programme: sunday(old)})
	must(t, err)
	longer := sunday(new, old)
	version, err := s.ChangeProgramme(ctx, id, programme.Change{Base: 1, By: "Ben", Text: "add New", Programme: longer})
	if err != nil || version != 2 {
		t.Fatalf("version %d, %v", version, err)
	}
	if version, err = s.ChangeProgramme(ctx, id, programme.Change{Base: 2, Text: "nothing", Programme: longer}); err != nil || version != 2 {
		t.Errorf("the same again is version %d, %v", version, err)
	}
	if version, err = s.ReturnProgramme(ctx, id, 2, 1, "Ada"); err != nil || version != 3 {
		t.Fatalf("version %d, %v", version, err)
	}
	for v, want := range map[int][]string{0: {"Old"}, 1: {"Old"}, 2: {"New", "Old"}, 3: {"Old"}} {
		p, err := s.ProgrammeAt(ctx, id, v)
		must(t, err)
		var titles []string
		for _, song := range p.Body.Songs {
			titles = append(titles, song.Title)
		}
		if !slices.Equal(titles, want) || p.Latest != 3 || p.Name != "Sunday" || p.MachineName != "Hailstone" {
			t.Errorf("version %d has %v, want %v: %+v", v, titles, want, p.ProgrammeRow)
		}
		if song := p.Body.Songs[len(p.Body.Songs)-1]; song.TempoBPM != 52.5 || song.Turns != 3 || song.Plays != 4 || song.RestMin != 10 || song.PauseMin != 45 || song.Story != "The mill\nstood here." {
			t.Errorf("version %d: %+v", v, song)
		}
	}
	versions, err := s.ProgrammeVersions(ctx, id)
	must(t, err)
	var told []string
	for _, v := range versions {
		told = append(told, fmt.Sprintf("%d %s %s %d", v.Version, v.By, v.Text, v.Of))
	}
	if want := []string{"3 Ada return to version 1 1", "2 Ben add New 0", "1 Ada begin 0"}; !slices.Equal(told, want) {
		t.Errorf("versions %q, want %q", told, want)
	}
	rows, err := s.Programmes(ctx, machine)
	if err != nil || len(rows) != 1 || rows[0].Version != 3 || rows[0].Songs != 1 {
		t.Errorf("%+v, %v", rows, err)
	}
	checkIntegrity(t, s)
	must(t, s.RemoveProgramme(ctx, id))
	_, err = s.Programme(ctx, id)
	refused(t, err, wheel.ErrNotFound, "there is no programme 1; it may have been removed")
	checkIntegrity(t, s)
}

func TestAProgrammeChangedMeanwhileIsNotOverwritten(t *testing.T) {
	ctx := context.Background()
	s, machine, old, new := twoSongs(t)
	id, err := s.AddProgramme(ctx, machine, programme.Change{Programme: sunday(old)})
	must(t, err)
	_, err = s.ChangeProgramme(ctx, id, programme.Change{Base: 1, Programme: sunday(new)})
	must(t, err)
	const says = "Sunday was changed by someone else meanwhile, and nothing was overwritten; look at it again, then repeat your change"
	_, err = s.ChangeProgramme(ctx, id, programme.Change{Base: 1, Programme: sunday(old, new)})
	refused(t, err, wheel.ErrConflict, says)
	_, err = s.ReturnProgramme(ctx, id, 1, 1, "")
	refused(t, err, wheel.ErrConflict, says)
	_, err = s.ReturnProgramme(ctx, id, 2, 9, "")
	refused(t, err, wheel.ErrNotFound, "there is no version 9 of programme 1")
	_, err = s.ChangeProgramme(ctx, 9, programme.Change{Base: 1, Programme: sunday(old)})
	refused(t, err, wheel.ErrNotFound, "there is no programme 9; it may have been removed")
}

// A pinning that is removed stays in its programmes by name, until someone takes
// it out; it cannot be put in anew.
func TestAPinningDeletedUnderAProgrammeKeepsItsName(t *testing.T) {
	ctx := context.Background()
	s, machine, old, new := twoSongs(t)
	id, err := s.AddProgramme(ctx, machine, programme.Change{Programme: sunday(old, new)})
	must(t, err)
	must(t, s.RenamePinning(ctx, old, "Older"))
	must(t, s.RemovePinning(ctx, new))
	turned := sunday(new, old)
	_, err = s.ChangeProgramme(ctx, id, programme.Change{Base: 1, Programme: turned})
	must(t, err)
	p, err := s.Programme(ctx, id)
	if err != nil || p.Body.Songs[0].Title != "New" || p.Body.Songs[1].Title != "Older" {
		t.Errorf("%+v, %v", p, err)
	}
	_, err = s.AddProgramme(ctx, machine, programme.Change{Programme: sunday(new)})
	refused(t, err, wheel.ErrNotFound, "song 1: there is no pinning 2 of this machine; it may have been removed")
	must(t, s.RemovePinning(ctx, old))
	must(t, s.RemoveMachine(ctx, machine))
	p, err = s.Programme(ctx, id)
	if err != nil || p.MachineID != 0 || p.MachineName != "Hailstone" || len(p.Body.Songs) != 2 {
		t.Errorf("after its machine went: %+v, %v", p, err)
	}
	if rows, err := s.Programmes(ctx, 99); err != nil || len(rows) != 1 {
		t.Errorf("a programme without a machine is listed %d times, %v", len(rows), err)
	}
	checkIntegrity(t, s)
}

func TestAProgrammeThatMakesNoSenseIsRefusedWhole(t *testing.T) {
	ctx := context.Background()
	s, machine, old, _ := twoSongs(t)
	with := func(change func(*programme.Programme)) programme.Programme {
		b := sunday(old)
		b.Songs[0].Title = "Old"
		change(&b)
		return b
	}
	for _, c := range []struct {
		body programme.Programme
		says string
	}{
		{with(func(b *programme.Programme) { b.Name = " " }), "the programme has no name; give it one, such as “Sunday”"},
		{with(func(b *programme.Programme) { b.Name = strings.Repeat("a", 201) }), "the programme's name has 201 characters; 200 at most"},
		{with(func(b *programme.Programme) { b.Call = "a\nb" }), "who to call has characters that are not text; write it in one line"},
		{with(func(b *programme.Programme) { b.PinsPerMin = -1 }), "the rate of changeovers, in pins a minute, is −1; it should be 0.01 to 1000"},
		{with(func(b *programme.Programme) { b.PinsPerMin = math.NaN() }), "the rate of changeovers, in pins a minute, is NaN; it should be 0.01 to 1000"},
		{with(func(b *programme.Programme) { b.Songs[0].TempoBPM = 0 }), "song 1, Old: the tempo in BPM is 0; it should be 1 to 1000"},
		{with(func(b *programme.Programme) { b.Songs[0].TempoBPM = math.Inf(1) }), "song 1, Old: the tempo in BPM is +Inf; it should be 1 to 1000"},
		{with(func(b *programme.Programme) { b.Songs[0].Turns = 0 }), "song 1, Old: the number of turns in a play is 0; it should be 1 to 1000"},
		{with(func(b *programme.Programme) { b.Songs[0].Plays = -3 }), "song 1, Old: the number of plays in a day is −3; it should be 1 to 1000"},
		{with(func(b *programme.Programme) { b.Songs[0].RestMin = -1 }), "song 1, Old: the rest between plays, in minutes, is −1; it should be 0 to 1440"},
		{with(func(b *programme.Programme) { b.Songs[0].PauseMin = 1e9 }), "song 1, Old: the pause before it, in minutes, is 1000000000; it should be 0 to 1440"},
		{with(func(b *programme.Programme) { b.Songs[0].Story = strings.Repeat("é", 1001) }), "song 1, Old: the story has 1001 characters; 1000 at most"},
		{with(func(b *programme.Programme) { b.Songs[0].Story = "a\x00" }), "song 1, Old: the story has characters that are not text"},
		{with(func(b *programme.Programme) { b.Songs = make([]programme.Song, 101) }), "the programme has 101 songs; 100 at most"},
	} {
		_, err := s.AddProgramme(ctx, machine, programme.Change{Programme: c.body})
		if !errors.Is(err, wheel.ErrInvalid) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("it says %v, want %q", err, c.says)
		}
	}
	_, err := s.AddProgramme(ctx, machine, programme.Change{By: "a\tb", Programme: sunday(old)})
	refused(t, err, wheel.ErrInvalid, "the name of who made the change has characters that are not text; write it in one line")
	if rows, err := s.Programmes(ctx, machine); err != nil || len(rows) != 0 {
		t.Errorf("of what was refused %d programmes are kept, %v", len(rows), err)
	}
	if id, err := s.AddProgramme(ctx, machine, programme.Change{Programme: programme.Programme{Name: "Empty"}}); err != nil {
		t.Errorf("an empty programme is refused: %v", err)
	} else if p, err := s.Programme(ctx, id); err != nil || len(p.Body.Songs) != 0 {
		t.Errorf("%+v, %v", p, err)
	}
}

func TestWhatIsSettledForVisitorsIsKept(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	if v, err := s.Visitors(ctx); err != nil || v != (Visitors{0.1, "1234"}) {
		t.Errorf("at first %+v, %v", v, err)
	}
	must(t, s.SetMargin(ctx, 0.25))
	must(t, s.SetLeaveCode(ctx, "000777"))
	for _, bad := range []float64{-0.1, 1, math.NaN(), math.Inf(1)} {
		if err := s.SetMargin(ctx, bad); !errors.Is(err, wheel.ErrInvalid) {
			t.Errorf("a margin of %g: %v", bad, err)
		}
	}
	for _, bad := range []string{"12a", "-1", "1234567890123", "１２"} {
		refused(t, s.SetLeaveCode(ctx, bad), wheel.ErrInvalid, "the code should be up to 12 digits, or empty if none is to be asked for")
	}
	if v, err := s.Visitors(ctx); err != nil || v != (Visitors{0.25, "000777"}) {
		t.Errorf("then %+v, %v", v, err)
	}
	must(t, s.SetLeaveCode(ctx, ""))
}

// The fourth version knew of no programmes.
func TestADatabaseOfTheFourthVersionLearnsOfProgrammes(t *testing.T) {
	db, path := older(t, 4)
	must(t, db.Close())
	s := openAt(t, path)
	if v, err := s.Visitors(context.Background()); err != nil || v.Margin != 0.1 {
		t.Errorf("%+v, %v", v, err)
	}
	checkIntegrity(t, s)
}
