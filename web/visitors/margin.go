package visitors

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"

	"pinwright/timing/window"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

const marginLabel = "Margin below the red line, %"

// house is a machine's mechanics with the margin that the house keeps.
func (s *area) house(ctx context.Context, m page.Compiled) (window.House, error) {
	visitors, err := s.Store.Visitors(ctx)
	return window.House{Works: m.Works, Margin: visitors.Margin}, err
}

// keepMargin keeps the house's margin and redirects to the page whose form was
// sent.
func (s *area) keepMargin(w http.ResponseWriter, r *http.Request) error {
	f := page.Sent(r)
	margin := f.Field("margin")
	var err error
	if margin.Problem, err = s.setMargin(r, f); err != nil {
		return err
	}
	id, err := strconv.ParseInt(f.Text("pinning"), 10, 64)
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
	asked := readWindowForm(f.Values)
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

// setMargin keeps the margin of a form, in per cent. says is what is wrong with it.
func (s *area) setMargin(r *http.Request, f *page.Form) (says string, err error) {
	percent, err := page.ReadNumber(f.Text("margin"))
	if err != nil {
		f.Wrong("margin", "The margin", "a percentage from 0 to below 100")
		return f.Field("margin").Problem, nil
	}
	err = s.Store.SetMargin(r.Context(), percent/100)
	if errors.Is(err, wheel.ErrInvalid) {
		return say.Sentence(err), nil
	}
	return "", err
}
