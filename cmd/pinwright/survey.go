package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"unicode"

	"pinwright/timing"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

var surveyUsage = usage{
	name: "pinwright survey",
	before: `Usage: pinwright survey -machine FILE FOLDER [flags]

Judges every MIDI file under a folder: how much of it the machine can play, where
its best stretch is and how far to transpose it, how well it keeps to the
wheel's steps, and up to which tempo it can be trusted after easing. The songs that
suit the machine best come first. Files that cannot be read are listed, and the
survey goes on.`,
	after: `Example:
  pinwright survey -machine hailstone.json tunes -tempo 80

Exit status: 0 the survey is done; 2 bad usage or input.`,
}

// surveyed is what a survey of a folder found.
type surveyed struct {
	machine    string
	folder     string
	files      int
	songs      []arrange.Judgement // best first
	unreadable []arrange.Unreadable
}

func survey(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	fs := newFlags(surveyUsage)
	machine := fs.String("machine", "", "the machine `FILE`")
	tempo := tempoFlag(fs, "tempo", "the tempo, 1 to 1000 `BPM`, at which to play all songs; each at its own if\nleft out")
	asJSON := fs.Bool("json", false, "answer with one JSON object, in full precision")
	args, folders := arguments(fs, args, 1)
	if status, ok := surveyUsage.parse(fs, args, stdout, stderr); !ok {
		return status
	}
	if !surveyUsage.needs(fs, stderr, "machine") {
		return refused
	}
	if len(folders) == 0 {
		return surveyUsage.misused(stderr, "the folder is missing; name one that has MIDI files in it")
	}
	folder := folders[0]
	w, err := readMachine(*machine)
	if err != nil {
		return complain(stderr, *machine, err)
	}
	sources, err := midiFilesUnder(folder)
	if err != nil {
		return complain(stderr, folder, err)
	}
	if len(sources) == 0 {
		return complain(stderr, folder, errors.New("there is no MIDI file in it; their names end in .mid, .midi, .smf, .kar or .rmi"))
	}
	progress := progressLine(stderr)
	judged, unreadable, err := arrange.Survey(ctx, w, sources, arrange.SurveyOptions{TempoBPM: *tempo, Margin: timing.DefaultMargin, Progress: progress})
	if err != nil {
		return complain(stderr, folder, err)
	}
	found := surveyed{w.Machine.Name, folder, len(sources), judged, unreadable}
	if *asJSON {
		return answerJSON(stdout, stderr, newSurveyJSON(found), done)
	}
	return answer(stdout, stderr, found.text(), done)
}

// midiFilesUnder finds the MIDI files in a folder and the folders in it, by
// name. Links are not followed. A folder that cannot be read counts as a file
// that cannot be.
func midiFilesUnder(folder string) ([]arrange.Source, error) {
	info, err := os.Stat(folder)
	if err != nil {
		return nil, bare(err)
	}
	if !info.IsDir() {
		return nil, errors.New("it is not a folder; name the folder that the MIDI files are in")
	}
	if folder, err = filepath.EvalSymlinks(folder); err != nil {
		return nil, bare(err)
	}
	var sources []arrange.Source
	err = filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		name, errName := filepath.Rel(folder, path)
		if errName != nil {
			name = path
		}
		switch {
		case err != nil:
			sources = append(sources, arrange.Source{Name: name, Read: func() ([]byte, error) { return nil, bare(err) }})
			if entry != nil && entry.IsDir() {
				return filepath.SkipDir
			}
		case entry.Type().IsRegular() && song.NamedSo(path):
			sources = append(sources, arrange.Source{Name: name, Read: func() ([]byte, error) { return readFile(path, song.MaxBytes) }})
		}
		return nil
	})
	return sources, err
}

// progressLine tells how far a survey is: on a terminal in one line that is
// written over, elsewhere now and then in a line of its own.
func progressLine(stderr io.Writer) func(done, all int) {
	terminal := false
	if f, ok := stderr.(*os.File); ok {
		info, err := f.Stat()
		terminal = err == nil && info.Mode()&os.ModeCharDevice != 0
	}
	return func(done, all int) {
		switch {
		case terminal && done < all:
			fmt.Fprintf(stderr, "\r%d of %d files ", done, all)
		case terminal:
			fmt.Fprintf(stderr, "\r%s\r", strings.Repeat(" ", 40))
		case done%max(1, all/10) == 0 || done == all:
			fmt.Fprintf(stderr, "%d of %d files\n", done, all)
		}
	}
}

func (s surveyed) text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s on %s, %s\n\n", say.Count(len(s.songs), "song", "songs"), s.machine, say.Count(s.files, "file", "files"))
	if len(s.songs) > 0 {
		tw := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
		fmt.Fprintln(tw, "suits\tsong\tbars\ttransposed\tnotes played\toff the grid\tkeep below\tbare limit\tverdict")
		for _, j := range s.songs {
			fmt.Fprintf(tw, "%.2f\t%s\t%d–%d\t%s\t%s %% of %d\t%s\t%s\t%s\t%s\n",
				j.Suits, nameOf(j), j.FromBar, j.FromBar+j.Bars-1, signed(j.Transpose),
				say.Number(math.Floor(j.Share*1000)/10), j.Notes, say.MS(j.RMSMS), tempoWords(j.KeepBelowBPM, j.Unmeasured), tempoWords(j.EasedBPM, j.Unmeasured), j.Verdict)
		}
		tw.Flush()
	}
	if len(s.unreadable) > 0 {
		fmt.Fprintf(&b, "\nNot judged:\n")
		for _, u := range s.unreadable {
			fmt.Fprintf(&b, "  %s: %s\n", printable(u.File), printable(u.Why))
		}
	}
	return b.String()
}

// nameOf is a song's file, and its number where that is not the first.
func nameOf(j arrange.Judgement) string {
	if j.Number > 1 {
		return fmt.Sprintf("%s, song %d", printable(j.File), j.Number)
	}
	return printable(j.File)
}

// printable is a file's name without what would move a terminal's cursor or
// colour it.
func printable(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return unicode.ReplacementChar
	}, name)
}

func tempoWords(bpm *float64, unmeasured string) string {
	switch {
	case unmeasured != "":
		return "unknown"
	case bpm == nil:
		return "none"
	}
	return say.TempoDown(*bpm) + " BPM"
}

func signed(semitones int) string {
	switch {
	case semitones > 0:
		return fmt.Sprintf("+%d", semitones)
	case semitones < 0:
		return fmt.Sprintf("−%d", -semitones)
	}
	return "no"
}
