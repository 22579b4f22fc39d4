package history

import (
	"maps"
	"slices"

	"pinwright/wheel"
)

// HeadChange is what an edit does to a head.
type HeadChange struct {
	Was wheel.Head `json:"was"`
	Now wheel.Head `json:"now"`
}

// Inverse is the change that undoes c.
func (c HeadChange) Inverse() HeadChange { return HeadChange{Was: c.Now, Now: c.Was} }

// Onto makes the change on a head that may have changed since. Title, tempo, how
// the music is counted, and the advance of each channel become what they are in c.Now where c changes
// them; the rest stays. If is has been changed in one of these places, to
// something else, the error is [wheel.Problems].
func (c HeadChange) Onto(is wheel.Head) (wheel.Head, error) {
	var found wheel.Problems
	if c.Was.Title != c.Now.Title {
		if is.Title != c.Was.Title && is.Title != c.Now.Title {
			found.Add("title", "is %s by now; this would make it %s", wheel.Quoted(is.Title), wheel.Quoted(c.Now.Title))
		}
		is.Title = c.Now.Title
	}
	if was, now := c.Was.TempoBPM, c.Now.TempoBPM; was != now {
		if is.TempoBPM != was && is.TempoBPM != now {
			found.Add("tempo_bpm", "is %s by now; this would make it %s", wheel.Number(is.TempoBPM), wheel.Number(now))
		}
		is.TempoBPM = now
	}
	countOnto(&is.StepsPerBeat, "steps_per_beat", c.Was.StepsPerBeat, c.Now.StepsPerBeat, &found)
	countOnto(&is.BeatsPerBar, "beats_per_bar", c.Was.BeatsPerBar, c.Now.BeatsPerBar, &found)
	is.Advance = c.advancesOnto(is.Advance, &found)
	return is, found.Err()
}

// countOnto is [HeadChange.Onto] for one count.
func countOnto(is *wheel.Count, place string, was, now wheel.Count, found *wheel.Problems) {
	if was == now {
		return
	}
	if *is != was && *is != now {
		found.Add(place, "is %s by now; this would make it %s", advance{int(*is), *is != 0}, advance{int(now), now != 0})
	}
	*is = now
}

// advancesOnto is [HeadChange.Onto] for the advances alone. It leaves is as it
// is.
func (c HeadChange) advancesOnto(is map[string]int, found *wheel.Problems) map[string]int {
	now := map[string]int{}
	maps.Copy(now, is)
	changed := maps.Clone(c.Was.Advance)
	if changed == nil {
		changed = map[string]int{}
	}
	maps.Copy(changed, c.Now.Advance)
	for _, id := range slices.Sorted(maps.Keys(changed)) {
		was, becomes, by := advanceOf(c.Was.Advance, id), advanceOf(c.Now.Advance, id), advanceOf(is, id)
		if was == becomes {
			continue
		}
		if by != was && by != becomes {
			found.Add("advance."+wheel.IDText(id), "is %s by now; this would make it %s", by, becomes)
		}
		if becomes.given {
			now[id] = becomes.steps
		} else {
			delete(now, id)
		}
	}
	if is == nil && len(now) == 0 {
		return nil
	}
	return now
}

// advance is a channel's advance, or another number that a pinning may leave out.
type advance struct {
	steps int
	given bool
}

func advanceOf(advances map[string]int, channel string) advance {
	steps, given := advances[channel]
	return advance{steps, given}
}

func (a advance) String() string {
	if !a.given {
		return "left out"
	}
	return wheel.Number(float64(a.steps))
}
