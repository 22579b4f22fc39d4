package place

// Resumption is how work on a wheel that has ended can go on.
type Resumption int

const (
	NotResumed Resumption = iota // it is under way or finished, or what it was begun for is gone
	Resumed                      // where it was stopped
	BegunAgain                   // as a new changeover to the same pinning, from what is on the wheel now
)

// Resumption tells how the job can go on. latest: no other work on its wheel was
// begun since.
func (j Job) Resumption(latest bool) Resumption {
	switch {
	case j.UnderWay() || j.Finished:
		return NotResumed
	case latest:
		return Resumed
	case j.Kind == JobChangeover && j.PinningID != 0:
		return BegunAgain
	}
	return NotResumed
}

// Task is what there is to do next at a wheel.
type Task int

const (
	TaskSay       Task = iota // say what is on it, as nobody has, or as its pins no longer fit the machine
	TaskWork                  // go on with the work that is under way
	TaskResume                // resume the changeover that was stopped
	TaskAgain                 // begin a new changeover to where the stopped one went
	TaskProofread             // read what has just been changed
	TaskChange                // plan a changeover
	TaskSet                   // set a song first, as there is no pinning to change it to
)

// Task tells what there is to do next. fits: the machine has a hole for every pin
// on the wheel. last is the latest job on it, pinnings how many its machine has.
func (on OnWheel) Task(fits bool, last Job, pinnings int) Task {
	switch {
	case !on.Known:
		return TaskSay
	case on.UnderWay != nil:
		return TaskWork
	case !fits:
		return TaskSay
	}
	if on.Toward != nil {
		switch on.Toward.Resumption(on.Toward.ID == last.ID) {
		case Resumed:
			return TaskResume
		case BegunAgain:
			return TaskAgain
		}
	}
	switch {
	case last.Kind.Moves() && last.Finished:
		return TaskProofread
	case pinnings == 0:
		return TaskSet
	}
	return TaskChange
}
