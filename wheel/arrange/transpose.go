package arrange

import (
	"cmp"
	"fmt"
	"pinwright/wheel/say"
	"slices"
	"strconv"
	"strings"
)

// MaxTranspose is the farthest that notes can be moved, in semitones: from one
// end of MIDI's keys to the other.
const MaxTranspose = keys - 1

// Transpose says by how many semitones the melodic notes of a section are
// moved. Percussion keeps its keys, which name instruments.
type Transpose struct {
	Auto      bool // by that which places most notes; of those, with the highest safe tempo; of those, the nearest
	Semitones int  // −127 … 127; not looked at with Auto
}

// ParseTranspose reads "auto" or a whole number of semitones, as String writes
// them.
func ParseTranspose(s string) (Transpose, error) {
	if strings.EqualFold(s, "auto") {
		return Transpose{Auto: true}, nil
	}
	n, err := strconv.Atoi(strings.Replace(s, "−", "-", 1))
	if err != nil {
		return Transpose{}, fmt.Errorf("the transposition is %.40q; it should be auto or a whole number of semitones", s)
	}
	t := Transpose{Semitones: n}
	return t, t.check()
}

func (t Transpose) String() string {
	if t.Auto {
		return "auto"
	}
	return say.Whole(t.Semitones)
}

func (t Transpose) check() error {
	if n := t.Semitones; !t.Auto && (n < -MaxTranspose || n > MaxTranspose) {
		return fmt.Errorf("the transposition is %s semitones; it goes from −%d to %d", say.Whole(n), MaxTranspose, MaxTranspose)
	}
	return nil
}

// most returns the transpositions that place most of the notes, after merging,
// nearest first; of two as near, the one up comes first.
//
// For each it adds up, voice by voice, how many notes the voice's channels have
// room for. That is never too low, and exact where no two voices share a
// channel; only transpositions that could still win are worked out in full.
func (st *setting) most() []int {
	melodic := st.melodicOnly()
	if len(melodic) == 0 {
		return []int{0}
	}
	room := newRoom(melodic, st.voices)
	moves := make([]move, 0, 2*MaxTranspose+1)
	for n := -MaxTranspose; n <= MaxTranspose; n++ {
		moves = append(moves, move{n, room.placed(n, st)})
	}
	slices.SortFunc(moves, move.compare)
	var best []move
	for _, m := range moves {
		if len(best) > 0 && m.placed < best[0].placed {
			break
		}
		m.placed = st.countPlaced(melodic, m.semitones)
		if len(best) > 0 && m.placed > best[0].placed {
			best = best[:0]
		}
		if len(best) == 0 || m.placed == best[0].placed {
			best = append(best, m)
		}
	}
	slices.SortFunc(best, move.compare)
	semitones := make([]int, len(best))
	for i, m := range best {
		semitones[i] = m.semitones
	}
	return semitones
}

// move is a transposition and how many notes it places.
type move struct{ semitones, placed int }

// compare puts the better of two moves first.
func (m move) compare(n move) int {
	return cmp.Or(
		cmp.Compare(n.placed, m.placed),
		cmp.Compare(max(m.semitones, -m.semitones), max(n.semitones, -n.semitones)),
		cmp.Compare(n.semitones, m.semitones),
	)
}

func (st *setting) melodicOnly() []cell {
	melodic := make([]cell, 0, len(st.grid.cells))
	for _, c := range st.grid.cells {
		if !c.voice().key().drum() {
			melodic = append(melodic, c)
		}
	}
	return melodic
}

func (st *setting) countPlaced(cells []cell, semitones int) int {
	st.cast.set(st.grid, st.voices, semitones)
	st.matching.reset(st.cast.choices)
	placed := 0
	for _, c := range cells {
		if v := c.voice(); len(st.cast.choices[v]) > 0 && st.matching.take(c.step(), v) >= 0 {
			placed++
		}
	}
	return placed
}

// room is, for each voice and n, the number of its notes that n channels of its
// own have room for: the sum over steps of min(notes there, n).
type room struct {
	fits   [][]int // by voice
	voices []voice
}

// newRoom counts cells, which are in order.
func newRoom(cells []cell, vs *voices) *room {
	most := 0
	for _, c := range vs.all.playing[:keys] {
		most = max(most, len(c))
	}
	r := &room{fits: make([][]int, vs.count())}
	for start := 0; start < len(cells); {
		v, step := cells[start].voice(), cells[start].step()
		end := start + 1
		for end < len(cells) && cells[end].voice() == v && cells[end].step() == step {
			end++
		}
		if r.fits[v] == nil {
			r.fits[v] = make([]int, most+1)
			r.voices = append(r.voices, v)
		}
		for n := 1; n <= min(end-start, most); n++ {
			r.fits[v][n]++
		}
		start = end
	}
	for _, fits := range r.fits {
		for n := 1; n < len(fits); n++ {
			fits[n] += fits[n-1]
		}
	}
	return r
}

func (r *room) placed(semitones int, st *setting) int {
	sum := 0
	for _, v := range r.voices {
		sum += r.fits[v][len(st.voices.cast(v, semitones).choices)]
	}
	return sum
}
