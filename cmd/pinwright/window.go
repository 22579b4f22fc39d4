package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"pinwright/timing"
	"pinwright/timing/window"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
)

var windowUsage = usage{
	name: "pinwright window",
	before: `Usage: pinwright window -machine FILE -pinning FILE [-slow FROM-TO] [-margin PERCENT] [-json]

Shows at which tempos visitors can turn a pinning: from the slowest at which its
chords hold together to the red line less a margin, and what ends the window on
either side. The red line is the fastest that the machine should be played: the
tempo to keep below, in which spread, doubt and the crank's wander are counted, or
the machine's house_bpm where that is lower. While a figure is unknown that the
pinning needs there is no window, and the answer says what to measure first.

Lists the ranges of tempo in which some choice of advances would hold all strikes
together and the pinning set like that can be turned by visitors. With -slow it
shows what setting the pinning for a range gives: how far strikes spread, how many
pins move, the window of the pinning set like that, and whether the machine can be
trusted over the whole range. It writes no file.`,
	after: `Example:
  pinwright window -machine hailstone.json -pinning mill-race.json -slow 50-60

Exit status: 0 there is a window; 1 there is none, or with -slow none for the
pinning set like that, or the range goes above its red line; 2 bad usage or input.`,
}

// The JSON that "pinwright window -json" answers with. Ends are null where there
// is no window.
type (
	windowAnswerJSON struct {
		Machine string      `json:"machine"`
		Pinning string      `json:"pinning"`
		Margin  float64     `json:"margin"` // the house's, a part of the red line
		Wander  float64     `json:"wander"` // the crank's, which is counted in the red line
		Window  windowJSON  `json:"window"`
		Held    []rangeJSON `json:"held"` // where advances can hold all strikes together and visitors can turn it
		Slow    *slowJSON   `json:"slow"` // null without -slow
	}

	windowJSON struct {
		Open         bool     `json:"open"`
		FromBPM      *float64 `json:"from_bpm"`
		ToBPM        *float64 `json:"to_bpm"`
		RedLineBPM   *float64 `json:"red_line_bpm"`   // of which the margin is taken off; null where no tempo can be trusted
		KeepBelowBPM *float64 `json:"keep_below_bpm"` // the same but for the house's own limit
		MaxSafeBPM   *float64 `json:"max_safe_bpm"`   // the bare limit; null where the machine's lowest tempo is not safe
		CrankFromRPM *float64 `json:"crank_from_rpm"`
		CrankToRPM   *float64 `json:"crank_to_rpm"`
		Slowest      string   `json:"slowest"` // what ends it below, in a sentence
		Fastest      string   `json:"fastest"` // what ends it above
		Closed       *string  `json:"closed"`  // why there is none
	}

	slowJSON struct {
		rangeJSON
		Stays      bool       `json:"stays"` // nothing moves: it does as well as any advances
		PinsMoved  int        `json:"pins_moved"`
		NotesLost  int        `json:"notes_lost"` // fell on one pin with another of their channel
		SpreadMS   float64    `json:"spread_ms"`  // of all strikes, the worst over the range
		WasMS      float64    `json:"was_spread_ms"`
		ChordMS    float64    `json:"chord_ms"` // of the widest chord, the worst over the range
		WasChordMS float64    `json:"was_chord_ms"`
		TempoBPM   float64    `json:"tempo_bpm"` // proposed
		Trusted    bool       `json:"trusted"`   // the machine can be trusted over the whole range, set for it
		Distrust   *string    `json:"distrust"`  // why not
		Window     windowJSON `json:"window"`    // of the pinning so set
	}
)

