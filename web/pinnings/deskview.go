package pinnings

import (
	"context"
	"strings"

	"github.com/a-h/templ"

	"pinwright/web/desk"
	"pinwright/web/page"
)

// View writes the verdict on an open pinning as the wheel's page shows it.
func View(ctx context.Context, s desk.Snapshot) (desk.Verdict, error) {
	panel, err := panelOf(page.Compiled{Machine: s.Machine, Works: s.Works}, s.Turn, s.Standing, s.File, s.PinningID, s.TempoBPM)
	if err != nil {
		return desk.Verdict{}, err
	}
	var stands, listed, line strings.Builder
	for _, part := range []struct {
		view templ.Component
		text *strings.Builder
	}{{verdictStands(panel), &stands}, {verdictListed(panel), &listed}, {brief(panel), &line}} {
		if err := part.view.Render(ctx, part.text); err != nil {
			return desk.Verdict{}, err
		}
	}
	return desk.Verdict{Stands: stands.String(), Listed: listed.String(), Brief: line.String()}, nil
}
