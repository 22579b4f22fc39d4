package song

import (
	"cmp"
	"regexp"
	"slices"
)

// placeholder is what programs call a track that nobody has named.
var placeholder = regexp.MustCompile(`(?i)^(new )?(staff|track|channel|untitled|sequence)[ _#-]*\d*$`)

// compose makes a song of parts that sound together, of at most so many bars. Its
// title is the first name of a track that somebody chose, else the title given.
func compose(h header, parts []*part, w warnings, title string, limit int) *Song {
	s := &Song{Format: h.format, TicksPerQuarter: h.ticksPerQuarter, SMPTE: h.smpte}
	var runs [][]Note
	var tempos []Tempo
	var meters []Meter
	unchosen := "" // the first name that nobody chose
	for _, p := range parts {
		w.join(p.warnings)
		if placeholder.MatchString(p.name) {
			unchosen = cmp.Or(unchosen, p.name)
		} else {
			s.Title = cmp.Or(s.Title, p.name)
		}
		s.Tracks = append(s.Tracks, Track{Name: p.name})
		if len(p.notes) > 0 {
			runs = append(runs, p.notes)
		}
		tempos = append(tempos, p.tempos...)
		meters = append(meters, p.meters...)
		s.EndTick = max(s.EndTick, p.endTick)
	}
	if title == untitled {
		title = cmp.Or(unchosen, title)
	}
	s.Title = cmp.Or(s.Title, title)
	s.Notes = merge(runs)
	if cap(s.Notes) > 2*len(s.Notes) {
		s.Notes = slices.Clone(s.Notes) // not to hold on to room that was never filled
	}
	s.setTempos(tempos, &w)
	s.setMeters(meters, &w)
	s.setBars(limit, &w)
	s.setChannels()
	s.layClock()
	if len(s.Notes) == 0 {
		s.Notes = nil
		w.addf("it has no notes")
	}
	s.Warnings = w.sentences()
	return s
}

// setChannels lists the channels of each track's notes.
func (s *Song) setChannels() {
	used := make([][16]bool, len(s.Tracks))
	for _, n := range s.Notes {
		used[n.Track][n.Channel-1] = true
	}
	for t := range used {
		for i, is := range used[t] {
			if is {
				s.Tracks[t].Channels = append(s.Tracks[t].Channels, i+1)
			}
		}
	}
}

func (s *Song) setTempos(found []Tempo, w *warnings) {
	if s.SMPTE {
		if len(found) > 0 {
			w.addf("%s left out, since tempos do not change times in parts of a second", plural(len(found), "tempo"))
		}
		s.Tempos = []Tempo{defaultTempo}
		return
	}
	if !slices.ContainsFunc(found, func(t Tempo) bool { return t.Tick == 0 }) {
		w.addf("no tempo is given for its start; 120 quarter notes a minute was assumed")
	}
	s.Tempos = inForce(found, defaultTempo, Tempo.tick, Tempo.same)
}

func (s *Song) setMeters(found []Meter, w *warnings) {
	if !slices.ContainsFunc(found, func(m Meter) bool { return m.Tick == 0 }) {
		w.addf("no time signature is given for its start; 4/4 was assumed")
	}
	s.Meters = inForce(found, defaultMeter, Meter.tick, Meter.same)
}

// setBars lays the bars and cuts off what lies beyond the limit.
func (s *Song) setBars(limit int, w *warnings) {
	end := max(s.EndTick, 1)
	if len(s.Notes) > 0 {
		end = max(end, s.Notes[len(s.Notes)-1].Tick+1)
	}
	table := layBars(s.Meters, s.TicksPerQuarter, end, limit)
	s.Bars = table.bars
	if len(table.short) > 0 {
		w.addf("%s cut short by a new time signature, the first of them bar %d", plural(len(table.short), "bar"), table.short[0]+1)
	}
	if table.full {
		cut := table.end()
		before := len(s.Notes)
		s.cut(cut)
		w.addf("it runs on past bar %s, the last that is read; %s beyond it left out", count(int64(limit)), plural(before-len(s.Notes), "note"))
	}
}

// cut leaves out what starts at a tick or later, and ends there what goes on.
func (s *Song) cut(tick int64) {
	before := func(t int64) bool { return t < tick }
	s.Notes = slices.DeleteFunc(s.Notes, func(n Note) bool { return !before(n.Tick) })
	for i := range s.Notes {
		s.Notes[i].Ticks = min(s.Notes[i].Ticks, tick-s.Notes[i].Tick)
	}
	s.Tempos = slices.DeleteFunc(s.Tempos, func(t Tempo) bool { return !before(t.Tick) })
	s.Meters = slices.DeleteFunc(s.Meters, func(m Meter) bool { return !before(m.Tick) })
	s.EndTick = tick
}
