package web

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// proofResult is what a proofreading came to.
type proofResult struct {
	Expected string // JSON: for each step, the indices of the rows that should have pins
	Places   string // JSON: the place of each step in words
	Read     int    // steps
	Looked   int    // steps read or where something was found
	Right    int    // pins that were as they should be
	Pins     int    // that should be there or were, on the steps looked at
	Missing  int
	Extra    int
	Found    []string
}

// readingOf compares what a proofreading found with what should be there. Of
// the pins that should be or were on the steps read, those are right that
// should be and were:
//
//	right = expected − missing, of expected + extra
func readingOf(m *wheel.Machine, j store.Working) proofResult {
	r := proofResult{Read: len(j.Read)}
	_, index := rowsOf(m)
	expected := make([][]int, j.Steps)
	for i := range expected {
		expected[i] = []int{}
	}
	read := map[int]bool{}
	for _, step := range j.Read {
		read[step] = true
	}
	for _, c := range j.Found { // a step with a finding was looked at
		read[c.Step] = true
	}
	r.Looked = len(read)
	for _, pin := range j.Target.Pins {
		if row, ok := index[pin.Channel]; ok && pin.Step < j.Steps {
			expected[pin.Step] = append(expected[pin.Step], row)
		}
		if read[pin.Step] {
			r.Pins++
			r.Right++
		}
	}
	places := make([]string, j.Steps)
	for step := range places {
		places[step] = m.Wheel.PlaceText(step)
		slices.Sort(expected[step])
	}
	for _, c := range j.Found {
		words := "missing"
		if c.Now.Pin {
			r.Extra++
			r.Pins++
			words = "extra"
		} else {
			r.Missing++
			r.Right--
		}
		where := c.Channel
		if i := m.Channel(c.Channel); i >= 0 {
			where = fmt.Sprintf("row %d, %s", m.Channels[i].Row, m.Channels[i].Name)
		}
		r.Found = append(r.Found, fmt.Sprintf("%s: step %d, %s, %s", say.Capital(words), c.Step, m.Wheel.PlaceText(c.Step), where))
	}
	r.Expected, r.Places = jsonText(expected), jsonText(places)
	return r
}

// jsonText writes what always can be written.
func jsonText(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(text)
}

// share says how many pins were right the first time, never more than there
// were, and on how many of a wheel's steps.
func (r proofResult) share(steps int) string {
	if r.Pins == 0 {
		return "No pins were looked at."
	}
	percent := math.Floor(1000*float64(r.Right)/float64(r.Pins)) / 10
	where := fmt.Sprintf("On %d of %d steps", r.Looked, steps)
	if r.Looked == steps {
		where = "On the whole turn"
	}
	return fmt.Sprintf("%s, %d of %s right the first time, %s %%.", where, r.Right, say.Count(r.Pins, "pin was", "pins were"), say.Number(percent))
}

// readBy names what a proofreading reads: the pinning that the wheel carried,
// or that it stood between two, or had become other than the last.
func (s *server) readBy(ctx context.Context, m page.Compiled, j store.Job) (string, error) {
	if j.BeforeID == 0 {
		return titleOn(j.Head), nil
	}
	read, err := s.Store.JobTarget(ctx, j.ID)
	if err != nil {
		return "", err
	}
	whole, err := s.Store.JobTarget(ctx, j.BeforeID)
	if err != nil {
		return "", err
	}
	gone, more := apart(whole.Pins, read.Pins)
	if gone+more == 0 {
		return titleOn(j.Head), nil
	}
	toward, ok, err := s.Store.Toward(ctx, j)
	if err != nil {
		return "", err
	}
	if ok {
		return fmt.Sprintf("what is on the wheel of %s, between %s and %s", m.File.Name, titleOn(j.Head), toward.Head.Title), nil
	}
	return fmt.Sprintf("what is on the wheel of %s, %s but for %s", m.File.Name, titleOn(j.Head), say.Count(gone+more, "pin", "pins")), nil
}

// titleOn names what a wheel carries, within a sentence.
func titleOn(h wheel.Head) string {
	if h.Title == store.NothingOn {
		return "a bare wheel"
	}
	return h.Title
}

// inRows are a machine's channels by row.
func inRows(m *wheel.Machine) []*wheel.Channel {
	all := make([]*wheel.Channel, len(m.Channels))
	for i := range m.Channels {
		all[i] = &m.Channels[i]
	}
	slices.SortFunc(all, func(a, b *wheel.Channel) int { return a.Row - b.Row })
	return all
}

func (s *server) beginProof(w http.ResponseWriter, r *http.Request) error {
	m, err := s.MachineAt(r)
	if err != nil {
		return err
	}
	start, err := strconv.Atoi(r.PostForm.Get("start"))
	if err != nil {
		return wheel.Refuse(wheel.ErrInvalid, "The start is step %q; it should be a whole number from 0 to %d.", say.Short(r.PostForm.Get("start")), m.File.Wheel.Steps-1)
	}
	j, err := s.Store.BeginProof(r.Context(), m.ID, start)
	if err != nil {
		return err
	}
	return page.Redirect(w, r, jobURL(j))
}

// putRight begins the small changeover that a proofreading asks for.
func (s *server) putRight(w http.ResponseWriter, r *http.Request) error {
	proof, _, err := s.askedJob(r)
	if err != nil {
		return err
	}
	j, err := s.Store.BeginPutRight(r.Context(), proof.ID)
	if err != nil {
		return err
	}
	return page.Redirect(w, r, jobURL(j))
}
