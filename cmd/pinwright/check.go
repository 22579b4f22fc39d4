package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// How many of each people are shown; -json has them all.
const (
	shownFindings = 20
	shownLimits   = 5
	shownBands    = 10
)

var checkUsage = usage{
	name: "pinwright check",
	before: `Usage: pinwright check -machine FILE -pinning FILE [-tempo BPM] [-set PATH=VALUE]… [-costs] [-json]

Works out from mechanics how a pinning plays at a tempo: every lever back, every
gate ready, every plate clear, no two marbles too near in one lane. Shows the
tempo to keep below, with the spread and doubt of every figure counted; the bare
limit, if every figure were exact; the faults to expect at the tempo; what stops
it from going faster, with the value of the figure that would be just enough; the
bands of safe tempos; and the range in which chords sound together. While a
figure is unknown it says what to measure first. With -set it checks the machine
with other figures, on trial; the machine's file stays as it is. PATH*=FACTOR
multiplies what a figure is; channels.*, lanes.*, lifts.* and kind:bar, say, in
place of one channel or lane stand for all of them.`,
	after: `Example:
  pinwright check -machine hailstone.json -pinning mill-race.json -tempo 84 \
    -set channels.bar-c5.gate.reload_ms=120 -set lanes.chute.slope_deg=12
  pinwright check -machine hailstone.json -pinning mill-race.json \
    -set 'kind:bar.gate.reload_ms*=0.9' -set 'lanes.*.rolling=0.003'

Exit status: 0 the tempo can be trusted; 1 it cannot (close to the limit, not
safe, or unknown); 2 bad usage or input. A tempo outside the machine's range is
reported, and still judged.`,
}

func check(_ context.Context, args []string, stdout, stderr io.Writer) int {
	fs := newFlags(checkUsage)
	machine := fs.String("machine", "", "the machine `FILE`")
	pinning := fs.String("pinning", "", "the pinning `FILE`")
	tempo := tempoFlag(fs, "tempo", "the tempo to check at, 1 to 1000 `BPM`; the pinning's if left out")
	sets := setFlag(fs, "set", "try a figure of the machine at another value, `PATH=VALUE`; may be given again")
	costs := fs.Bool("costs", false, "also say what measuring figures better would win")
	asJSON := fs.Bool("json", false, "answer with one JSON object, in full precision")
	if status, ok := checkUsage.parse(fs, args, stdout, stderr); !ok {
		return status
	}
	if !checkUsage.needs(fs, stderr, "machine", "pinning") {
		return refused
	}
	in := inputs{stderr: stderr}
	w := input(&in, *machine, readMachine)
	p := input(&in, *pinning, readPinning)
	if in.failed {
		return refused
	}
	bpm, ok := checkUsage.tempo(stderr, *tempo, p, *pinning)
	if !ok {
		return refused
	}
	w = w.CountedFor(p)
	turn, err := w.Turn(p)
	if err != nil {
		return complain(stderr, *pinning, err)
	}
	var tried *trial
	if len(*sets) > 0 {
		groups, err := w.Machine.Resolve(*sets...)
		if err != nil {
			return checkUsage.misused(stderr, "-set: %s", err)
		}
		tried = &trial{w, groups, turn}
		if w, err = w.With(wheel.SetsOf(groups)...); err != nil {
			return checkUsage.misused(stderr, "-set: %s", err)
		}
		if turn, err = w.Turn(p); err != nil {
			return checkUsage.misused(stderr, "-set: %s does not fit: %s", *pinning, firstLine(err))
		}
	}
	v, err := turn.Verdict(bpm)
	if err != nil {
		return complain(stderr, *pinning, err)
	}
	remarkOn(stderr, w.Machine, p, *machine, *pinning, bpm)
	status := done
	if v.Trust != timing.Trusted {
		status = findings
	}
	if *asJSON {
		out := newVerdictJSON(w, v)
		if *costs {
			out.addCosts(turn)
		}
		return answerJSON(stdout, stderr, out, status)
	}
	return answer(stdout, stderr, verdictText(w, turn, v, tried, *costs), status)
}

