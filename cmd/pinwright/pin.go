package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

var pinUsage = usage{
	name: "pinwright pin",
	before: `Usage: pinwright pin -machine FILE -song FILE -out FILE [flags]

Sets a song from a Standard MIDI File on the machine's wheel: every note to the
nearest step and to a channel that has its key. Writes the pinning, and shows what
became of the notes, the tempo to keep below and the bare limit.

A pinning file that is there already is replaced, whole or not at all. Any other
file is left alone unless -force is given; the machine and the song always are.`,
	after: `Example:
  pinwright pin -machine hailstone.json -song mill-race.mid -out mill-race.json -advance

Exit status: 0 the pinning is written, and eased to its tempo where that was asked;
1 the pinning is written, but was not or not wholly eased to its tempo; 2 bad usage or
input, and nothing is written.`,
}

// pinArgs is what pin is asked to do.
type pinArgs struct {
	machine, song, out string
	transpose          string
	fromBar, bars      *int
	tempo              *float64
	repeat, advance    bool
	ease, straighten   bool
	number             *int
	force, json        bool
}

func (a *pinArgs) flags() *flag.FlagSet {
	fs := newFlags(pinUsage)
	fs.StringVar(&a.machine, "machine", "", "the machine `FILE`")
	fs.StringVar(&a.song, "song", "", "the song, a Standard MIDI `FILE`")
	fs.StringVar(&a.out, "out", "", "the pinning `FILE` to write")
	fs.StringVar(&a.transpose, "transpose", "0", "move melodic notes by so many `SEMITONES`, up or, negative, down; with auto by\nthose that place most notes; 0 if left out")
	a.fromBar = countFlag(fs, "from-bar", "the first `BAR` to set, counted from 1; 1 if left out", "a bar")
	a.bars = countFlag(fs, "bars", "how many `BARS` to set; as many as the wheel holds if left out", "a number of bars")
	a.tempo = tempoFlag(fs, "tempo", "the pinning's tempo, 1 to 1000 `BPM`; the song's at the first bar if left out")
	fs.BoolVar(&a.repeat, "repeat", false, "set the bars as many whole times as the turn holds")
	fs.BoolVar(&a.advance, "advance", false, "set each channel's pins early, by whole steps, so that at the pinning's tempo\nits strikes sound together with the others'")
	fs.BoolVar(&a.straighten, "straighten", false, "remove the section's swing from its beats")
	fs.BoolVar(&a.ease, "ease", false, "move and leave out the fewest, least important notes so that the tempo, and\nevery slower one, can be trusted: keep below is then at least the tempo. A\ntempo above the house's limit is refused, and any while a figure is unknown. It\ntakes at most 2 s and keeps the best that it found")
	a.number = countFlag(fs, "song-number", "which `SONG` of a file that holds several (format 2), counted from 1; 1 where\nleft out", "a song's number")
	fs.BoolVar(&a.force, "force", false, "replace a file at -out that is not a pinning")
	fs.BoolVar(&a.json, "json", false, "answer with one JSON object, in full precision")
	return fs
}

func pin(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	var a pinArgs
	fs := a.flags()
	if status, ok := pinUsage.parse(fs, args, stdout, stderr); !ok {
		return status
	}
	if !pinUsage.needs(fs, stderr, "machine", "song", "out") {
		return refused
	}
	transpose, err := arrange.ParseTranspose(a.transpose)
	if err != nil {
		return pinUsage.misused(stderr, "%s", err)
	}
	to, err := targetFor(a.out, a.force, a.machine, a.song)
	if err != nil {
		return complain(stderr, a.out, err)
	}
	in := inputs{stderr: stderr}
	w := input(&in, a.machine, readMachine)
	s := input(&in, a.song, func(path string) (*song.Song, error) { return readSong(path, *a.number, stderr) })
	if in.failed {
		return refused
	}
	p, report, err := arrange.Set(ctx, w, s, arrange.Request{
		FromBar: *a.fromBar, Bars: *a.bars, Repeat: a.repeat,
		Transpose: transpose, TempoBPM: *a.tempo, Advance: a.advance, Straighten: a.straighten, Ease: a.ease,
	})
	if err != nil {
		return complain(stderr, a.song, err)
	}
	if err := to.write(p); err != nil {
		return complain(stderr, a.out, fmt.Errorf("it could not be written: %w", err))
	}
	if report.Placed == 0 {
		remark(stderr, "no note of %s sounds on %s; another transposition, or on the page of the song other channels, may help", a.song, w.Machine.Name)
	}
	status := done
	if report.Eased != nil && len(report.Eased.Cannot) > 0 {
		status = findings
		for _, why := range report.Eased.Cannot {
			remark(stderr, "%s", why)
		}
	}
	if a.json {
		return answerJSON(stdout, stderr, newPinJSON(report), status)
	}
	return answer(stdout, stderr, reportText(w.Machine.CountedFor(p), p, report, a.out, a.straighten), status)
}

// readSong reads one song of a file and passes its warnings on. Its error does
// not name the file.
func readSong(path string, number int, stderr io.Writer) (*song.Song, error) {
	songs, err := song.ReadFile(path)
	if err != nil {
		return nil, errors.New(strings.TrimPrefix(bare(err).Error(), path+": "))
	}
	if number > len(songs) {
		return nil, fmt.Errorf("it holds %s; -song-number %d is past the last", say.Count(len(songs), "song", "songs"), number)
	}
	s := songs[max(number, 1)-1]
	if number == 0 && len(songs) > 1 {
		remark(stderr, "%s holds %d songs; this is the first, %s, and -song-number takes another", path, len(songs), s.Title)
	}
	for _, warning := range s.Warnings {
		remark(stderr, "%s: %s", path, warning)
	}
	return s, nil
}

