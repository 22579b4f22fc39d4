package song

import (
	"fmt"

	"gitlab.com/gomidi/midi/v2/smf"
)

// A part is what one track of a file gave.
type part struct {
	number   int // in the file, from 1
	name     string
	notes    []Note // by tick, then channel and key
	tempos   []Tempo
	meters   []Meter
	endTick  int64
	dead     error // the damage that left nothing of it to read
	warnings warnings

	unended, badTempos, badMeters int
}

// A tracker reads the tracks of one file, one after another.
type tracker struct {
	ticksPerQuarter float64

	// The notes that sound, by channel and key: the first to have started, the
	// last, and for each note the one after it. Indices into the track's notes,
	// plus 1; 0 is none.
	first, last [16 * 128]int32
	after       []int32
}

// sounding is the length of a note that has not ended yet.
const sounding = -1

// read reads one track. Its notes get the given index.
func (r *tracker) read(c chunk, number, index int) *part {
	p := &part{number: number, notes: make([]Note, 0, len(c.body)/8)}
	r.after = r.after[:0]
	e := events{body: c.body}
	var damage error
	var ended bool
	for damage == nil && !ended && e.pos < len(e.body) && (e.pos == 0 || int64(e.pos) != c.stated) {
		var message smf.Message
		message, damage = e.next()
		switch {
		case damage != nil:
		case message[0] == 0xFF:
			ended = message.Is(smf.MetaEndOfTrackMsg)
			r.mark(p, message, e.tick)
		default:
			r.play(p, message, e.tick, index)
		}
	}
	if damage == nil && !ended && int64(len(c.body)) < c.stated {
		damage = fmt.Errorf("%s of %s are there", count(int64(len(c.body))), plural(int(c.stated), "byte"))
	}
	p.endTick = e.tick
	p.unended = r.stop(p)
	if e.pos == 0 {
		p.dead = damage
	}
	p.report(&e, c, damage, ended)
	sortChords(p.notes)
	return p
}

// play starts or ends a note. A note-off without a note is passed over.
func (r *tracker) play(p *part, message smf.Message, tick int64, index int) {
	var channel, key, velocity uint8
	switch {
	case message.GetNoteStart(&channel, &key, &velocity):
		p.notes = append(p.notes, Note{tick, sounding, index, key, velocity, channel + 1})
		r.after = append(r.after, 0)
		i, slot := int32(len(p.notes)), slotOf(channel, key)
		if r.first[slot] == 0 {
			r.first[slot] = i
		} else {
			r.after[r.last[slot]-1] = i
		}
		r.last[slot] = i
	case message.GetNoteEnd(&channel, &key):
		slot := slotOf(channel, key)
		if i := r.first[slot]; i > 0 {
			n := &p.notes[i-1]
			n.Ticks = tick - n.Tick
			r.first[slot] = r.after[i-1]
		}
	}
}

func slotOf(channel, key uint8) int { return int(channel)<<7 | int(key) }

// stop ends the notes that still sound at the track's end and counts them.
func (r *tracker) stop(p *part) (unended int) {
	for i := range p.notes {
		if n := &p.notes[i]; n.Ticks == sounding {
			n.Ticks = p.endTick - n.Tick
			r.first[slotOf(n.Channel-1, n.Key)] = 0
			unended++
		}
	}
	return unended
}

// mark takes down a meta event that a song is made of.
func (r *tracker) mark(p *part, message smf.Message, tick int64) {
	switch message.Type() {
	case smf.MetaTempoMsg:
		// gomidi gives a tempo as BPM; the file has whole microseconds.
		t := Tempo{Tick: tick}
		if len(message) == 6 {
			t.MicrosPerQuarter = uint32(message[3])<<16 | uint32(message[4])<<8 | uint32(message[5])
		}
		if t.MicrosPerQuarter == 0 {
			p.badTempos++
			return
		}
		p.tempos = append(p.tempos, t)
	case smf.MetaTimeSigMsg:
		var numerator, denominator uint8
		if !message.GetMetaTimeSig(&numerator, &denominator, nil, nil) {
			p.badMeters++
			return
		}
		m := Meter{tick, int(numerator), int(denominator)}
		if m.wrong(r.ticksPerQuarter) != "" {
			p.badMeters++
			return
		}
		p.meters = append(p.meters, m)
	case smf.MetaTrackNameMsg:
		if text := ""; p.name == "" && message.GetMetaTrackName(&text) {
			p.name = cleanName(text)
		}
	}
}

// report puts what was found amiss into sentences.
func (p *part) report(e *events, c chunk, damage error, ended bool) {
	warn := func(format string, args ...any) {
		p.warnings.addf("track %d "+format, append([]any{p.number}, args...)...)
	}
	switch at := plural(e.pos, "byte"); {
	case p.dead != nil:
		warn("left out; nothing of it can be read (%v)", damage)
	case damage != nil && len(p.notes) == 0:
		warn("breaks off after %s at tick %d (%v); it has no notes up to there", at, e.tick, damage)
	case damage != nil:
		warn("breaks off after %s at tick %d (%v); its notes up to there were kept", at, e.tick, damage)
	case !ended:
		warn("has no end-of-track event; it was taken to end with its last event, at tick %d", e.tick)
	case int64(e.pos) != c.stated:
		warn("states a length of %s but ends after %s", plural(int(c.stated), "byte"), count(int64(e.pos)))
	case e.pos < len(c.body):
		warn("is followed by %s that belong to no track; left out", plural(len(c.body)-e.pos, "byte"))
	}
	if e.lenient {
		warn("uses a running status that a meta or system exclusive event had ended; it was read as if it still held")
	}
	if p.unended > 0 {
		warn("has %s without an end; held to the track's end at tick %d", plural(p.unended, "note"), p.endTick)
	}
	if p.badTempos > 0 {
		warn("has %s left out; a tempo is 1 to 16,777,215 µs per quarter note", plural(p.badTempos, "tempo"))
	}
	if p.badMeters > 0 {
		warn("has %s left out; one is 1 to 255 over a power of two from 1 to 64, its bar at least one tick long", plural(p.badMeters, "time signature"))
	}
}
