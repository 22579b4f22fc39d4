package page

import (
	"context"

	"pinwright/wheel/place"
)

// TroubleLine is something wrong at the machine, and where in words.
type TroubleLine struct {
	place.Trouble
	Where string
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
