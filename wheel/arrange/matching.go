package arrange

// matching gives the notes of each step their channels. Every note takes one of
// those its voice may have, and a channel takes one note at a step; steps come
// in order.
type matching struct {
	choices [][]int32 // of every voice
	step    int
	last    []int   // step of the last note on each channel, −1 before the first
	holder  []voice // whose note a channel has, if taken at this step
	taken   []bool  // at this step
	list    []int32 // the channels taken at this step
	search  uint32  // numbers the searches for room
	seen    []uint32
}

func newMatching(channels, voices int) *matching {
	mt := &matching{
		last:   make([]int, channels),
		holder: make([]voice, channels),
		taken:  make([]bool, channels),
		seen:   make([]uint32, voices),
	}
	mt.reset(nil)
	return mt
}

// reset clears the whole turn and says who may play what.
func (mt *matching) reset(choices [][]int32) {
	mt.choices = choices
	mt.turnTo(0)
	for i := range mt.last {
		mt.last[i] = -1
	}
}

func (mt *matching) turnTo(step int) {
	for _, c := range mt.list {
		mt.taken[c] = false
	}
	mt.list = mt.list[:0]
	mt.step = step
	mt.search++
}

// take gives a note at a step a channel and returns the channel that has a note
// now and had none, or −1 if all that could have it are taken: as many notes of
// a step find a channel as can.
func (mt *matching) take(step int, v voice) int {
	if step != mt.step {
		mt.turnTo(step)
	}
	c := mt.free(v)
	if c < 0 {
		return mt.makeRoom(v)
	}
	mt.give(c, v)
	return int(c)
}

// free is which of a voice's free channels takes its next note: the one whose
// last is furthest back, the first in the file of equal ones; −1 if none is.
func (mt *matching) free(v voice) int32 {
	best := int32(-1)
	for _, c := range mt.choices[v] {
		if !mt.taken[c] && (best < 0 || mt.last[c] < mt.last[best]) {
			best = c
		}
	}
	return best
}

func (mt *matching) give(c int32, v voice) {
	mt.holder[c], mt.taken[c], mt.last[c] = v, true, mt.step
	mt.list = append(mt.list, c)
}

// makeRoom finds a channel for a voice whose channels are all taken, by moving a
// note of another voice that has a choice, and so on: an augmenting path in the
// matching of notes and channels (Kuhn 1955). A voice that failed once at a step
// is not searched again until some note has moved.
func (mt *matching) makeRoom(v voice) int {
	if mt.seen[v] == mt.search {
		return -1
	}
	mt.seen[v] = mt.search
	for _, c := range mt.choices[v] {
		other := mt.holder[c]
		if mt.seen[other] == mt.search {
			continue
		}
		won := int(mt.free(other))
		if won >= 0 {
			mt.give(int32(won), other)
			mt.search++
		} else {
			won = mt.makeRoom(other)
		}
		if won >= 0 {
			mt.holder[c] = v
			return won
		}
	}
	return -1
}