func remarkOn(stderr io.Writer, m *wheel.Machine, p *wheel.Pinning, machinePath, pinningPath string, tempo float64) {
	remarkOnMachine(stderr, m, p, machinePath, pinningPath)
	if l := m.Limits; tempo < l.TempoMinBPM || tempo > l.TempoMaxBPM {
		remark(stderr, "%s BPM is outside the tempos of %s, %s to %s BPM", say.Number(tempo), m.Name, say.Tempo(l.TempoMinBPM), say.Tempo(l.TempoMaxBPM))
	}
}

// verdictText is a verdict for people: what was asked first, what follows from
// it after. tried is nil for the machine as it is; costs asks for what measuring
// would win.
func verdictText(w *timing.Works, turn *timing.Turn, v *timing.Verdict, tried *trial, costs bool) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s on %s, %s\n\n", v.Pinning, v.Machine, say.Count(v.Pins, "pin", "pins"))
	if tried != nil {
		tried.words(&b)
	}
	limits := w.Machine.Limits
	beyond := timing.BeyondWords(limits, v.TempoBPM)
	switch {
	case len(v.Unknown) > 0:
		fmt.Fprintf(&b, "At %s BPM: unknown\n", say.Number(v.TempoBPM))
		lines(&b, v.Findings, shownFindings, w.Sentence)
	case v.Safe && beyond != "":
		fmt.Fprintf(&b, "At %s BPM: no findings, but %s, %s to %s BPM\n", say.Number(v.TempoBPM), beyond, say.Tempo(limits.TempoMinBPM), say.Tempo(limits.TempoMaxBPM))
	case v.Trust == timing.Trusted:
		fmt.Fprintf(&b, "At %s BPM: trusted\n", say.Number(v.TempoBPM))
	case v.Safe:
		fmt.Fprintf(&b, "At %s BPM: close; no rule is broken, but %s\n", say.Number(v.TempoBPM), closeWords(v))
	default:
		fmt.Fprintf(&b, "At %s BPM: not safe, %s\n", say.Number(v.TempoBPM), say.Count(len(v.Findings), "finding", "findings"))
		lines(&b, v.Findings, shownFindings, w.Sentence)
	}
	if len(v.Unknown) > 0 {
		unknownWords(&b, w, v)
		return b.String()
	}
	standing := v.Stands
	fmt.Fprintf(&b, "\n%s\n%s\n", w.KeepSentence(standing), turn.FaultSentence(v.TempoBPM))
	distance := w.DivideSentence(standing, turn.Divide())
	if costs {
		distance = strings.TrimSpace(distance + "\n" + w.CostSentence(turn.DoubtCosts(), shownCosts))
	}
	if distance != "" {
		fmt.Fprintf(&b, "%s\n", distance)
	}
	if worst := turn.FaultSources(v.TempoBPM); len(worst) > 0 {
		b.WriteString("Most of it comes from:\n")
		lines(&b, worst, len(worst), func(says string) string { return says })
	}
	if v.MaxSafeBPM != nil {
		fmt.Fprintf(&b, "\nBare limit: %s BPM (%s)\n", say.TempoDown(*v.MaxSafeBPM), bareWords(v))
	} else {
		fmt.Fprintf(&b, "\nBare limit: none; even the slowest tempo, %s BPM, is not safe\n", say.Tempo(limits.TempoMinBPM))
	}
	if tried != nil {
		fmt.Fprintf(&b, "As the machine is:  %s\n", tried.maxSafe())
	}
	if stops := turn.Limits(); len(stops) > 0 {
		b.WriteString("\nWhat stops it first, in BPM:\n")
		rungs := turn.MendedLadder(v.TempoBPM, shownLimits)
		lines(&b, stops, shownLimits, func(timing.Limit) string {
			rung := rungs[0]
			rungs = rungs[1:]
			return rungWords(w, rung)
		})
	} else {
		fmt.Fprintf(&b, "\nNothing stops it up to %s BPM, the machine's highest tempo.\n", say.Tempo(limits.TempoMaxBPM))
	}
	if bands := v.Bands; len(bands) > 0 {
		b.WriteString("\nNo rule is broken, in BPM:\n")
		lines(&b, bands, shownBands, func(band timing.Band) string { return say.TempoRange(band.From, band.To) })
	} else {
		fmt.Fprintf(&b, "\nA rule is broken at every tempo from %s to %s BPM\n", say.Tempo(limits.TempoMinBPM), say.Tempo(limits.TempoMaxBPM))
	}
	fmt.Fprintf(&b, "\nTogether: flam is %s at %s BPM, and ", say.MS(*v.FlamMS), say.Number(v.TempoBPM))
	if v.Together != nil {
		fmt.Fprintf(&b, "within %s from %s BPM\n", say.MS(limits.FlamMS), say.TempoRange(v.Together.FromBPM, v.Together.ToBPM))
	} else {
		fmt.Fprintf(&b, "within %s at no tempo from %s to %s BPM\n", say.MS(limits.FlamMS), say.Tempo(limits.TempoMinBPM), say.Tempo(limits.TempoMaxBPM))
	}
	warningWords(&b, v)
	return b.String()
}

