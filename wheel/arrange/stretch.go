package arrange

import (
	"cmp"
	"math"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

// Choice says what of a song is to be set and who could play it. A voice is
// what some notes have in common that the same channels may play, such as their
// key; it is any number from 0.
type Choice struct {
	// Voice is a note's voice; ok is false for notes that do not count.
	Voice func(song.Note) (voice int, ok bool)
	// Capacity is how many notes of a voice can sound at one step when melodic
	// notes are moved by so many semitones: the number of channels in service
	// that may play it then.
	Capacity func(voice, semitones int) int
	// Lowest and Highest bound the transpositions that are tried, in semitones,
	// −127 … 127. Both 0 try the song as it stands.
	Lowest, Highest int
}

// Stretch is the longest section from a first bar, at the transposition that
// places most of its notes.
type Stretch struct {
	Section   Section
	Transpose int // semitones
	Notes     int // of the section, those included
	Placed    int // that have a pin of their own
	Lost      int // the others: no channel has their key, or all that have it are taken at their step
	Sounding  int // those that some channel has the key of, merged ones among them
	Seam      Seam
	Worth     float64
}

// Stretches returns a song's stretches, the best to set first, one for every
// bar from which a section fits the wheel. A stretch is worth
//
//	sounding × (sounding ÷ notes) × (¾ + ¼ × likeness of the seam),
//
// the notes that sound by the share of them that does, so that an end that leads
// back counts for up to a third more. Of stretches worth the same the earliest comes
// first, and those of which nothing would sound come last. Of transpositions
// that place the same number of notes the smallest is taken, of two as small the
// one up.
//
// Placed is the sum over steps and voices of min(notes there, capacity of the
// voice): what [Set] places where no channel may play two voices, and otherwise
// at least that. A note's step counts from the section's first bar, as there. Bars may
// start between steps of one another; where they do so at more than 16
// different fractions of a step these are taken to the nearest sixteenth.
func Stretches(m *wheel.Machine, s *song.Song, c Choice) []Stretch {
	sections := Fits(m, s)
	if len(sections) == 0 {
		return nil
	}
	cs := newCensus(m.Wheel, s, c)
	if len(cs.moves) == 0 {
		return nil
	}
	shapes := make([][]barNote, len(s.Bars))
	for i := range shapes {
		shapes[i] = barShape(m.Wheel, s, i, c.includes)
	}
	shape := func(bar int) []barNote { return shapes[bar] }
	stretches := make([]Stretch, 0, len(sections))
	for _, ph := range phases(m.Wheel, s, sections) {
		cs.start(ph)
		for _, i := range ph.bars {
			sec := sections[i]
			cs.moveTo(sec)
			st := Stretch{Section: sec, Notes: cs.end - cs.first, Seam: seamOf(m, s, sec, shape)}
			st.Transpose, st.Placed, st.Sounding = cs.best()
			st.Lost = st.Notes - st.Placed
			sounding := float64(st.Sounding)
			st.Worth = sounding * sounding / float64(max(1, st.Notes)) * (0.75 + 0.25*st.Seam.Likeness)
			stretches = append(stretches, st)
		}
	}
	slices.SortFunc(stretches, Stretch.compare)
	return stretches
}

// compare puts the better of two stretches first.
func (st Stretch) compare(other Stretch) int {
	silent := func(st Stretch) int {
		if st.Placed > 0 {
			return 0
		}
		return 1
	}
	return cmp.Or(
		silent(st)-silent(other),
		cmp.Compare(other.Worth, st.Worth),
		st.Section.FromBar-other.Section.FromBar,
	)
}

func (c Choice) includes(n song.Note) bool {
	_, ok := c.Voice(n)
	return ok
}

// phase is the bars that start at one fraction of a step, counted from the
// song's first tick. A tick is at (tick − base) × q ÷ (ticks per quarter) − shift
// steps from the first of them.
type phase struct {
	base  int64
	shift float64
	bars  []int // indices
}

// mostPhases is how many fractions of a step are kept apart.
const mostPhases = 16

// phases sorts the sections that have bars by where their first bars start.
func phases(w wheel.Wheel, s *song.Song, sections []Section) []*phase {
	r := ruler{s.TicksPerQuarter, float64(w.StepsPerBeat)}
	for _, parts := range []float64{1e6, mostPhases} { // exactly, then nearly
		var list []*phase
		index := map[float64]*phase{}
		for i, sec := range sections {
			if sec.Bars == 0 {
				continue
			}
			x := r.steps(length{ticks: sec.Tick})
			part := math.Mod(math.Round((x-math.Floor(x))*parts), parts)
			ph := index[part]
			if ph == nil {
				ph = &phase{base: sec.Tick}
				if parts == mostPhases {
					ph.base, ph.shift = 0, part/parts
				}
				index[part] = ph
				list = append(list, ph)
			}
			ph.bars = append(ph.bars, i)
		}
		if len(list) <= mostPhases {
			return list
		}
	}
	panic("unreachable: sixteenths of a step are at most 16")
}

// census counts the notes of a window of bars by voice, so that every
// transposition can be found from the counts alone. Moving the window by a bar
// costs the notes that come in and go out.
type census struct {
	wheel  ruler
	steps  int64
	notes  []voicedNote
	moves  []int   // transpositions, in the order of preference
	voices int     // the voices that there are
	sizes  []int   // the capacities that they have, ascending, 0 the first
	size   []int32 // by move and voice, the index of its capacity
	fits   []int32 // by voice and size, the sum over spots of min(held, size)
	held   []int32 // notes of the window in each spot, a step's notes of one voice
	order  []uint64

	first, end int // the window, in notes
}

type voicedNote struct {
	tick        int64
	voice, spot int32
}

func newCensus(w wheel.Wheel, s *song.Song, c Choice) *census {
	cs := &census{wheel: ruler{s.TicksPerQuarter, float64(w.StepsPerBeat)}, steps: int64(w.Steps)}
	for n := max(c.Lowest, -MaxTranspose); n <= min(c.Highest, MaxTranspose); n++ {
		cs.moves = append(cs.moves, n)
	}
	slices.SortFunc(cs.moves, func(a, b int) int { return move{semitones: a}.compare(move{semitones: b}) })
	named := cs.listen(s, c)
	capacity := make([]int, 0, len(cs.moves)*len(named))
	for _, semitones := range cs.moves {
		for _, v := range named {
			capacity = append(capacity, max(0, c.Capacity(v, semitones)))
		}
	}
	cs.sizes = append(slices.Clone(capacity), 0, endless)
	slices.Sort(cs.sizes)
	cs.sizes = slices.Compact(cs.sizes)
	cs.size = make([]int32, len(capacity))
	for i, n := range capacity {
		at, _ := slices.BinarySearch(cs.sizes, n)
		cs.size[i] = int32(at)
	}
	cs.fits = make([]int32, cs.voices*len(cs.sizes))
	cs.order = make([]uint64, len(cs.notes))
	return cs
}

// listen collects the notes that count and lie in bars, and returns the choice's
// name of every voice.
func (cs *census) listen(s *song.Song, c Choice) (named []int) {
	last := s.Bars[len(s.Bars)-1]
	index := map[int]int32{}
	cs.notes = make([]voicedNote, 0, len(s.Notes))
	for _, n := range s.Notes {
		name, ok := c.Voice(n)
		if !ok || n.Tick < s.Bars[0].Tick || n.Tick >= last.Tick+last.Ticks {
			continue
		}
		voice, known := index[name]
		if !known {
			voice = int32(len(named))
			index[name] = voice
			named = append(named, name)
		}
		cs.notes = append(cs.notes, voicedNote{tick: n.Tick, voice: voice})
	}
	cs.voices = len(named)
	return named
}

// start lays the notes on the wheel as sections of a phase have them and empties
// the window. In a word to sort by, step, voice and note have 16, 24 and 24 bits;
// no MIDI file has so many notes.
func (cs *census) start(ph *phase) {
	for i, n := range cs.notes {
		x := cs.wheel.steps(length{ticks: n.tick - ph.base}) - ph.shift
		step := int64(math.Floor(x+0.5)) % cs.steps
		if step < 0 {
			step += cs.steps
		}
		cs.order[i] = uint64(step)<<48 | uint64(n.voice)<<24 | uint64(i)
	}
	slices.Sort(cs.order)
	spot := int32(-1)
	for i, v := range cs.order {
		if i == 0 || v>>24 != cs.order[i-1]>>24 {
			spot++
		}
		cs.notes[v&(1<<24-1)].spot = spot
	}
	cs.held = make([]int32, spot+1)
	clear(cs.fits)
	cs.first, cs.end = 0, 0
}

// moveTo moves the window on to a section.
func (cs *census) moveTo(sec Section) {
	for ; cs.end < len(cs.notes) && cs.notes[cs.end].tick < sec.EndTick; cs.end++ {
		n := &cs.notes[cs.end]
		cs.held[n.spot]++
		cs.count(n, 1)
	}
	for ; cs.first < cs.end && cs.notes[cs.first].tick < sec.Tick; cs.first++ {
		n := &cs.notes[cs.first]
		cs.count(n, -1)
		cs.held[n.spot]--
	}
}

// count counts the last note of a spot in or out.
func (cs *census) count(n *voicedNote, by int32) {
	fits := cs.fits[int(n.voice)*len(cs.sizes):][:len(cs.sizes)]
	for i := len(fits) - 1; i >= 0 && cs.sizes[i] >= int(cs.held[n.spot]); i-- {
		fits[i] += by
	}
}

// endless is a capacity that holds all notes of a voice.
const endless = math.MaxInt

// best is the transposition that places most notes of the window, and how many
// it places and lets sound.
func (cs *census) best() (semitones, placed, sounding int) {
	placed = -1
	all := len(cs.sizes) - 1 // the place of endless
	for i, n := range cs.moves {
		sum, heard, row := 0, 0, 0
		for _, size := range cs.size[i*cs.voices:][:cs.voices] {
			sum += int(cs.fits[row+int(size)])
			if cs.sizes[size] > 0 {
				heard += int(cs.fits[row+all])
			}
			row += len(cs.sizes)
		}
		if sum > placed {
			semitones, placed, sounding = n, sum, heard
		}
		if placed == cs.end-cs.first {
			break
		}
	}
	return semitones, placed, sounding
}
