package timing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"pinwright/wheel/say"
)

// CostSentence says which figures are worth measuring, n at most, and what that
// wins of the tempo to keep below: "Measure next: speed off the plate of Bar C5
// (+1.3 BPM), latch of Tube D3 (+0.4 BPM)." It is empty where nothing would win
// as much as is shown.
func (w *Works) CostSentence(costs []DoubtCost, n int) string {
	var next []string
	for _, c := range costs[:min(n, len(costs))] {
		f, err := w.Machine.Figure(c.Figure)
		if bpm := say.TempoDown(c.BPM); err == nil && bpm != "0" {
			next = append(next, fmt.Sprintf("%s (+%s BPM)", f.Label, bpm))
		}
	}
	if len(next) == 0 {
		return ""
	}
	return "Measure next: " + strings.Join(next, ", ") + "."
}

func (s ShareOf) String() string { return [...]string{"spread", "doubt", "pins", "hand"}[s] }

// DivideSentence says what the distance between the tempo to keep below and the
// bare limit comes from, the most first: "Between 91 and 113.2 BPM: spread 40 %,
// doubt 35 %, pins 20 %, hand 5 %." It is empty where there is no distance.
func (w *Works) DivideSentence(s Standing, shares []Share) string {
	sum := 0.0
	for _, share := range shares {
		sum += share.BPM
	}
	if s.KeepBelowBPM == nil || s.MaxSafeBPM-*s.KeepBelowBPM < leastBand || sum == 0 {
		return ""
	}
	shares = slices.Clone(shares)
	slices.SortStableFunc(shares, func(a, b Share) int { return cmp.Compare(b.BPM, a.BPM) })
	var parts []string
	for i, percent := range percents(shares, sum) {
		if percent > 0 {
			parts = append(parts, fmt.Sprintf("%s %d %%", shares[i].By, percent))
		}
	}
	return fmt.Sprintf("Between %s and %s BPM: %s.", say.TempoDown(*s.KeepBelowBPM), say.TempoDown(s.MaxSafeBPM), strings.Join(parts, ", "))
}

// percents is the shares in whole percent, a hundred in all: those that rounding
// down takes most from are rounded up.
func percents(shares []Share, sum float64) []int {
	whole, order, left := make([]int, len(shares)), make([]int, len(shares)), 100
	part := func(i int) float64 { return shares[i].BPM / sum * 100 }
	for i := range shares {
		whole[i], order[i] = int(math.Floor(part(i))), i
		left -= whole[i]
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(part(b)-float64(whole[b]), part(a)-float64(whole[a]))
	})
	for _, i := range order[:min(left, len(order))] {
		whole[i]++
	}
	return whole
}
