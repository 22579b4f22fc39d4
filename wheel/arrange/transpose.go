package arrange

import (
	"cmp"
	"fmt"
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
	Auto      bool // by that which places most notes
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
	return whole(t.Semitones)
}

func (t Transpose) check() error {
	if n := t.Semitones; !t.Auto && (n < -MaxTranspose || n > MaxTranspose) {
		return fmt.Errorf("the transposition is %s semitones; it goes from −%d to %d", whole(n), MaxTranspose, MaxTranspose)
	}
	return nil
}

// bestTranspose is the transposition that places most of the cells, after
// merging: of equal ones the smallest move, of two equal moves the one up.
//
// For each it adds up, key by key, how many notes the key's channels have room
// for. That is exact where no channel has two keys. Where one has, it is never
// too low, and only transpositions that could still win are worked out in full.
func bestTranspose(cells []cell, km *keyMap) int {
	melodic := melodicOnly(cells)
	room := newRoom(melodic, km)
	moves := make([]move, 0, 2*MaxTranspose+1)
	for n := -MaxTranspose; n <= MaxTranspose; n++ {
		moves = append(moves, move{n, room.placed(n, km)})
	}
	slices.SortFunc(moves, move.compare)
	if !km.keysMeet() {
		return moves[0].semitones
	}
	mt := newMatching(km)
	best := move{placed: -1}
	for _, m := range moves {
		if m.placed < best.placed {
			break
		}
		m.placed = countPlaced(mt, melodic, m.semitones)
		if m.compare(best) < 0 {
			best = m
		}
	}
	return best.semitones
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

func melodicOnly(cells []cell) []cell {
	melodic := make([]cell, 0, len(cells))
	for _, c := range cells {
		if !c.key().drum() {
			melodic = append(melodic, c)
		}
	}
	return melodic
}

func countPlaced(mt *matching, cells []cell, semitones int) int {
	mt.reset()
	placed := 0
	for _, c := range cells {
		if k, ok := c.key().moved(semitones); ok && mt.take(c.step(), k) >= 0 {
			placed++
		}
	}
	return placed
}

// room is, for each melodic key and n, the number of its notes that n channels
// of its own have room for: the sum over steps of min(notes there, n).
type room [keys][]int

// newRoom counts cells, which are in order, for as many channels as any key
// has.
func newRoom(cells []cell, km *keyMap) *room {
	most := 0
	for _, channels := range km.playing[:keys] {
		most = max(most, len(channels))
	}
	var r room
	for start := 0; start < len(cells); {
		end := start + 1
		for end < len(cells) && cells[end] == cells[start] {
			end++
		}
		k := cells[start].key()
		if r[k] == nil {
			r[k] = make([]int, most+1)
		}
		for n := 1; n <= min(end-start, most); n++ {
			r[k][n]++
		}
		start = end
	}
	for _, fits := range r {
		for n := 1; n < len(fits); n++ {
			fits[n] += fits[n-1]
		}
	}
	return &r
}

func (r *room) placed(semitones int, km *keyMap) int {
	sum := 0
	for k, fits := range r {
		if fits == nil {
			continue
		}
		if to, ok := key(k).moved(semitones); ok {
			sum += fits[len(km.playing[to])]
		}
	}
	return sum
}
