package main

import (
	"errors"
	"flag"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// setFlag adds a flag, to be given any number of times, for a figure of the
// machine and its value for a trial.
func setFlag(fs *flag.FlagSet, name, does string) *[]wheel.Set {
	var sets []wheel.Set
	fs.Func(name, does, func(s string) error {
		at := strings.LastIndexByte(s, '=') // an id may have one, a number has none
		if at <= 0 {
			return errors.New("it should be a figure's path and its value, such as marble.clearance_mm=1.5")
		}
		v, err := strconv.ParseFloat(s[at+1:], 64)
		if err != nil {
			return errors.New("what stands after = should be a number, with a point for decimals")
		}
		sets = append(sets, wheel.Set{Path: s[:at], Value: v})
		return nil
	})
	return &sets
}

// trial is the figures of a machine that were changed to see what comes of it.
type trial struct {
	as     *timing.Works // the machine as it is
	sets   []wheel.Set
	before *timing.Turn // the pinning on it
}

// words says which figures are tried, one a line.
func (t *trial) words(b *strings.Builder) {
	b.WriteString("Tried:\n")
	for i, s := range t.sets {
		again := func(later wheel.Set) bool { return later.Path == s.Path }
		f, err := t.as.Machine.Figure(s.Path)
		if err != nil || slices.ContainsFunc(t.sets[i+1:], again) { // the last value of a figure is the one tried
			continue
		}
		unit := f.Unit
		if unit != "" && unit != "°" {
			unit = " " + unit
		}
		fmt.Fprintf(b, "  %s: %s%s in place of %s%s\n", f.Label, say.Number(s.Value), unit, say.Number(f.Value), unit)
	}
	b.WriteByte('\n')
}

// maxSafe says the highest safe tempo of the machine as it is.
func (t *trial) maxSafe() string {
	if bpm, ok := t.before.MaxSafe(); ok {
		return say.TempoDown(bpm) + " BPM"
	}
	return "none"
}
