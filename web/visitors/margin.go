package visitors

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pinwright/timing/window"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

const marginLabel = "Margin below the highest safe tempo, %"

// house is a machine's mechanics with the margin that the house keeps.
func (s *area) house(ctx context.Context, m page.Compiled) (window.House, error) {
	visitors, err := s.Store.Visitors(ctx)
	return window.House{Works: m.Works, Margin: visitors.Margin}, err
}

// keepMargin keeps the house's margin and redirects to the page whose form was
// sent.
func (s *area) keepMargin(w http.ResponseWriter, r *http.Request) error {
	form := r.PostForm
	margin := page.Field{Text: form.Get("margin")}
	var err error
	if margin.Problem, err = s.setMargin(r, margin.Text); err != nil {
		return err
	}
	id, err := strconv.ParseInt(form.Get("pinning"), 10, 64)
	if err != nil {
		if margin.Problem == "" {
			return page.Redirect(w, r, "/programmes")
		}
		view, err := s.programmesOf(r)
		if err != nil {
			return err
		}
		view.Margin = margin
		s.Show(w, r, http.StatusUnprocessableEntity, programmesView(view))
		return nil
	}
	asked := readWindowForm(form)
	if margin.Problem == "" {
		to := page.PinningURL(id, "window")
		if asked.Asked {
			to += "?" + url.Values{"from": {asked.From}, "to": {asked.To}}.Encode()
		}
		return page.Redirect(w, r, to)
	}
	p, err := s.Store.Pinning(r.Context(), id)
	if err != nil {
		return err
	}
	m, err := s.Compiled(r.Context(), p.MachineID)
	if err != nil {
		return err
	}
	view, err := s.windowOf(r, p, m, asked)
	if err != nil {
		return err
	}
	view.Margin = margin
	s.Show(w, r, http.StatusUnprocessableEntity, windowView(view))
	return nil
}

// setMargin keeps a margin in per cent. says is what is wrong with what was typed.
func (s *area) setMargin(r *http.Request, text string) (says string, err error) {
	if strings.TrimSpace(text) == "" {
		return "The margin is missing; it should be a percentage from 0 to below 100.", nil
	}
	percent, err := page.ReadNumber(text)
	if err != nil {
		return fmt.Sprintf("The margin is %q; it should be a percentage from 0 to below 100.", say.Short(text)), nil
	}
	err = s.Store.SetMargin(r.Context(), percent/100)
	if errors.Is(err, wheel.ErrInvalid) {
		return say.Sentence(err), nil
	}
	return "", err
}
