// Pinwright prepares a marble-played music machine for its public. Alone it
// serves its pages; its commands do the same work on files.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"pinwright/wheel"
)

func main() { os.Exit(run(context.Background(), os.Args[1:], os.Stdout, os.Stderr)) }

// What a run comes to, as its exit status.
const (
	done     = 0 // and safe, where that was asked
	findings = 1 // done, and there are findings
	refused  = 2 // bad usage or bad input
)

// command is one word after pinwright, and what it does.
type command struct {
	name, usage, does string
	run               func(ctx context.Context, args []string, stdout, stderr io.Writer) int
}

func commands() []command {
	return []command{
		{"check", "check -machine FILE -pinning FILE", "whether a pinning is safe at a tempo, and up to which", check},
		{"pin", "pin -machine FILE -song FILE -out FILE", "set a song on the machine's wheel", pin},
		{"survey", "survey -machine FILE FOLDER", "which of a folder's songs suit the machine best", survey},
		{"midi", "midi -machine FILE -pinning FILE -out FILE", "write a pinning as a MIDI file, to hear it", midi},
		{"sheets", "sheets -machine FILE -pinning FILE -out FOLDER", "the sheets that a wheel is pinned from", sheetsCommand},
		{"changeover", "changeover -machine FILE -from FILE -to FILE", "the pulls and drives from one pinning to another", changeover},
		{"window", "window -machine FILE -pinning FILE", "at which tempos visitors can turn a pinning", windowCommand},
		{"programme", "programme -machine FILE PINNING[@BPM][xTURNS]…", "add up a day of songs for visitors", programmeCommand},
	}
}

// run does what the arguments say and returns the exit status.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	if len(args) == 0 || strings.HasPrefix(args[0], "-") {
		return serve(ctx, args, stdout, stderr)
	}
	var names []string
	for _, c := range commands() {
		if c.name == args[0] {
			return c.run(ctx, args[1:], stdout, stderr)
		}
		names = append(names, c.name)
	}
	fmt.Fprintf(stderr, "pinwright: there is no command %q%s; pinwright -h lists them\n", args[0], didYouMean("", args[0], names))
	return refused
}

func didYouMean(mark, word string, words []string) string {
	if near := wheel.Nearest(word, words); near != "" {
		return "; did you mean " + mark + near + "?"
	}
	return ""
}
