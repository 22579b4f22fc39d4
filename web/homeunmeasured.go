package web

import (
	"fmt"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// unmeasured warns of figures of a machine that are unknown: no pinning that
// depends on them can be called safe.
func unmeasured(m page.Compiled) []page.Warning {
	paths := m.File.Unknown(wheel.AllChannels)
	if len(paths) == 0 {
		return nil
	}
	const named = 2
	var names []string
	for _, path := range paths[:min(len(paths), named)] {
		if f, err := m.File.Figure(path); err == nil {
			path = f.Label
		}
		names = append(names, path)
	}
	if more := len(paths) - named; more > 0 {
		names = append(names, fmt.Sprint(more, " more"))
	}
	return []page.Warning{{
		Weight: page.Attention,
		Text:   say.Count(len(paths), "figure is", "figures are") + " unknown: " + say.List(names) + ". No tempo can be called safe for a pinning that depends on one.",
		Action: page.Link{Text: "See what to measure", URL: page.MachineURL(m.ID) + "#measure"},
	}}
}
