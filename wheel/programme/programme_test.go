package programme_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/programme"
)

func sunday(pinnings ...int64) programme.Programme {
	p := programme.Programme{Name: "Sunday", Call: "the workshop, 12", PinsPerMin: 6}
	for _, id := range pinnings {
		p.Songs = append(p.Songs, programme.Song{PinningID: id, Title: "Old", TempoBPM: 52.5, Turns: 3, Plays: 4, RestMin: 10, PauseMin: 45, Story: "The mill\nstood here."})
	}
	return p
}

func TestEverythingWrongWithAProgrammeIsListed(t *testing.T) {
	good := sunday(1)
	if err := good.Check(); err != nil {
		t.Errorf("a good programme: %v", err)
	}
	if empty := (programme.Programme{Name: "Empty"}); empty.Check() != nil {
		t.Errorf("an empty programme: %v", empty.Check())
	}
	for _, c := range []struct {
		change func(*programme.Programme)
		says   string
	}{
		{func(p *programme.Programme) { p.Name = " " }, "the programme has no name; give it one, such as “Sunday”"},
		{func(p *programme.Programme) { p.Name = strings.Repeat("a", 201) }, "the programme's name has 201 characters; 200 at most"},
		{func(p *programme.Programme) { p.Call = "a\nb" }, "who to call has characters that are not text; write it in one line"},
		{func(p *programme.Programme) { p.PinsPerMin = math.NaN() }, "the rate of changeovers, in pins a minute, is NaN; it should be 0.01 to 1000"},
		{func(p *programme.Programme) { p.Songs[0].TempoBPM = math.Inf(1) }, "song 1, Old: the tempo in BPM is +Inf; it should be 1 to 1000"},
		{func(p *programme.Programme) { p.Songs[0].Turns = 0 }, "song 1, Old: the number of turns in a play is 0; it should be 1 to 1000"},
		{func(p *programme.Programme) { p.Songs[0].Plays = -3 }, "song 1, Old: the number of plays in a day is −3; it should be 1 to 1000"},
		{func(p *programme.Programme) { p.Songs[0].RestMin = -1 }, "song 1, Old: the rest between plays, in minutes, is −1; it should be 0 to 1440"},
		{func(p *programme.Programme) { p.Songs[0].PauseMin = 1e9 }, "song 1, Old: the pause before it, in minutes, is 1000000000; it should be 0 to 1440"},
		{func(p *programme.Programme) { p.Songs[0].Story = strings.Repeat("é", 1001) }, "song 1, Old: the story has 1001 characters; 1000 at most"},
		{func(p *programme.Programme) { p.Songs[0].Story = "a\x00" }, "song 1, Old: the story has characters that are not text"},
		{func(p *programme.Programme) { p.Songs = make([]programme.Song, 101) }, "the programme has 101 songs; 100 at most"},
		{func(p *programme.Programme) { p.Name, p.Songs[0].Turns = "", 0 }, "“Sunday”\nsong 1, Old: the number of turns"}, // both at once
	} {
		p := sunday(1)
		c.change(&p)
		if err := p.Check(); !errors.Is(err, wheel.ErrInvalid) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("it says %v, want %q", err, c.says)
		}
	}
}

func TestAChangeMakesTheNextVersionUnlessItSaysTheSame(t *testing.T) {
	now := programme.Version{Number: 2, Programme: sunday(1)}
	if next, err := now.Follow(sunday(1)); err != nil || next.Number != 2 {
		t.Errorf("the same again is version %d, %v", next.Number, err)
	}
	if next, err := now.Follow(sunday(1, 2)); err != nil || next.Number != 3 || len(next.Programme.Songs) != 2 {
		t.Errorf("a change is %+v, %v", next, err)
	}
	now.Number = programme.MaxVersions
	if _, err := now.Follow(sunday(1, 2)); !errors.Is(err, wheel.ErrConflict) {
		t.Errorf("after the last version that is kept: %v", err)
	}
	if next, err := now.Follow(sunday(1)); err != nil || next.Number != programme.MaxVersions {
		t.Errorf("the same as the last version: %+v, %v", next, err)
	}
}

