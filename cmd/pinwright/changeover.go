package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"pinwright/wheel/place"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/place/sheets"
)

// shownMoves is how many pulls and drives people are shown; -json and -out have
// them all.
const shownMoves = 20

var changeoverUsage = usage{
	name: "pinwright changeover",
	before: `Usage: pinwright changeover -machine FILE -from FILE -to FILE [flags]

Works out the fewest pulls and drives that turn the pinning on the wheel into
another, in one turn and in the order in which the wheel turns; how many pins
that takes; and, from the rate at which the crew has worked, about how long.

With -rotate the new pinning may start at any step, with -exchange channels with
equal keys may exchange their rows: whatever keeps most pins in place. A channel
has mechanics of its own, so check an exchanged pinning again: -out FILE.json
writes it as it will stand.`,
	after: `Example:
  pinwright changeover -machine hailstone.json -from mill-race.json -to nine-knocks.json \
    -rotate -rate 6 -out changeover.pdf

Exit status: 0 the plan is made; 2 bad usage or input.`,
}

// changeoverArgs is what changeover is asked to do.
type changeoverArgs struct {
	machine, from, to, out string
	paper                  paper.Paper
	options                place.Options
	force, json            bool
}

func (a *changeoverArgs) flags() *flag.FlagSet {
	fs := newFlags(changeoverUsage)
	fs.StringVar(&a.machine, "machine", "", "the machine `FILE`")
	fs.StringVar(&a.from, "from", "", "the pinning `FILE` that is on the wheel")
	fs.StringVar(&a.to, "to", "", "the pinning `FILE` to come")
	fs.BoolVar(&a.options.Rotate, "rotate", false, "let the new pinning start at any step")
	fs.BoolVar(&a.options.Exchange, "exchange", false, "let channels in service with equal keys exchange their rows")
	fs.Func("rate", "`PINS` pulled and driven in a minute, the crew's usual rate; no estimate if left out", func(s string) error {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || !(v >= place.MinPinsPerMin && v <= place.MaxPinsPerMin) {
			return fmt.Errorf("a rate is a number of pins a minute from %g to %d", place.MinPinsPerMin, place.MaxPinsPerMin)
		}
		a.options.PinsPerMin = v
		return nil
	})
	fs.Func("start", "the `STEP` at which the turn of work begins; 0 if left out", func(s string) error {
		v, err := strconv.ParseInt(s, 10, 32)
		if err != nil || v < 0 {
			return errors.New("a step is a whole number from 0 up")
		}
		a.options.Start = int(v)
		return nil
	})
	fs.StringVar(&a.out, "out", "", "the `FILE` to write: a list to tick (.pdf), one for other programs (.csv), or the\npinning as it will stand (.json)")
	a.paper = paper.A4
	paperFlag(fs, &a.paper, "the list's `PAPER`: A4 or A3; A4 if left out")
	fs.BoolVar(&a.force, "force", false, "replace a file at -out that is not of its kind")
	fs.BoolVar(&a.json, "json", false, "answer with one JSON object, in full precision")
	return fs
}

func changeover(_ context.Context, args []string, stdout, stderr io.Writer) int {
	var a changeoverArgs
	fs := a.flags()
	if status, ok := changeoverUsage.parse(fs, args, stdout, stderr); !ok {
		return status
	}
	if !changeoverUsage.needs(fs, stderr, "machine", "from", "to") {
		return refused
	}
	if a.paper == paper.Roll {
		return changeoverUsage.misused(stderr, "-paper is roll; a list takes A4 or A3")
	}
	kind := strings.ToLower(filepath.Ext(a.out))
	var to target
	var err error
	switch {
	case a.out == "":
	case kind == ".json":
		to, err = targetFor(a.out, a.force, a.machine, a.from, a.to)
	case kind == ".pdf" || kind == ".csv":
		to, err = sheetTarget(a.out, a.force, a.machine, a.from, a.to)
	default:
		return changeoverUsage.misused(stderr, "-out is %q; its name should end in .pdf, .csv or .json", a.out)
	}
	if err != nil {
		return complain(stderr, a.out, err)
	}
	in := inputs{stderr: stderr}
	w := input(&in, a.machine, readMachine)
	from := input(&in, a.from, readPinning)
	next := input(&in, a.to, readPinning)
	if in.failed {
		return refused
	}
	m := w.Machine.CountedFor(next)
	errFrom, errTo := from.CheckOn(m).Err(), next.CheckOn(m).Err()
	if errFrom != nil {
		complain(stderr, a.from, errFrom)
	}
	if errTo != nil {
		complain(stderr, a.to, errTo)
	}
	if errFrom != nil || errTo != nil {
		return refused
	}
	plan, err := place.Changeover(m, from, next, a.options)
	if err != nil {
		return changeoverUsage.misused(stderr, "%s", err)
	}
	remarkOnMachine(stderr, m, from, a.machine, a.from)
	remarkOnMachine(stderr, m, next, a.machine, a.to)
	switch kind {
	case ".json":
		err = to.write(plan.Target)
	case ".csv":
		err = fillSheet(to, func(out io.Writer) error { return sheets.ChangeoverCSV(out, plan) })
	case ".pdf":
		var list *paper.Document
		if list, err = sheets.ChangeoverList(m, plan, sheets.ListOptions{Paper: a.paper, Date: time.Now()}); err == nil {
			err = fillSheet(to, list.WritePDF)
		}
	}
	if err != nil {
		return complain(stderr, a.out, fmt.Errorf("it could not be written: %w", err))
	}
	if a.json {
		return answerJSON(stdout, stderr, newPlanJSON(plan), done)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "From %s to %s on %s\n\n", plan.From, plan.To, plan.Machine)
	for _, says := range plan.Sentences(m) {
		fmt.Fprintf(&b, "%s\n", says)
	}
	if len(plan.List) > 0 {
		b.WriteString("\nAs the wheel turns:\n")
		lines(&b, plan.List, shownMoves, func(move place.Move) string {
			return fmt.Sprintf("%-5s step %d, %s, row %d, %s", move.Do, move.Step, m.Wheel.PlaceText(move.Step), move.Row, m.Channels[m.Channel(move.Channel)].Name)
		})
	}
	if a.out != "" {
		fmt.Fprintf(&b, "\nWritten to %s\n", a.out)
	}
	return answer(stdout, stderr, b.String(), done)
}
