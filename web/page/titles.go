package page

import (
	"fmt"
	"pinwright/store"
	"pinwright/wheel/say"
	"time"
)

// Namesakes tells pinnings of one title apart, by id: when they were last
// changed and, where that is the same as well, their numbers.
func Namesakes(rows []store.PinningRow) map[int64]string {
	titles, moments := map[string]int{}, map[[2]string]int{}
	for _, p := range rows {
		titles[p.Title]++
		moments[[2]string{p.Title, Moment(p.Changed)}]++
	}
	apart := map[int64]string{}
	for _, p := range rows {
		if titles[p.Title] == 1 {
			continue
		}
		words := "changed " + Moment(p.Changed)
		if moments[[2]string{p.Title, Moment(p.Changed)}] > 1 {
			words += fmt.Sprintf(", number %d", p.ID)
		}
		apart[p.ID] = words
	}
	return apart
}

// TitleApart is a pinning's title and, where others have it, what tells it from
// them.
func TitleApart(p store.PinningRow, apart map[int64]string) string {
	if words := apart[p.ID]; words != "" {
		return say.Steady(p.Title) + ", " + words
	}
	return say.Steady(p.Title)
}

// PinsWords says what stands beside a pinning's title: its pins and, where
// others have its title, what tells it from them.
func PinsWords(p store.PinningRow, apart string) string {
	pins := say.Count(p.Pins, "pin", "pins")
	switch {
	case apart == "":
		return pins
	case p.TempoBPM == 0:
		return pins + ", " + apart
	}
	return say.Tempo(p.TempoBPM) + " BPM, " + pins + ", " + apart
}

// Moment is a day and time for people.
func Moment(t time.Time) string { return t.Local().Format("2 January 2006, 15:04") }
