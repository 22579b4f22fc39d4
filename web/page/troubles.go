package page

import (
	"context"

	"pinwright/wheel/place"
	"pinwright/wheel/say"
)

// TroubleLine is something wrong at the machine, and where in words.
type TroubleLine struct {
	place.Trouble
	Where string
}

// when says since when it is wrong and, where it is fixed, when that was.
func (t TroubleLine) when() string {
	if t.Mended.IsZero() {
		return Moment(t.At)
	}
	return Moment(t.At) + ", fixed " + Moment(t.Mended)
}

// Words says what is wrong and where.
func (t TroubleLine) Words() string {
	words := say.Capital(string(t.Kind)) + ": " + t.Where
	if t.Note != "" {
		words += ". " + t.Note
	}
	return words
}

// shownTroubles is how many of them a page lists.
const shownTroubles = 50

// TroubleLines is what is or was wrong at a machine, the latest first.
func (k *Kit) TroubleLines(ctx context.Context, m Compiled) ([]TroubleLine, error) {
	all, err := k.Store.Troubles(ctx, m.ID, shownTroubles)
	if err != nil {
		return nil, err
	}
	lines := make([]TroubleLine, len(all))
	for i, t := range all {
		lines[i] = TroubleLine{t, t.Where(m.File)}
	}
	return lines, nil
}