func TestAChangeOfAnEarlierVersionIsRefused(t *testing.T) {
	now := programme.Version{Number: 2, Programme: sunday(1)}
	if err := now.CheckBase(2); err != nil {
		t.Errorf("a change of the latest version: %v", err)
	}
	for _, base := range []int{0, 1, 3} {
		if err := now.CheckBase(base); !errors.Is(err, wheel.ErrConflict) || !strings.Contains(err.Error(), "Sunday was changed by someone else") {
			t.Errorf("a change of version %d: %v", base, err)
		}
	}
	for _, c := range []programme.Change{{By: "a\tb"}, {By: strings.Repeat("a", 201)}, {Text: "a\nb"}, {Text: strings.Repeat("a", 301)}} {
		if err := c.CheckNote(); !errors.Is(err, wheel.ErrInvalid) {
			t.Errorf("%+v: %v", c, err)
		}
	}
	longest := programme.Change{Text: programme.Edit{Do: programme.Down}.Text(strings.Repeat("鐘", wheel.MaxName))}
	if err := longest.CheckNote(); err != nil {
		t.Errorf("an edit of a song with the longest title: %v", err)
	}
}

// A pinning that is renamed gives its song the new name; one that is gone leaves
// it the old one, and cannot be put in again.
func TestSongsAreCalledAsTheirPinningsAre(t *testing.T) {
	titleOf := func(id int64) (string, bool, error) {
		return map[int64]string{1: "Renamed"}[id], id == 1, nil
	}
	p := sunday(1, 2)
	before := []programme.Song{{PinningID: 2, Title: "Gone"}}
	if err := p.Retitle(before, titleOf); err != nil || p.Songs[0].Title != "Renamed" || p.Songs[1].Title != "Gone" {
		t.Errorf("%+v, %v", p.Songs, err)
	}
	if err := p.Retitle(nil, titleOf); !errors.Is(err, wheel.ErrNotFound) || err.Error() != "song 2: there is no pinning 2 of this machine; it may have been removed" {
		t.Errorf("a pinning that is gone and was not in the programme: %v", err)
	}
	broken := errors.New("broken")
	if err := p.Retitle(nil, func(int64) (string, bool, error) { return "", false, broken }); !errors.Is(err, broken) {
		t.Errorf("titles that cannot be read: %v", err)
	}
}

func TestSongsAreReordered(t *testing.T) {
	for _, c := range []struct {
		edit   programme.Edit
		want   string
		stands int
		text   string
	}{
		{programme.Edit{Do: programme.Up, Song: 2}, "B A C", 1, "move B up"},
		{programme.Edit{Do: programme.Down, Song: 2}, "A C B", 3, "move B down"},
		{programme.Edit{Do: programme.TakeOut, Song: 2}, "A C", 0, "take out B"},
		{programme.Edit{Do: programme.Order, Song: 2}, "A B C", 2, "change the order"},
	} {
		after, stands, err := programme.Apply([]string{"A", "B", "C"}, c.edit)
		if err != nil || strings.Join(after, " ") != c.want || stands != c.stands || c.edit.Text("B") != c.text {
			t.Errorf("%+v: %v, at %d, %v", c.edit, after, stands, err)
		}
	}
	for _, c := range []struct {
		edit programme.Edit
		says string
	}{
		{programme.Edit{Do: programme.Up, Song: 1}, "Song 1 cannot be moved further: it is at the end already."},
		{programme.Edit{Do: programme.Down, Song: 3}, "Song 3 cannot be moved further: it is at the end already."},
		{programme.Edit{Do: "explode", Song: 1}, "cannot be moved further"},
		{programme.Edit{Do: programme.TakeOut, Song: 4}, "There is no song 4; the programme has 3 songs."},
		{programme.Edit{Do: programme.Order, Song: 0}, "There is no song 0"},
	} {
		songs := []string{"A", "B", "C"}
		if after, _, err := programme.Apply(songs, c.edit); !errors.Is(err, wheel.ErrInvalid) || !strings.Contains(err.Error(), c.says) || !slices.Equal(after, []string{"A", "B", "C"}) {
			t.Errorf("%+v: %v, %v", c.edit, after, err)
		}
	}
}