func reportText(m *wheel.Machine, p *wheel.Pinning, r *arrange.Report, path string, straighten bool) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s on %s, %s, written to %s\n\n", p.Title, m.Name, say.Count(len(p.Pins), "pin", "pins"), path)
	fmt.Fprintf(&b, "Notes: %d\n", r.Notes)
	fmt.Fprintf(&b, "  %d placed\n", r.Placed)
	for _, part := range []struct {
		notes int
		says  string
	}{
		{r.Shifted, "of those moved from their step"},
		{r.Merged, "merged with another on the same pin"},
		{r.OutOfRange, "out of range: no channel has their key"},
		{r.Dropped, "left out"},
	} {
		if part.notes > 0 {
			fmt.Fprintf(&b, "  %d %s\n", part.notes, part.says)
		}
	}
	if len(r.Changes) > 0 {
		b.WriteString("\nNot as in the song:\n")
		lines(&b, changeWords(m, r), shownFindings, func(text string) string { return text })
	}
	switch semitones := wheel.Number(float64(max(r.Transpose, -r.Transpose))); {
	case r.Transpose > 0:
		fmt.Fprintf(&b, "\nTransposed: up by %s\n", semitones)
	case r.Transpose < 0:
		fmt.Fprintf(&b, "\nTransposed: down by %s\n", semitones)
	default:
		b.WriteString("\nTransposed: no\n")
	}
	fmt.Fprintf(&b, "Tempo: %s BPM\n", say.Tempo(r.TempoBPM))
	before := ""
	if r.Shifted > 0 {
		before = ", before easing"
	}
	fmt.Fprintf(&b, "Off the grid by: %s at most, %s root mean square%s\n", say.MS(r.WorstErrorMS), say.MS(r.RMSErrorMS), before)
	switch {
	case r.Swing > 0:
		fmt.Fprintf(&b, "Straightened: a swing of %s to 1 was taken out\n", say.Rounded(r.Swing, 2))
	case straighten:
		b.WriteString("Straightened: no, there is no swing to take out\n")
	}
	if fit := r.Grid; fit != nil && fit.Suffering > 0 && r.Swing == 0 {
		fmt.Fprintf(&b, "The grid: %s\n", fit.Text)
	}
	if e := r.Eased; e != nil {
		b.WriteString(easedText(e))
	}
	b.WriteString(tempoText(m, r))
	if len(r.Remains) > 0 {
		b.WriteString("\nWhat the advances leave, late if positive, and by how much the lever's follower would be set\nnearer to the pins to take it away:\n")
		tw := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
		for _, left := range r.Remains {
			fmt.Fprintf(tw, "  %s\t%s ms\t%s mm\t\n", m.Channels[m.Channel(left.Channel)].Name, say.Rounded(left.MS, 1), say.Rounded(left.LeverMM, 2))
		}
		tw.Flush()
	}
	return b.String()
}

// easedText is what easing came to.
func easedText(e *arrange.Eased) string {
	if e.EasedToBPM == nil {
		return "Eased: no\n"
	}
	before := "no tempo could be trusted before"
	if e.BeforeKeepBPM != nil {
		before = "keep below " + say.TempoDown(*e.BeforeKeepBPM) + " BPM before"
	}
	proof := "the least there is"
	if !e.Exact {
		proof = "at least " + say.Number(math.Floor(e.LowerBound*100)/100) + " is needed"
	}
	return fmt.Sprintf("Eased: to a bare limit of %s BPM; %s; cost %s, %s\n", say.Tempo(*e.EasedToBPM), before, say.Rounded(e.Cost, 2), proof)
}

// tempoText is how fast the pinning can be played.
func tempoText(m *wheel.Machine, r *arrange.Report) string {
	switch {
	case r.Unmeasured != "":
		return r.Unmeasured + "\n"
	case r.MaxSafeBPM == nil:
		return fmt.Sprintf("Keep below: none; even the slowest tempo, %s BPM, is not safe\n", say.Tempo(m.Limits.TempoMinBPM))
	}
	bare := fmt.Sprintf("Bare limit: %s BPM, if every figure were exact\n", say.TempoDown(*r.MaxSafeBPM))
	if r.KeepBelowBPM == nil {
		return fmt.Sprintf("Keep below: none; even at the slowest tempo, %s BPM, more faults are expected than the machine's limits allow\n", say.Tempo(m.Limits.TempoMinBPM)) + bare
	}
	return fmt.Sprintf("Keep below: %s BPM\n", say.TempoDown(*r.KeepBelowBPM)) + bare
}

// changeWords is what is not as in the song, a line each.
func changeWords(m *wheel.Machine, r *arrange.Report) []string {
	eased := map[arrange.Change]string{}
	if r.Eased != nil {
		for _, c := range r.Eased.Changes {
			eased[c.Change] = c.Text + " (" + c.Why + ")"
		}
	}
	words := make([]string, len(r.Changes))
	for i, c := range r.Changes {
		if words[i] = eased[c]; words[i] == "" {
			words[i] = fmt.Sprintf("%s: left out, %s", m.Wheel.PlaceText(c.FromStep), c.Why)
		}
	}
	return words
}
