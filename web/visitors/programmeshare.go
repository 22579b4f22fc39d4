package visitors

import (
	"slices"
	"strconv"
	"strings"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// joinChoice is songs that could share one wheel.
type joinChoice struct{ Titles, IDs string }

// share says which of the programme's songs could stand on one wheel together.
func (view *programmePage) share(m page.Compiled, kept map[int64]*wheel.Pinning) {
	var pinnings []*wheel.Pinning
	var titles []string
	var ids []int64
	for _, song := range view.Body.Songs {
		if p, there := kept[song.PinningID]; there && !slices.Contains(ids, song.PinningID) {
			pinnings, titles, ids = append(pinnings, p), append(titles, p.Title), append(ids, song.PinningID)
		}
	}
	if len(pinnings) < 2 {
		return
	}
	shared := programme.Share(m.File.Wheel.Steps, pinnings)
	view.Sharing = shared.Sentences(m.File.Wheel.Steps, titles)
	for _, group := range shared.Groups() {
		var of []string
		for _, i := range group {
			of = append(of, strconv.FormatInt(ids[i], 10))
		}
		view.Join = append(view.Join, joinChoice{say.List(programme.TitlesOf(group, titles)), strings.Join(of, " ")})
	}
}
