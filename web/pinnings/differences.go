package pinnings

import (
	"context"
	"encoding/json"
	"net/http"
	"strconv"
	"strings"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// side is one of two sets of pins that are compared.
type side struct {
	Is   string `json:"is"` // as it was asked for
	Name string `json:"name"`
	Pins int    `json:"pins"`
	file *wheel.Pinning
}

type differencesAnswer struct {
	From    side              `json:"from"`
	To      side              `json:"to"`
	Driven  int               `json:"driven"` // pins of to alone
	Pulled  int               `json:"pulled"` // pins of from alone
	Aimed   int               `json:"aimed"`  // pins of both that aim elsewhere
	Changes []wheel.PinChange `json:"changes"`
}

// differences tells what turns one set of pins into another of the same
// machine. Each side is asked for as "now", "mark:ID", "seq:N" or "pinning:ID".
func (s *area) differences(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	read := func(key string) (side, error) {
		asked := r.URL.Query().Get(key)
		if asked == "" || asked == "now" {
			return side{"now", "now", len(p.File.Pins), p.File}, nil
		}
		found, err := s.findSide(r.Context(), p.ID, m, asked)
		if err == nil && found.file == nil {
			err = wheel.Refuse(wheel.ErrInvalid, "%s is %q; it should be now, or mark, seq or pinning with a number, such as mark:3.", key, say.Short(asked))
		}
		return found, err
	}
	var a differencesAnswer
	if a.From, err = read("from"); err != nil {
		return err
	}
	if a.To, err = read("to"); err != nil {
		return err
	}
	a.Changes = wheel.Differences(a.From.file, a.To.file)
	if a.Changes == nil {
		a.Changes = []wheel.PinChange{}
	}
	for _, c := range a.Changes {
		switch {
		case !c.Was.Pin:
			a.Driven++
		case !c.Now.Pin:
			a.Pulled++
		default:
			a.Aimed++
		}
	}
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(a)
}

// findSide finds the pins that a word with a number names. It has no file
// where they name none.
func (s *area) findSide(ctx context.Context, pinningID int64, m page.Compiled, asked string) (found side, err error) {
	found.Is = asked
	kind, number, _ := strings.Cut(asked, ":")
	n, err := strconv.ParseInt(number, 10, 64)
	if err != nil || n < 0 {
		return found, nil
	}
	switch kind {
	case "seq":
		found.Name = "as edit " + number + " left it"
		if n == 0 {
			found.Name = "as it came in"
		}
		found.file, err = s.Store.PinningAt(ctx, pinningID, n)
	case "mark":
		marks, err := s.Store.Marks(ctx, pinningID)
		if err != nil {
			return found, err
		}
		for _, mark := range marks {
			if mark.ID == n {
				found.Name = mark.Name
				found.file, err = s.Store.PinningAt(ctx, pinningID, mark.Seq)
			}
		}
		if err == nil && found.file == nil {
			err = wheel.Refuse(wheel.ErrNotFound, "This pinning has no mark %d; it may have been removed.", n)
		}
		if err != nil {
			return found, err
		}
	case "pinning":
		other, err := s.Store.Pinning(ctx, n)
		if err != nil {
			return found, err
		}
		if other.MachineID != m.ID {
			return found, wheel.Refuse(wheel.ErrInvalid, "%s is a pinning of another machine; this one can only be compared with pinnings of %s.", other.Title, m.File.Name)
		}
		found.Name, found.file = other.Title, other.File
	}
	if err == nil && found.file != nil {
		found.Pins = len(found.file.Pins)
	}
	return found, err
}