func windowCommand(_ context.Context, args []string, stdout, stderr io.Writer) int {
	fs := newFlags(windowUsage)
	machine := fs.String("machine", "", "the machine `FILE`")
	pinning := fs.String("pinning", "", "the pinning `FILE`")
	margin := marginFlag(fs)
	var slowRange *arrange.TempoRange
	fs.Func("slow", "say what setting the pinning for a range of tempos gives, `FROM-TO` in BPM", func(s string) (err error) {
		slowRange, err = readRange(s)
		return err
	})
	asJSON := fs.Bool("json", false, "answer with one JSON object, in full precision")
	if status, ok := windowUsage.parse(fs, args, stdout, stderr); !ok {
		return status
	}
	if !windowUsage.needs(fs, stderr, "machine", "pinning") {
		return refused
	}
	in := inputs{stderr: stderr}
	w := input(&in, *machine, readMachine)
	p := input(&in, *pinning, readPinning)
	if in.failed {
		return refused
	}
	w = w.CountedFor(p)
	turn, err := w.Turn(p)
	if err != nil {
		return complain(stderr, *pinning, err)
	}
	win := turn.Window(margin())
	held, err := window.Held(w, p, margin())
	if err != nil {
		return complain(stderr, *pinning, err)
	}
	shut := !win.Open
	var slow *window.Slow
	if slowRange != nil && !win.Unknown {
		if len(p.Pins) == 0 {
			return complain(stderr, *pinning, errors.New("it has no pins: nothing strikes, and there is no advance to choose with -slow"))
		}
		if slow, err = window.SetForSlow(w, p, *slowRange, margin()); err != nil {
			return windowUsage.misused(stderr, "-slow: %s", err)
		}
		shut = !slow.Window.Open || slow.Distrust != ""
	}
	remarkOnMachine(stderr, w.Machine, p, *machine, *pinning)
	status := done
	if shut {
		status = findings
	}
	if *asJSON {
		return answerJSON(stdout, stderr, windowAnswer(w.Machine, p, win, held, slow), status)
	}
	return answer(stdout, stderr, windowText(w.Machine, p, win, held, slow), status)
}

// readRange reads a range of tempos such as 50-60.
func readRange(s string) (*arrange.TempoRange, error) {
	low, high, ok := strings.Cut(s, "-")
	from, errFrom := strconv.ParseFloat(low, 64)
	to, errTo := strconv.ParseFloat(high, 64)
	if within := func(bpm float64) bool { return bpm >= 1 && bpm <= wheel.MaxTempoBPM }; !ok || errFrom != nil || errTo != nil || !within(from) || !within(to) {
		return nil, fmt.Errorf("a range is two tempos from 1 to %d BPM with a hyphen between them, such as 50-60", wheel.MaxTempoBPM)
	}
	return &arrange.TempoRange{FromBPM: from, ToBPM: to}, nil
}

func windowAnswer(m *wheel.Machine, p *wheel.Pinning, win timing.Window, held []arrange.TempoRange, slow *window.Slow) windowAnswerJSON {
	a := windowAnswerJSON{Machine: m.Name, Pinning: p.Title, Margin: win.Own, Wander: win.Wander, Window: windowOf(m, win.TempoWindow), Held: []rangeJSON{}}
	for _, r := range held {
		a.Held = append(a.Held, rangeJSON{r.FromBPM, r.ToBPM})
	}
	if slow != nil {
		a.Slow = &slowJSON{
			rangeJSON: rangeJSON{slow.Range.FromBPM, slow.Range.ToBPM}, Stays: slow.Stays(), PinsMoved: slow.Moved, NotesLost: len(slow.Merged),
			SpreadMS: slow.SpreadS * 1000, WasMS: slow.WasS * 1000, ChordMS: slow.FlamS * 1000, WasChordMS: slow.WasFlamS * 1000,
			TempoBPM: slow.TempoBPM, Trusted: slow.Distrust == "", Window: windowOf(m, slow.Window.TempoWindow),
		}
		if slow.Distrust != "" {
			a.Slow.Distrust = &slow.Distrust
		}
	}
	return a
}