// closeWords says why a tempo at which no rule is broken is not trusted.
func closeWords(v *timing.Verdict) string {
	if v.Stands.ByHouse() && v.TempoBPM <= *v.KeepBelowBPM {
		return "the house keeps below " + say.TempoDown(*v.RedLineBPM) + " BPM"
	}
	return "more faults are expected than the machine's limits allow"
}

// shownCosts is how many figures are shown that are worth measuring.
const shownCosts = 3

// bareWords tells the two limits apart that the bare one is the lower of.
func bareWords(v *timing.Verdict) string {
	words := "every note sounds up to " + orNone(v.NotesBPM) + ", every lane runs free up to " + orNone(v.LanesBPM)
	if v.StopBPM != nil && *v.StopBPM > 0 {
		words += "; starting and stopping pass tempos below " + say.TempoUp(*v.StopBPM) + " at which marbles meet"
	}
	return words
}

func orNone(bpm *float64) string {
	if bpm == nil {
		return "none"
	}
	return say.TempoDown(*bpm)
}

// shownUnknown is how many unknown figures are shown.
const shownUnknown = 20

// unknownWords says what has to be measured before anything can be called safe.
func unknownWords(b *strings.Builder, w *timing.Works, v *timing.Verdict) {
	b.WriteString("\nMeasure these first. Until then no tempo can be called safe:\n")
	lines(b, v.Unknown, shownUnknown, func(path string) string { return path })
	if v.AtBestBPM != nil {
		fmt.Fprintf(b, "\nWith all of these at 0 the bare limit would be %s BPM. It cannot be higher.\n", say.TempoDown(*v.AtBestBPM))
	}
	warningWords(b, v)
}

// warningWords says what is odd about the machine.
func warningWords(b *strings.Builder, v *timing.Verdict) {
	if len(v.Warnings) > 0 {
		b.WriteString("\nThe machine's file:\n")
		lines(b, v.Warnings, shownUnknown, func(text string) string { return text })
	}
}

// shownMends is how many mends are shown of a limit.
const shownMends = 3

// rungWords says at which tempo a rule first bites, and where, and below it what
// would mend it, the most useful first.
func rungWords(w *timing.Works, r timing.Rung) string {
	says := w.RungSentence(r)
	indent := "\n" + strings.Repeat(" ", 10)
	for _, m := range r.Mends[:min(len(r.Mends), shownMends)] {
		says += indent + w.MendSentence(r, m)
		if gain := w.GainSentence(m); gain != "" {
			says += indent + "  " + gain
		}
	}
	return fmt.Sprintf("%-7s %s", say.TempoDown(r.BPM), says)
}
