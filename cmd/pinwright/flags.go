package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/place/sheets"
	"pinwright/wheel/say"
)

// usage is what -h says of a command, around the list of its flags.
type usage struct {
	name   string // as typed: pinwright check
	before string
	after  string
}

// newFlags is a set of flags that says nothing by itself.
func newFlags(u usage) *flag.FlagSet {
	fs := flag.NewFlagSet(u.name, flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	return fs
}

// parse reads a command's arguments. Where ok is false there is no more to do,
// and status is how the run ends.
func (u usage) parse(fs *flag.FlagSet, args []string, stdout, stderr io.Writer) (status int, ok bool) {
	switch err := fs.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		return u.help(fs, stdout, stderr), false
	case err != nil:
		return u.misused(stderr, "%s", flagError(fs, err)), false
	case fs.NArg() > 0:
		return u.misused(stderr, "%q is not expected here; flags begin with a hyphen and a command comes first", fs.Arg(0)), false
	}
	return done, true
}

// needs checks that flags were given that have no default.
func (u usage) needs(fs *flag.FlagSet, stderr io.Writer, names ...string) bool {
	for _, name := range names {
		if f := fs.Lookup(name); f.Value.String() == "" {
			_, what := flag.UnquoteUsage(f)
			u.misused(stderr, "-%s is missing; name %s", name, what)
			return false
		}
	}
	return true
}

// misused says what is wrong with the arguments.
func (u usage) misused(stderr io.Writer, format string, args ...any) int {
	fmt.Fprintf(stderr, "%s: %s (see %s -h)\n", u.name, fmt.Sprintf(format, args...), u.name)
	return refused
}

// flagError says in our words what package flag found wrong.
func flagError(fs *flag.FlagSet, err error) string {
	says := err.Error()
	if name, is := strings.CutPrefix(says, "flag provided but not defined: -"); is {
		var names []string
		fs.VisitAll(func(f *flag.Flag) { names = append(names, f.Name) })
		return fmt.Sprintf("there is no flag -%s%s", name, didYouMean("-", name, names))
	}
	if name, is := strings.CutPrefix(says, "flag needs an argument: "); is {
		return name + " is given without a value"
	}
	if rest, is := strings.CutPrefix(says, "invalid value "); is {
		if at := strings.LastIndex(rest, " for flag "); at >= 0 {
			name, why, _ := strings.Cut(rest[at+len(" for flag "):], ": ")
			return fmt.Sprintf("%s is %s; %s", name, rest[:at], why)
		}
	}
	return says
}

func (u usage) help(fs *flag.FlagSet, stdout, stderr io.Writer) int {
	var b strings.Builder
	b.WriteString(u.before + "\n\nFlags:\n")
	tw := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fs.VisitAll(func(f *flag.Flag) {
		value, does := flag.UnquoteUsage(f)
		if value != "" {
			value = " " + value
		}
		fmt.Fprintf(tw, "  -%s%s\t%s\n", f.Name, value, strings.ReplaceAll(does, "\n", "\n\t"))
	})
	tw.Flush()
	b.WriteString("\n" + u.after + "\n")
	return answer(stdout, stderr, b.String(), done)
}

// tempoFlag adds a flag for a tempo in beats per minute, 0 where it is not
// given.
func tempoFlag(fs *flag.FlagSet, name, does string) *float64 {
	var bpm float64
	fs.Func(name, does, func(s string) error {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || !(v >= 1 && v <= wheel.MaxTempoBPM) {
			return fmt.Errorf("a tempo is a number from 1 to %d BPM", wheel.MaxTempoBPM)
		}
		bpm = v
		return nil
	})
	return &bpm
}

// countFlag adds a flag for a whole number from 1 up, 0 where it is not given.
func countFlag(fs *flag.FlagSet, name, does, what string) *int {
	var n int
	fs.Func(name, does, func(s string) error {
		v, err := strconv.ParseInt(s, 10, 32)
		if err != nil || v < 1 {
			return fmt.Errorf("%s is a whole number from 1 up", what)
		}
		n = int(v)
		return nil
	})
	return &n
}

// arguments takes the first so many arguments that are no flags, wherever they
// stand, out of the others. What is a flag's value the flags themselves say.
func arguments(fs *flag.FlagSet, args []string, most int) (others, found []string) {
	for i := 0; i < len(args); i++ {
		name, isFlag := strings.CutPrefix(args[i], "-")
		name, _, hasValue := strings.Cut(strings.TrimPrefix(name, "-"), "=")
		switch {
		case !isFlag && len(found) < most:
			found = append(found, args[i])
			continue
		case isFlag && !hasValue && takesValue(fs, name) && i+1 < len(args):
			others = append(others, args[i])
			i++
		}
		others = append(others, args[i])
	}
	return others, found
}

func takesValue(fs *flag.FlagSet, name string) bool {
	f := fs.Lookup(name)
	if f == nil {
		return false
	}
	b, ok := f.Value.(interface{ IsBoolFlag() bool })
	return !ok || !b.IsBoolFlag()
}

// numberFlag adds a flag for a number from least to most. what says what it is
// in the sentence about another one.
func numberFlag(fs *flag.FlagSet, name, does, what string, value, least, most float64) *float64 {
	fs.Func(name, does, func(s string) error {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || !(v >= least && v <= most) {
			return fmt.Errorf("%s is a number from %s to %s", what, say.Number(least), say.Number(most))
		}
		value = v
		return nil
	})
	return &value
}

// marginFlag adds a flag for the house's margin below the red line, in
// per cent; it is a part of 1.
func marginFlag(fs *flag.FlagSet) func() float64 {
	percent := numberFlag(fs, "margin", "the house's margin below the red line, in `PERCENT`; 10 if left out",
		"a margin in per cent", timing.DefaultMargin*100, 0, 99)
	return func() float64 { return *percent / 100 }
}

// paperFlag adds a flag for a paper size.
func paperFlag(fs *flag.FlagSet, paper *paper.Paper, does string) {
	fs.Func("paper", does, func(s string) (err error) {
		if *paper, err = sheets.ParsePaper(s); err != nil {
			return errors.New("it should be A4, A3 or roll")
		}
		return nil
	})
}

// lengthFlag adds a flag for a length in millimetres, 0 where it is not given.
func lengthFlag(fs *flag.FlagSet, name, does string) *float64 {
	var mm float64
	fs.Func(name, does, func(s string) error {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || !(v > 0) || math.IsInf(v, 0) {
			return errors.New("a length is a number of mm above 0")
		}
		mm = v
		return nil
	})
	return &mm
}
