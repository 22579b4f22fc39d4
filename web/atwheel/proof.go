package atwheel

import (
	"context"
	"encoding/json"
	"net/http"
	"strconv"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/say"
)

// proofPage is what the page of a proofreading shows of it.
type proofPage struct {
	place.Reading
	Of       string // what it reads
	Expected string // JSON: for each step, the indices of the rows that should have pins
	Places   string // JSON: the place of each step in words
	Found    []string
}

func (s *area) proofPage(ctx context.Context, m page.Compiled, j *place.Work) (p proofPage, err error) {
	p = proofPage{Reading: j.Reading(), Found: j.FoundWords(m.File)}
	if p.Of, err = s.readBy(ctx, m, j.Job); err != nil {
		return p, err
	}
	_, index := rowsOf(m.File)
	expected, places := make([][]int, j.Steps), make([]string, j.Steps)
	for step, channels := range j.Expected(m.File) {
		expected[step], places[step] = []int{}, m.File.Wheel.PlaceText(step)
		for _, c := range channels {
			expected[step] = append(expected[step], index[m.File.Channels[c].ID])
		}
	}
	p.Expected, p.Places = jsonText(expected), jsonText(places)
	return p, nil
}

// jsonText writes what always can be written.
func jsonText(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(text)
}

// readBy names what a proofreading reads, see [place.ReadBy].
func (s *area) readBy(ctx context.Context, m page.Compiled, j place.Job) (string, error) {
	if j.BeforeID == 0 {
		return place.TitleOn(j.Head), nil
	}
	read, err := s.Store.JobTarget(ctx, j.ID)
	if err != nil {
		return "", err
	}
	whole, err := s.Store.JobTarget(ctx, j.BeforeID)
	if err != nil {
		return "", err
	}
	toward, ok, err := s.Store.Toward(ctx, j)
	if err != nil {
		return "", err
	}
	changing := &toward
	if !ok {
		changing = nil
	}
	return place.ReadBy(m.File.Name, j.Head, place.Left(whole.Pins, read.Pins), changing), nil
}

func (s *area) beginProof(w http.ResponseWriter, r *http.Request) error {
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
func (s *area) putRight(w http.ResponseWriter, r *http.Request) error {
	proof, _, err := s.jobAt(r)
	if err != nil {
		return err
	}
	j, err := s.Store.BeginPutRight(r.Context(), proof.ID)
	if err != nil {
		return err
	}
	return page.Redirect(w, r, jobURL(j))
}
