package machines

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// figureLine is a figure with how far it can be trusted and where it comes from.
type figureLine struct {
	Name, Path    string
	Value, Spread string
	Basis         wheel.Basis
	From          string
}

// figureGroup is the figures of one part of the machine.
type figureGroup struct {
	Name, Anchor string
	Lines        []figureLine
}

// basisWords name what figures rest on, where they are counted.
var basisWords = [wheel.Bases]string{"unknown", "assumed", "left out", "in the file", "measured"}

// basisOutline is the shape of a basis, in a square of 16 by 16, as the path of
// an SVG.
func basisOutline(b wheel.Basis) string {
	return [wheel.Bases]string{
		"M8 1.500 15 14.500H1Z",
		"M14 8A6 6 0 1 1 2 8A6 6 0 1 1 14 8",
		"M2.500 2.500H13.500V13.500H2.500Z",
		"M2.500 2.500H13.500V13.500H2.500Z",
		"M14 8A6 6 0 1 1 2 8A6 6 0 1 1 14 8",
	}[b]
}

// basisClass names a basis for the style sheet.
func basisClass(b wheel.Basis) string {
	return [wheel.Bases]string{"is-unknown", "is-assumed", "is-usual", "is-in-file", "is-measured"}[b]
}

// linesOf are figures in words. reload is the channel's reload in ms, which a
// reload that follows from the feed has.
func linesOf(figures []wheel.Based, reloadMS float64) (lines []figureLine) {
	for _, b := range figures {
		if b.FromFeed {
			b.Value = reloadMS
			if b.SDSource == wheel.Assumed {
				b.SD = wheel.AssumedSpread * reloadMS
			}
		}
		line := figureLine{Name: say.Capital(b.Name), Path: b.Path, Value: "unknown", Basis: b.Basis, From: fromWords(b)}
		if b.Basis != wheel.UnknownBasis {
			line.Value = withDoubt(b)
			if b.SD > 0 {
				line.Spread = withUnit(twoDigits(b.SD), b.Unit)
			}
		}
		lines = append(lines, line)
	}
	return lines
}

// withDoubt is a figure's value, its doubt and its unit.
func withDoubt(b wheel.Based) string {
	value := say.Number(b.Value)
	if b.FromFeed {
		value = say.Rounded(b.Value, 1)
	}
	if b.U > 0 {
		value += " ± " + twoDigits(b.U)
	}
	return withUnit(value, b.Unit)
}

func withUnit(value, unit string) string {
	switch unit {
	case "":
		return value
	case "°":
		return value + unit
	}
	return value + " " + unit
}

// twoDigits writes a doubt or a spread to two significant digits (JCGM 100:2008,
// 7.2.6).
func twoDigits(v float64) string {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return say.Number(v)
	}
	decimals := 1 - int(math.Floor(math.Log10(math.Abs(v))))
	if decimals < 0 {
		per := math.Pow(10, float64(-decimals))
		return say.Number(math.Round(v/per) * per)
	}
	return say.Rounded(v, min(decimals, 12))
}

// instead says which other figure would do for one that is unknown.
var instead = map[string]string{
	"gate.reload_ms":  " The slope of the feed would do as well.",
	"strike.clear_ms": " The restitution would do as well.",
}

// fromWords says where a figure comes from.
func fromWords(b wheel.Based) string {
	switch {
	case b.Basis == wheel.UnknownBasis:
		words := "Not in the file."
		for key, or := range instead {
			if strings.HasSuffix(b.Path, "."+key) {
				words += or
			}
		}
		return words
	case b.Basis == wheel.UsualBasis:
		return "Not in the file. Taken for " + say.Number(b.Value) + ", exactly."
	case !b.Given && !b.FromFeed:
		return "Not in the file. Assumed."
	}
	var words string
	switch {
	case b.FromFeed:
		words = "Follows from the slope of the feed"
	case b.Entry != nil:
		words = "Measured" + measuredWords(b.Entry)
	default:
		words = "In the file"
	}
	var assumed, inFile []string
	for _, part := range []struct {
		what   string
		value  float64
		source wheel.DoubtSource
	}{{"doubt", b.U, b.USource}, {"spread", b.SD, b.SDSource}} {
		switch {
		case part.source == wheel.Assumed && part.value > 0:
			assumed = append(assumed, part.what)
		case part.source == wheel.InFile && part.value > 0:
			inFile = append(inFile, part.what)
		}
	}
	if len(inFile) > 0 {
		words += "; " + say.List(inFile) + " in the file"
	}
	if len(assumed) > 0 {
		words += "; " + say.List(assumed) + " assumed"
	}
	if b.U == 0 && b.SD == 0 && b.Entry == nil && !b.FromFeed {
		words += "; taken to be exact"
	}
	return say.Steady(words) + "."
}

// measuredWords says how a figure was measured: " 10 times on 20 November 2026 by
// Ada (recording)".
func measuredWords(e *wheel.Measured) (words string) {
	if e.N > 0 {
		words = " " + say.Count(e.N, "time", "times")
	}
	if day, err := time.Parse(time.DateOnly, e.On); err == nil {
		words += " on " + day.Format("2 January 2006")
	}
	if e.By != "" {
		words += " by " + e.By
	}
	if e.How != "" {
		words += " (" + e.How + ")"
	}
	return words
}

// channelFigures are all figures on which the times of a channel depend: its own,
// and those of its lanes.
func channelFigures(m page.Compiled, grounds wheel.Grounds, i int) []figureGroup {
	c := &m.File.Channels[i]
	groups := []figureGroup{{Name: c.Name, Anchor: "channel", Lines: linesOf(grounds.Channels[i], m.Works.Channels[i].Reload*1000)}}
	if c.Holds() {
		return groups
	}
	for _, id := range c.Route() {
		lane := m.File.Lane(id)
		name := "Lane " + id
		if n := len(page.UsersOf(m.File, id)); n > 1 {
			name += ", shared by " + say.Count(n, "channel", "channels")
		}
		groups = append(groups, figureGroup{Name: name, Anchor: page.LaneAnchor(lane), Lines: linesOf(grounds.Lanes[lane], 0)})
	}
	return groups
}

// knownMark is what the worst known of some figures rest on, and how many do.
type knownMark struct {
	Basis wheel.Basis
	Words string
}

func markOf(figures []wheel.Based) knownMark {
	n := wheel.CountBases(figures)
	for _, b := range []wheel.Basis{wheel.UnknownBasis, wheel.AssumedBasis} {
		if n[b] > 0 {
			return knownMark{b, fmt.Sprint(n[b], " ", basisWords[b])}
		}
	}
	if n[wheel.MeasuredBasis] > 0 {
		return knownMark{wheel.MeasuredBasis, fmt.Sprint(n[wheel.MeasuredBasis], " measured")}
	}
	return knownMark{wheel.FileBasis, "in the file"}
}

// anyUnknown reports whether one of some figures is unknown.
func anyUnknown(figures []wheel.Based) bool {
	return slices.ContainsFunc(figures, func(b wheel.Based) bool { return b.Basis == wheel.UnknownBasis })
}

// warningsOf are what is odd about the machine.
func warningsOf(m page.Compiled) (all []page.Warning) {
	for _, says := range m.Warnings() {
		all = append(all, page.Warning{Weight: page.Attention, Text: says})
	}
	return all
}