func windowOf(m *wheel.Machine, w wheel.TempoWindow) windowJSON {
	answer := windowJSON{Open: w.Open, Slowest: w.Slowest, Fastest: w.Fastest}
	if w.RedLineBPM > 0 {
		answer.RedLineBPM, answer.KeepBelowBPM = &w.RedLineBPM, &w.KeepBelowBPM
	}
	if w.MaxSafeBPM > 0 {
		answer.MaxSafeBPM = &w.MaxSafeBPM
	}
	if !w.Open {
		answer.Closed = &w.Closed
		return answer
	}
	answer.FromBPM, answer.ToBPM = &w.FromBPM, &w.ToBPM
	if slow, fast := m.Wheel.CrankAt(w.FromBPM).Turns, m.Wheel.CrankAt(w.ToBPM).Turns; slow > 0 {
		answer.CrankFromRPM, answer.CrankToRPM = &slow, &fast
	}
	return answer
}

// shownHeld is how many ranges people are shown.
const shownHeld = 10

func windowText(m *wheel.Machine, p *wheel.Pinning, win timing.Window, held []arrange.TempoRange, slow *window.Slow) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s on %s, %s\n\n", p.Title, m.Name, say.Count(len(p.Pins), "pin", "pins"))
	writeWindow(&b, m, win.TempoWindow)
	if len(p.Pins) > 0 && !win.Unknown {
		if len(held) > 0 {
			b.WriteString("\nAdvances in whole steps can hold all strikes together where visitors can turn it, in BPM:\n")
			lines(&b, held, shownHeld, func(r arrange.TempoRange) string { return say.TempoRange(r.FromBPM, r.ToBPM) })
		} else {
			fmt.Fprintf(&b, "\nAt no tempo for visitors can advances in whole steps bring all strikes within %s ms.\n", say.Number(m.Limits.FlamMS))
		}
	}
	if slow == nil {
		return b.String()
	}
	ms := func(s float64) string { return say.MS(s * 1000) }
	fmt.Fprintf(&b, "\nSet for %s to %s BPM:\n", say.Number(slow.Range.FromBPM), say.Number(slow.Range.ToBPM))
	if slow.Stays() {
		fmt.Fprintf(&b, "  no pin moves; all strikes spread by %s at worst, the widest chord by %s\n", ms(slow.WasS), ms(slow.WasFlamS))
		if slow.Distrust != "" {
			fmt.Fprintf(&b, "  not to be trusted: %s\n", slow.Distrust)
		}
		return b.String()
	}
	fmt.Fprintf(&b, "  all strikes spread by %s at worst instead of %s; the widest chord by %s instead of %s\n", ms(slow.SpreadS), ms(slow.WasS), ms(slow.FlamS), ms(slow.WasFlamS))
	fmt.Fprintf(&b, "  %s of %d would move", say.Count(slow.Moved, "pin", "pins"), len(p.Pins))
	if n := len(slow.Merged); n > 0 {
		fmt.Fprintf(&b, ", and %s would fall on a pin that is there already and be lost", say.Count(n, "note", "notes"))
	}
	if slow.Distrust != "" {
		fmt.Fprintf(&b, "\n  not to be trusted: %s\n\n", slow.Distrust)
	} else {
		fmt.Fprintf(&b, "\n  a tempo for it: %s BPM\n\n", say.Tempo(slow.TempoBPM))
	}
	writeWindow(&b, m, slow.Window.TempoWindow)
	return b.String()
}

func writeWindow(b *strings.Builder, m *wheel.Machine, w wheel.TempoWindow) {
	if w.Open {
		fmt.Fprintf(b, "For visitors: %s BPM\n", say.TempoRange(w.FromBPM, w.ToBPM))
		if turns := window.CrankText(m.Wheel, w); turns != "" {
			fmt.Fprintf(b, "  %s\n", turns)
		}
	} else {
		fmt.Fprintf(b, "For visitors: no tempo. %s\n", w.Closed)
	}
	if w.Unknown {
		fmt.Fprintf(b, "  %s\n", w.Fastest)
		return
	}
	fmt.Fprintf(b, "  %s\n  %s\n", w.Slowest, w.Fastest)
}
