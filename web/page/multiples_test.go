package page

import (
	"math"
	"strings"
	"testing"
)

// A bar that is empty draws nothing, and equal bars are equally high, however
// many there are.
func TestADensityDrawsWhatThereIs(t *testing.T) {
	for _, c := range []struct {
		name   string
		values []float64
		most   float64
		want   string // worked by hand: 96 units for all, a column at most 6 wide in the middle of its room, 23 high
	}{
		{"nothing", nil, 0, ""},
		{"all empty", []float64{0, 0, math.NaN(), -1}, 0, ""},
		{"half full", []float64{2, 0, 1}, 0, "M13.00 23v-23.00h6.00v23.00ZM77.00 23v-11.50h6.00v11.50Z"},
		{"on a scale that is shared", []float64{2, 0, 1}, 4, "M13.00 23v-11.50h6.00v11.50ZM77.00 23v-5.75h6.00v5.75Z"},
		{"above the scale", []float64{9}, 4, "M45.00 23v-23.00h6.00v23.00Z"},
	} {
		if got := densityPath(c.values, c.most); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// Of more values than there is room for, neighbours are drawn as their mean: no
// value is lost, and none counts twice.
func TestADensityOfManyValuesKeepsTheirMean(t *testing.T) {
	for _, n := range []int{1, 47, 48, 49, 256, 1000} {
		values := make([]float64, n)
		sum := 0.0
		for i := range values {
			values[i] = float64(i % 7)
			sum += values[i]
		}
		columns := columnsOf(values)
		got := 0.0
		for i, v := range columns {
			got += v * float64((i+1)*n/len(columns)-i*n/len(columns))
		}
		if len(columns) > mostColumns || math.Abs(got-sum) > 1e-9 {
			t.Errorf("%d values summing to %g: %d columns standing for %g", n, sum, len(columns), got)
		}
	}
}

// Points stand as far apart as they are in time, and none leaves the picture.
func TestATrendKeepsItsDistances(t *testing.T) {
	line := trendLine([]TrendPoint{{0, 10}, {1, 30}, {2, math.NaN()}, {4, 20}}, 0, 0)
	// Worked by hand: 3 to 93 across, 21 to 3 up; a quarter of the way is 25.5.
	want := []TrendPoint{{3, 21}, {25.5, 3}, {93, 12}}
	if len(line) != len(want) {
		t.Fatalf("%v, want %v", line, want)
	}
	for i := range line {
		if line[i] != want[i] {
			t.Errorf("point %d is at %v, want %v", i, line[i], want[i])
		}
	}
	if one := trendLine([]TrendPoint{{5, 7}}, 0, 0); len(one) != 1 || one[0] != (TrendPoint{93, 12}) {
		t.Errorf("a single point is at %v, want it at the end, half way up", one)
	}
	for _, p := range trendLine([]TrendPoint{{0, -50}, {1, 500}}, 0, 100) {
		if p.Y < 0 || p.Y > smallHigh {
			t.Errorf("a value beyond the scale is drawn at %v", p)
		}
	}
	if trendLine(nil, 0, 0) != nil {
		t.Error("no points are drawn as some")
	}
}

func TestSmallPicturesSayWhatTheyShow(t *testing.T) {
	for got, want := range map[string]string{
		DensityWords("Notes in each bar", []float64{3, 0, 14}, "bar"):          "Notes in each bar: 0 to 14, most in bar 3",
		DensityWords("Notes in each bar", []float64{3, 3}, "bar"):              "Notes in each bar: 3 throughout",
		DensityWords("Notes in each bar", nil, "bar"):                          "Notes in each bar: none",
		TrendWords("Reload in ms", []TrendPoint{{0, 131}, {1, 128}, {2, 138}}): "Reload in ms: first 131, last 138, from 128 to 138",
		TrendWords("Reload in ms", []TrendPoint{{0, 131.04}}):                  "Reload in ms: 131",
		TrendWords("Reload in ms", nil):                                        "Reload in ms: no values",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	var drawn strings.Builder
	if err := Density([]float64{1, 2}, "Notes").Render(t.Context(), &drawn); err != nil || !strings.Contains(drawn.String(), `role="img" aria-label="Notes"`) {
		t.Errorf("the picture has no text in its place: %s, %v", drawn.String(), err)
	}
}
