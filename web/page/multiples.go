package page

import (
	"fmt"
	"math"
	"strings"

	"pinwright/wheel/say"
)

// Small multiples are pictures small enough for a row of a table or a line of
// text: [Density] shows how full something is from its start to its end, [Trend]
// how one figure has changed. Rows that are compared share one scale
// ([DensityUpTo], [TrendWithin]). Their label is read out in the picture's place;
// [DensityWords] and [TrendWords] write one.

const (
	smallWide, smallHigh = 96, 24 // of the pictures, in units and px
	smallEdge            = 3      // kept free round a line, for the point at its end
	mostColumns          = 48     // of a density: two units each
	widestColumn         = 6.0
)

// TrendPoint is one value of a figure. X says when or where, in any unit: points
// stand as far apart as their Xs, and are given in their order.
type TrendPoint struct{ X, Y float64 }

// columnsOf are values as at most 48 columns: each the mean of equally many
// neighbours, so that a column keeps its meaning.
func columnsOf(values []float64) []float64 {
	n := min(len(values), mostColumns)
	columns := make([]float64, n)
	for i := range columns {
		from, to := i*len(values)/n, (i+1)*len(values)/n
		for _, v := range values[from:to] {
			columns[i] += drawable(v) / float64(to-from)
		}
	}
	return columns
}

// drawable is a value that a column can show: one below 0, or none, is empty.
func drawable(v float64) float64 {
	if !(v > 0) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

// densityPath draws values as columns on the floor of the picture, the highest
// being most.
func densityPath(values []float64, most float64) string {
	columns := columnsOf(values)
	if most <= 0 {
		for _, v := range columns {
			most = max(most, v)
		}
	}
	var path strings.Builder
	room := smallWide / float64(max(1, len(columns)))
	wide := min(max(room*0.7, room-1.5), widestColumn)
	for i, v := range columns {
		if v == 0 {
			continue
		}
		high := min(max(1, v/most*(smallHigh-1)), smallHigh-1)
		fmt.Fprintf(&path, "M%s %dv%sh%sv%sZ", Pixels(float64(i)*room+(room-wide)/2), smallHigh-1, Pixels(-high), Pixels(wide), Pixels(high))
	}
	return path.String()
}

// DensityWords is a label for values over a course, as in "Notes in each bar: 0 to
// 14, most in bar 7". of names one of them.
func DensityWords(what string, values []float64, of string) string {
	if len(values) == 0 {
		return what + ": none"
	}
	low, high, at := math.Inf(1), 0.0, 0
	for i, v := range values {
		v = drawable(v)
		low = min(low, v)
		if v > high {
			high, at = v, i
		}
	}
	if low == high {
		return fmt.Sprintf("%s: %s throughout", what, say.Rounded(high, 1))
	}
	return fmt.Sprintf("%s: %s to %s, most in %s %d", what, say.Rounded(low, 1), say.Rounded(high, 1), of, at+1)
}

// trendLine are points in the picture, from low at its foot to high at its head;
// where high is not above low, from the lowest to the highest of them.
func trendLine(points []TrendPoint, low, high float64) []TrendPoint {
	points = numbers(points)
	if len(points) == 0 {
		return nil
	}
	if !(high > low) {
		low, high = math.Inf(1), math.Inf(-1)
		for _, p := range points {
			low, high = min(low, p.Y), max(high, p.Y)
		}
	}
	from, to := points[0].X, points[len(points)-1].X
	line := make([]TrendPoint, len(points))
	for i, p := range points {
		at, up := 1.0, 0.5 // one point stands at the end; points that are equal half way up
		if to > from {
			at = (p.X - from) / (to - from)
		}
		if high > low {
			up = min(max(0, (p.Y-low)/(high-low)), 1)
		}
		line[i] = TrendPoint{smallEdge + at*(smallWide-2*smallEdge), smallHigh - smallEdge - up*(smallHigh-2*smallEdge)}
	}
	return line
}

// numbers are the points that can be drawn.
func numbers(points []TrendPoint) (all []TrendPoint) {
	for _, p := range points {
		if sum := p.X + p.Y; !math.IsNaN(sum) && !math.IsInf(sum, 0) {
			all = append(all, p)
		}
	}
	return all
}

func trendPath(line []TrendPoint) string {
	var path strings.Builder
	for i, p := range line {
		fmt.Fprintf(&path, "%c%s %s", "ML"[min(i, 1)], Pixels(p.X), Pixels(p.Y))
	}
	return path.String()
}

// TrendWords is a label for a figure's values, as in "Reload in ms: first 131, last
// 138, from 128 to 140".
func TrendWords(what string, points []TrendPoint) string {
	points = numbers(points)
	switch len(points) {
	case 0:
		return what + ": no values"
	case 1:
		return what + ": " + say.Rounded(points[0].Y, 1)
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		low, high = min(low, p.Y), max(high, p.Y)
	}
	return fmt.Sprintf("%s: first %s, last %s, from %s to %s", what,
		say.Rounded(points[0].Y, 1), say.Rounded(points[len(points)-1].Y, 1), say.Rounded(low, 1), say.Rounded(high, 1))
}
