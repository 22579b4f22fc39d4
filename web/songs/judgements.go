package songs

import (
	"context"
	"net/http"
	"sync"
	"time"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel/arrange"
	"pinwright/wheel/song"
)

// judgements remember what was worked out about songs: a kept song never
// changes, and a machine has another revision when it does.
type judgements struct {
	mu    sync.Mutex
	facts map[int64]songFacts // by song
	suits map[judged]suits
	work  sync.Mutex // one song is judged at a time, so that a long list leaves the rest of the app its share
}

type judged struct {
	song, machine int64
	revision      int
}

// suits is how well a song suits a machine, or why it cannot be said.
type suits struct {
	arrange.Judgement
	Strip page.Strip
	Why   string
}

// factsOf are a song's figures. A song whose file cannot be read has Unread.
func (s *area) factsOf(ctx context.Context, row store.Song) (songFacts, error) {
	c := &s.known
	c.mu.Lock()
	f, known := c.facts[row.ID]
	c.mu.Unlock()
	if !known {
		_, parsed, err := s.ParsedSong(ctx, row.ID)
		if ctx.Err() != nil {
			return f, ctx.Err()
		}
		if err != nil {
			f.Unread = true
		} else {
			f = factsOfSong(row, parsed)
		}
		c.mu.Lock()
		if c.facts == nil {
			c.facts = map[int64]songFacts{}
		}
		c.facts[row.ID] = f
		c.mu.Unlock()
	}
	f.Song = row // the title may be another
	return f, nil
}

// suitsKnown is what is remembered of how a song suits a machine.
func (c *judgements) suitsKnown(of judged) (suits, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	j, ok := c.suits[of]
	return j, ok
}

// judgeSong says how well a song suits a machine.
func (s *area) judgeSong(ctx context.Context, m page.Compiled, id int64) (suits, error) {
	c, of := &s.known, judged{id, m.ID, m.Revision}
	if j, ok := c.suitsKnown(of); ok {
		return j, nil
	}
	_, parsed, err := s.ParsedSong(ctx, id)
	if err != nil {
		return suits{}, err
	}
	c.work.Lock()
	defer c.work.Unlock()
	if err := ctx.Err(); err != nil {
		return suits{}, err
	}
	var j suits
	if j, err = judgement(ctx, m, parsed); err != nil {
		return j, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.suits == nil {
		c.suits = map[judged]suits{}
	}
	c.suits[of] = j
	return j, nil
}

func judgement(ctx context.Context, m page.Compiled, s *song.Song) (j suits, err error) {
	j.Judgement, err = arrange.Judge(ctx, m.Works, s, arrange.SurveyOptions{EaseLimit: 100 * time.Millisecond})
	if ctx.Err() != nil {
		return j, ctx.Err()
	}
	if err != nil {
		j.Why = err.Error()
		return j, nil
	}
	j.Strip, err = stripOf(m.Works, &j.Judgement)
	return j, err
}

// stripOf is the tempo strip of the stretch that was judged. The pinning is not
// needed after that.
func stripOf(works *timing.Works, j *arrange.Judgement) (page.Strip, error) {
	turn, err := works.Turn(j.Pinning)
	if err != nil {
		return page.Strip{}, err
	}
	j.Pinning = nil
	return page.StripOf(works, turn), nil
}

// suits answers with how well one song suits the machine, for the list to show.
func (s *area) suits(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	m, err := s.surveyMachine(r.Context(), "")
	if err != nil {
		return err
	}
	j, err := s.judgeSong(r.Context(), m, id)
	if err != nil {
		return err
	}
	s.Show(w, r, http.StatusOK, suitsView(j))
	return nil
}
