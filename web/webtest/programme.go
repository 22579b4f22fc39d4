package webtest

import (
	"context"
	"testing"

	"pinwright/wheel/programme"
)

// AddSunday adds a programme, in two versions, of the pinnings 1 and 2, the
// second at a tempo above its window.
func (a *App) AddSunday(t testing.TB) {
	t.Helper()
	body := programme.Programme{Name: "Sunday", Call: "The workshop, 12", PinsPerMin: 4, Songs: []programme.Song{
		{PinningID: 1, TempoBPM: 70, Turns: 2, Plays: 6, RestMin: 5, Story: "Nine knocks at the mill door, and nobody is there.\nWho turns the crank knocks."},
		{PinningID: 2, TempoBPM: 150, Turns: 1, Plays: 4, RestMin: 5, PauseMin: 20},
	}}
	ctx := context.Background()
	id, err := a.Store.AddProgramme(ctx, 1, programme.Change{By: "Ada", Text: "begin the programme", Programme: body})
	if err != nil {
		t.Fatal(err)
	}
	body.Songs[0].Plays = 8
	if _, err := a.Store.ChangeProgramme(ctx, id, programme.Change{Base: 1, By: "Ben", Text: "change the programme", Programme: body}); err != nil {
		t.Fatal(err)
	}
}
