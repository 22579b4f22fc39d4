package main

import (
	"flag"
	"fmt"
	"slices"
	"strings"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// setFlag adds a flag, to be given any number of times, for figures of the
// machine and their values for a trial.
func setFlag(fs *flag.FlagSet, name, does string) *[]wheel.Setting {
	var settings []wheel.Setting
	fs.Func(name, does, func(text string) error {
		s, err := wheel.ParseSet(text)
		if err == nil {
			settings = append(settings, s)
		}
		return err
	})
	return &settings
}

// trial is the figures of a machine that were changed to see what comes of it.
type trial struct {
	as     *timing.Works // the machine as it is
	groups []wheel.GroupSet
	before *timing.Turn // the pinning on it
}

// words says which figures are tried, one a line, or one for a group.
func (t *trial) words(b *strings.Builder) {
	b.WriteString("Tried:\n")
	for i, g := range t.groups {
		if g.Of != "" {
			groupSetWords(b, g)
			continue
		}
		s := g.Sets[0]
		again := func(later wheel.GroupSet) bool { return later.Of == "" && later.Sets[0].Path == s.Path }
		f, err := t.as.Machine.Figure(s.Path)
		if err != nil || slices.ContainsFunc(t.groups[i+1:], again) { // the last value of a figure is the one tried
			continue
		}
		unit := unitWords(f.Unit)
		was := say.Number(f.Value) + unit
		if !f.Given {
			was = "one that is not given"
		}
		fmt.Fprintf(b, "  %s: %s%s in place of %s\n", f.Label, say.Number(s.Value), unit, was)
	}
	b.WriteByte('\n')
}

// groupSetWords says what is tried for a group of figures.
func groupSetWords(b *strings.Builder, g wheel.GroupSet) {
	if g.Times {
		fmt.Fprintf(b, "  %s of %s: × %s", g.Name, g.Of, say.Number(g.Value))
	} else {
		fmt.Fprintf(b, "  %s of %s: %s%s", g.Name, g.Of, say.Number(g.Value), unitWords(g.Unit))
	}
	if g.NotGiven > 0 {
		fmt.Fprintf(b, " (%d of them not given, and left so)", g.NotGiven)
	}
	b.WriteByte('\n')
}

// unitWords is a unit as it stands after its number.
func unitWords(unit string) string {
	if unit == "" || unit == "°" {
		return unit
	}
	return " " + unit
}

// maxSafe says the highest safe tempo of the machine as it is.
func (t *trial) maxSafe() string {
	if bpm, ok := t.before.MaxSafe(); ok {
		return say.TempoDown(bpm) + " BPM"
	}
	return "none"
}
