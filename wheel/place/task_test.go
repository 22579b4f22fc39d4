package place_test

import (
	"testing"
	"time"

	"pinwright/wheel/place"
)

func TestWorkIsResumedOnlyWhereItStopped(t *testing.T) {
	ended := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	stopped := place.Job{ID: 7, Kind: place.JobChangeover, PinningID: 3, Ended: ended}
	proof, right, finished, running, orphan := stopped, stopped, stopped, stopped, stopped
	proof.Kind, right.Kind, finished.Finished, running.Ended, orphan.PinningID = place.JobProof, place.JobPutRight, true, time.Time{}, 0
	for name, c := range map[string]struct {
		job    place.Job
		latest bool
		want   place.Resumption
	}{
		"stopped":                            {stopped, true, place.Resumed},
		"stopped, other work since":          {stopped, false, place.BegunAgain},
		"stopped, its pinning is gone":       {orphan, true, place.Resumed},
		"other work since, its pinning gone": {orphan, false, place.NotResumed},
		"proofreading":                       {proof, true, place.Resumed},
		"proofreading, other work since":     {proof, false, place.NotResumed},
		"what it found":                      {right, true, place.Resumed},
		"what it found, other work since":    {right, false, place.NotResumed},
		"finished":                           {finished, true, place.NotResumed},
		"finished, other work since":         {finished, false, place.NotResumed},
		"under way":                          {running, true, place.NotResumed},
	} {
		if got := c.job.Resumption(c.latest); got != c.want {
			t.Errorf("%s: %d, want %d", name, got, c.want)
		}
		// What can be resumed is what Resume does not refuse.
		if _, err := c.job.Resume(c.latest); (err == nil) != (c.want == place.Resumed || c.job.UnderWay()) {
			t.Errorf("%s: Resume answers %v", name, err)
		}
	}
}

func TestTheNextTaskFollowsFromWhatIsOnTheWheel(t *testing.T) {
	ended := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	stopped := place.Job{ID: 7, Kind: place.JobChangeover, PinningID: 3, Ended: ended}
	finished, said, proof, running, orphan := stopped, stopped, stopped, stopped, stopped
	finished.Finished, running.Ended, orphan.PinningID = true, time.Time{}, 0
	said.Kind, said.Finished = place.JobSaid, true
	proof.ID, proof.Kind, proof.Finished = 8, place.JobProof, true
	for name, c := range map[string]struct {
		on       place.OnWheel
		unfit    bool
		last     place.Job
		pinnings int
		want     place.Task
	}{
		"nobody has said":                 {place.OnWheel{}, false, place.Job{}, 2, place.TaskSay},
		"the pins do not fit":             {place.OnWheel{Known: true}, true, said, 2, place.TaskSay},
		"work is under way":               {place.OnWheel{Known: true, Toward: &running, UnderWay: &running}, false, running, 2, place.TaskWork},
		"and the pins do not fit":         {place.OnWheel{Known: true, Toward: &running, UnderWay: &running}, true, running, 2, place.TaskWork},
		"a changeover was stopped":        {place.OnWheel{Known: true, Toward: &stopped}, false, stopped, 2, place.TaskResume},
		"a proofreading came since":       {place.OnWheel{Known: true, Toward: &stopped}, false, proof, 2, place.TaskAgain},
		"and its pinning is gone":         {place.OnWheel{Known: true, Toward: &orphan}, false, proof, 2, place.TaskChange},
		"a changeover is finished":        {place.OnWheel{Known: true}, false, finished, 2, place.TaskProofread},
		"it has been proofread":           {place.OnWheel{Known: true}, false, proof, 2, place.TaskChange},
		"someone has said":                {place.OnWheel{Known: true}, false, said, 2, place.TaskChange},
		"someone has said, of no pinning": {place.OnWheel{Known: true}, false, said, 0, place.TaskSet},
	} {
		if got := c.on.Task(!c.unfit, c.last, c.pinnings); got != c.want {
			t.Errorf("%s: %d, want %d", name, got, c.want)
		}
	}
}
