package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

var midiUsage = usage{
	name: "pinwright midi",
	before: `Usage: pinwright midi -machine FILE -pinning FILE -out FILE [-tempo BPM] [-as-played] [-turns N] [-json]

Writes a pinning as a Standard MIDI File, to hear it without the machine: as
written, every note on its beat; or as the machine would play it at that tempo,
every strike as early or late as mechanics make it, without those that are
missed. A drop is missed if its lever has not fallen back or its gate has not reloaded,
and on a channel that is resting.

Each kind of channel has a track and a MIDI channel, drum channels share MIDI
channel 10. A channel sounds on the first of its keys; one without keys ticks as
a side stick. If a strike comes before the turn begins, whole bars of rest come
before it.

A file that is there already is left alone unless -force is given; the machine
and the pinning always are.`,
	after: `Example:
  pinwright midi -machine hailstone.json -pinning mill-race.json -as-played -tempo 96 -out played.mid

Exit status: 0 the file is written; 1 the file is written, but the machine
misses drops; 2 bad usage or input, and nothing is written.`,
}

// midiReport is what became of a pinning as a song.
type midiReport struct {
	machine  string
	pinning  string
	tempoBPM float64
	asPlayed bool
	turns    int
	strikes  int          // in the file, of all turns
	missed   []midiMissed // in a turn
	seconds  float64      // the file's length
}

// midiMissed is a pin whose drop fails.
type midiMissed struct {
	channel string // id
	step    int
	why     timing.Kind
}

func midi(_ context.Context, args []string, stdout, stderr io.Writer) int {
	fs := newFlags(midiUsage)
	machine := fs.String("machine", "", "the machine `FILE`")
	pinning := fs.String("pinning", "", "the pinning `FILE`")
	out := fs.String("out", "", "the Standard MIDI `FILE` to write")
	tempo := tempoFlag(fs, "tempo", "the tempo to play at, 3.58 to 1000 `BPM`; the pinning's if left out")
	asPlayed := fs.Bool("as-played", false, "write what the machine would play, not what is written")
	turns := countFlag(fs, "turns", fmt.Sprintf("how many `TURNS` of the wheel, 1 to %d; 1 if left out", arrange.MaxTurns), "a number of turns")
	force := fs.Bool("force", false, "replace a file at -out")
	asJSON := fs.Bool("json", false, "answer with one JSON object, in full precision")
	if status, ok := midiUsage.parse(fs, args, stdout, stderr); !ok {
		return status
	}
	if !midiUsage.needs(fs, stderr, "machine", "pinning", "out") {
		return refused
	}
	to, err := newTarget(*out, *force, *machine, *pinning)
	if err != nil {
		return complain(stderr, *out, err)
	}
	in := inputs{stderr: stderr}
	w := input(&in, *machine, readMachine)
	p := input(&in, *pinning, readPinning)
	if in.failed {
		return refused
	}
	bpm, ok := midiUsage.tempo(stderr, *tempo, p, *pinning)
	if !ok {
		return refused
	}
	s, err := arrange.Export(w, p, bpm, *asPlayed, max(*turns, 1))
	if err != nil {
		return complain(stderr, *pinning, err)
	}
	var file bytes.Buffer
	if err := song.Write(&file, s); err != nil {
		return complain(stderr, *pinning, err)
	}
	if err := to.fill(file.WriteTo); err != nil {
		return complain(stderr, *out, fmt.Errorf("it could not be written: %w", err))
	}
	remarkOn(stderr, w.Machine, p, *machine, *pinning, bpm)
	r := midiReport{
		machine: w.Machine.Name, pinning: p.Title, tempoBPM: bpm, asPlayed: *asPlayed, turns: max(*turns, 1),
		strikes: len(s.Notes), seconds: s.SecondsAt(float64(s.EndTick)),
	}
	if *asPlayed {
		if r.missed, err = missedOn(w, p, bpm); err != nil {
			return complain(stderr, *pinning, err)
		}
	}
	status := done
	if len(r.missed) > 0 {
		status = findings
	}
	if *asJSON {
		return answerJSON(stdout, stderr, newMidiJSON(r), status)
	}
	return answer(stdout, stderr, r.text(w.Machine.CountedFor(p), *out), status)
}

// missedOn lists the pins whose drops fail, in the order in which they should
// sound.
func missedOn(w *timing.Works, p *wheel.Pinning, tempoBPM float64) ([]midiMissed, error) {
	t, err := w.Turn(p)
	if err != nil {
		return nil, err
	}
	var missed []midiMissed
	for _, s := range t.AsPlayed(tempoBPM, nil) {
		if s.Missed {
			missed = append(missed, midiMissed{w.Machine.Channels[s.Channel].ID, s.Step, s.Why})
		}
	}
	return missed, nil
}

func (r midiReport) text(m *wheel.Machine, path string) string {
	var b strings.Builder
	how := "as written"
	if r.asPlayed {
		how = "as played"
	}
	fmt.Fprintf(&b, "%s on %s, %s at %s BPM, written to %s\n\n", r.pinning, r.machine, how, say.Tempo(r.tempoBPM), path)
	fmt.Fprintf(&b, "Strikes: %d in %s, %s s\n", r.strikes, say.Count(r.turns, "turn", "turns"), say.Rounded(r.seconds, 1))
	if len(r.missed) > 0 {
		fmt.Fprintf(&b, "\nMissed in a turn: %s\n", say.Count(len(r.missed), "drop", "drops"))
		lines(&b, r.missed, shownFindings, func(one midiMissed) string {
			return fmt.Sprintf("%s, %s: %s", m.Channels[m.Channel(one.channel)].Name, m.Wheel.PlaceText(one.step), one.why.Missed())
		})
	}
	return b.String()
}

// newTarget is targetFor for a file that replaces none unless forced: a song is
// not to be told from what was exported before.
func newTarget(path string, force bool, read ...string) (target, error) {
	to, err := targetFor(path, true, read...)
	if err != nil || force {
		return to, err
	}
	if info, err := os.Stat(path); err == nil && info.Size() > 0 {
		return target{}, errors.New("it is there already; name another, or replace it with -force")
	}
	return to, nil
}
