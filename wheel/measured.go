package wheel

import (
	"fmt"
	"math"
	"time"
)

// Measured is what the crew found when it measured a figure. Its numbers are in
// the figure's own unit.
type Measured struct {
	Figure string `json:"figure"` // its path: channels.bar-c5.gate.reload_ms
	N      int    `json:"n,omitzero"`
	SD     Maybe  `json:"sd,omitzero"` // standard deviation from drop to drop
	U      Maybe  `json:"u,omitzero"`  // standard uncertainty of the mean; sd/√n if left out
	On     string `json:"on,omitempty"`
	By     string `json:"by,omitempty"`
	How    string `json:"how,omitempty"`
}

// Doubt is the standard uncertainty of the figure's mean: U or, where that is
// left out, sd/√n (JCGM 100:2008, 4.2.3). ok is false where neither is there.
func (e *Measured) Doubt() (u float64, ok bool) {
	if u, ok := e.U.Get(); ok {
		return u, true
	}
	sd, ok := e.SD.Get()
	if !ok || e.N < 1 {
		return 0, false
	}
	return sd / math.Sqrt(float64(e.N)), true
}

// MaxMeasured is how many figures may be listed as measured.
const MaxMeasured = 1 << 15

func (m *Machine) checkMeasured(c *checker) {
	if len(m.Measured) > MaxMeasured {
		c.Add("measured", "has %d entries; %d at most", len(m.Measured), MaxMeasured)
		return
	}
	first := map[string]int{}
	figures := m.figuresByPath(len(m.Measured) > 0)
	for i := range m.Measured {
		e := &m.Measured[i]
		at := func(key string) string { return fmt.Sprintf("measured[%d].%s", i, key) }
		f, is := figures[e.Figure]
		if before, twice := first[e.Figure]; twice {
			c.Add(at("figure"), "is %s, which measured[%d] is about already; keep one entry for a figure", Quoted(e.Figure), before)
			continue
		}
		first[e.Figure] = i
		switch {
		case !is:
			_, err := m.Figure(e.Figure)
			c.Add(at("figure"), "names no figure of this machine: %s", sayUnknown(err, e.Figure))
		case !f.Given:
			c.Add(at("figure"), "is %s, for which the file gives no value; give the value, or remove this entry", Quoted(e.Figure))
		}
		c.count(at("n"), e.N, 0, 1e9)
		c.maybe(at("sd"), e.SD, 0, 1e9, "spread")
		c.maybe(at("u"), e.U, 0, 1e9, "doubt")
		if _, ok := e.Doubt(); !ok && c.read(at("u")) && c.read(at("sd")) && c.read(at("n")) {
			c.Add(at("u"), "is missing; give u, or both sd and n")
		}
		if e.On != "" {
			if _, err := time.Parse(time.DateOnly, e.On); err != nil {
				c.Add(at("on"), "is %s; a date is written year-month-day, such as 2026-11-20", Quoted(e.On))
			}
		}
		c.line(at("by"), e.By)
		c.line(at("how"), e.How)
	}
}

func sayUnknown(err error, path string) string {
	if err == nil {
		return IDText(path)
	}
	return err.Error()
}

// figuresByPath is every figure by its path; nil if not asked for.
func (m *Machine) figuresByPath(asked bool) map[string]Figure {
	if !asked {
		return nil
	}
	all := m.Figures()
	byPath := make(map[string]Figure, len(all))
	for _, f := range all {
		byPath[f.Path] = f
	}
	return byPath
}
