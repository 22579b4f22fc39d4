package draw_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/draw"
)

// marksOf are the centres of a face's marks of a class.
func marksOf(p draw.Picture, class string) (at []draw.Point) {
	for _, g := range p.Groups {
		for _, s := range g.Shapes {
			if s.Class == class {
				at = append(at, s.At...)
			}
		}
	}
	return at
}

func pin(channel string, step int) wheel.Pin { return wheel.Pin{Channel: channel, Step: step} }

// A wheel of 64 steps and 3 rows of which the order in the file is not that on the
// wheel, 1,200 px wide: names take 92 px and 10 px are left at the end, so a step
// has (1200 − 92 − 10)/64 = 17.15625 px. A row has 285/3 px and so the most, 14;
// the rows' middles lie 15 + 7, 15 + 21 and 15 + 35 px down.
func TestAFaceHasEachPinInItsHole(t *testing.T) {
	m := small()
	pattern := m.Channels[0]
	m.Channels = nil
	for _, c := range []struct {
		id  string
		row int
	}{{"far", 5}, {"near", 1}, {"middle", 2}} {
		pattern.ID, pattern.Name, pattern.Row = c.id, "Bell "+c.id, c.row
		m.Channels = append(m.Channels, pattern)
	}
	on := []wheel.Pin{pin("near", 0), pin("near", 4), pin("far", 63)}
	to := []wheel.Pin{pin("near", 0), pin("middle", 8), pin("far", 63)}
	p := draw.Face(m, on, to, draw.FaceOptions{})
	const step = 17.15625
	for class, want := range map[string][]draw.Point{
		"pull":  {{X: 92 + 4.5*step, Y: 22}},
		"drive": {{X: 92 + 8.5*step, Y: 36}},
		"stay":  {{X: 92 + 0.5*step, Y: 22}, {X: 92 + 63.5*step, Y: 50}},
	} {
		if got := marksOf(p, class); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", class, got, want)
		}
	}
	if want := "1 pull, 1 drive, 2 pins stay."; p.Description != want {
		t.Errorf("it says %q, want %q", p.Description, want)
	}
	_, svg := written(t, p)
	wantText(t, join(svg), "bar 1", "4", "Bell near", "Bell middle", "Bell far", "5")
	// Told apart by shape: the first line of a triangle that points up goes down.
	for class, begins := range map[string]string{"pull": "m0 -", "drive": "m0 ", "stay": "h0"} {
		path := svg.all(func(e element) bool { return e.has(class) })
		if len(path) != 1 || !strings.Contains(path[0].attr("d"), begins) || class == "drive" && strings.Contains(path[0].attr("d"), "m0 -") {
			t.Errorf("%s: %v", class, path)
		}
	}
}

// What is to be done in some bars leaves the others to a sentence.
func TestLinesOfAFaceWithoutWorkAreNamed(t *testing.T) {
	m := demo.Machine() // 16 bars of 16 steps
	on := []wheel.Pin{pin("bar-c5", 0), pin("bar-c5", 100)}
	p := draw.Face(m, on, append(on, pin("bar-c5", 255)), draw.FaceOptions{WidthPX: 300})
	want := []string{
		"Bars 1 to 4 of the wheel: nothing to pull or drive, 1 pin stays.",
		"Bars 5 to 8 of the wheel: nothing to pull or drive, 1 pin stays.",
		"Bars 9 to 12 of the wheel: nothing to pull or drive, 0 pins stay.",
		"Bars 13 to 16 of the wheel: 0 pulls, 1 drive, 0 pins stay.",
	}
	if !slices.Equal(p.Stations, want) {
		t.Errorf("%q, want %q", p.Stations, want)
	}
	if got := len(marksOf(p, "stay")) + len(marksOf(p, "drive")); got != 1 {
		t.Errorf("%d marks are drawn, want the drive alone", got)
	}
	whole := draw.Face(m, on, on, draw.FaceOptions{WidthPX: 300})
	if got := len(marksOf(whole, "stay")); got != 2 || whole.HeightPX < 3*p.HeightPX/2 {
		t.Errorf("without work %d pins are drawn, want 2, at a height of %g px beside %g", got, whole.HeightPX, p.HeightPX)
	}
}

func TestAFaceSaysWhereWorkBegins(t *testing.T) {
	m := demo.Machine()
	for _, start := range []int{1, 100, 255} {
		for _, widthPX := range []float64{300, 1200} {
			p := draw.Face(m, nil, []wheel.Pin{pin("bar-c5", start)}, draw.FaceOptions{WidthPX: widthPX, Start: start})
			_, svg := written(t, p)
			wantText(t, join(svg), fmt.Sprint("begin at step ", start))
		}
	}
}

// The numbers of rows, the names and the numbers of bars do not run into one
// another, with 6 channels and with 64, on a phone and on a desk.
func TestAFaceCanBeRead(t *testing.T) {
	for _, channels := range []int{1, 6, 28, 64, 128} {
		for _, steps := range []int{16, 256, 1024, wheel.MaxSteps} {
			for _, widthPX := range []float64{280, 300, 620, 1200} {
				m := small()
				m.Wheel.Steps = steps
				pattern := m.Channels[0]
				m.Channels = nil
				var on []wheel.Pin
				for i := range channels {
					pattern.ID, pattern.Name, pattern.Row = fmt.Sprint("c", i), fmt.Sprint("Glockenspiel Number ", i), i
					m.Channels = append(m.Channels, pattern)
					on = append(on, pin(pattern.ID, i%steps))
				}
				p := draw.Face(m, on, nil, draw.FaceOptions{WidthPX: widthPX})
				name := fmt.Sprintf("%d channels, %d steps, %g px", channels, steps, widthPX)
				textsApart(t, name, p)
				if at := marksOf(p, "pull"); len(at) != channels {
					t.Errorf("%s: %d pulls, want %d", name, len(at), channels)
				}
			}
		}
	}
}

// textsApart fails t where two texts of a picture overlap, judged by their boxes with
// a character half the type size wide and 0.8 of it high (from memory, of the
// pages' typeface).
func textsApart(t *testing.T, name string, p draw.Picture) {
	t.Helper()
	type box struct {
		x0, y0, x1, y1 float64
		text           string
	}
	var all []box
	for _, g := range p.Groups {
		for _, s := range g.Shapes {
			if s.Kind != draw.Text {
				continue
			}
			b := box{s.At[0].X, s.At[0].Y - 0.8*s.SizePX, s.At[0].X + 0.5*s.SizePX*float64(len([]rune(s.Text))), s.At[0].Y, s.Text}
			if b.x1 > p.WidthPX || b.y1 > p.HeightPX || b.x0 < 0 || b.y0 < 0 {
				t.Fatalf("%s: %q is out of the picture", name, s.Text)
			}
			for _, o := range all {
				if b.x0 < o.x1 && o.x0 < b.x1 && b.y0 < o.y1 && o.y0 < b.y1 {
					t.Fatalf("%s: %q overlaps %q", name, s.Text, o.text)
				}
			}
			all = append(all, b)
		}
	}
}

// Each hole of either list is drawn once, as what is to be done there, or is told
// in words where its line has no work; all within the picture.
func TestAnyFaceIsDrawnWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := machines().Draw(t, "machine")
		pins := rapid.SliceOfNDistinct(rapid.Custom(func(t *rapid.T) wheel.Pin {
			return pin(rapid.SampledFrom(m.Channels).Draw(t, "channel").ID, rapid.IntRange(0, m.Wheel.Steps-1).Draw(t, "step"))
		}), 0, 40, func(p wheel.Pin) wheel.Pin { return p })
		on, to := pins.Draw(t, "on"), pins.Draw(t, "to")
		p := draw.Face(m, append(slices.Clone(on), pin("elsewhere", 0)), append(slices.Clone(to), pin(m.Channels[0].ID, m.Wheel.Steps)), draw.FaceOptions{
			WidthPX: rapid.SampledFrom([]float64{0, 280, 620, 1200}).Draw(t, "width"), Start: rapid.IntRange(0, m.Wheel.Steps-1).Draw(t, "start"),
		})
		var want [3]int
		for _, pin := range on {
			if slices.Contains(to, pin) {
				want[2]++
			} else {
				want[0]++
			}
		}
		for _, pin := range to {
			if !slices.Contains(on, pin) {
				want[1]++
			}
		}
		told := 0
		for _, words := range p.Stations {
			if _, rest, ok := strings.Cut(words, "nothing to pull or drive, "); ok {
				n := 0
				if _, err := fmt.Sscan(rest, &n); err != nil {
					t.Fatal(words)
				}
				told += n
			}
		}
		for i, class := range []string{"pull", "drive", "stay"} {
			at := marksOf(p, class)
			n := len(at)
			if class == "stay" {
				n += told
			}
			if n != want[i] {
				t.Fatalf("%d of %s, want %d", n, class, want[i])
			}
			for _, at := range at {
				if at.X < 0 || at.X > p.WidthPX || at.Y < 0 || at.Y > p.HeightPX {
					t.Fatalf("%s at %v, in a picture of %g by %g px", class, at, p.WidthPX, p.HeightPX)
				}
			}
		}
		written(t, p)
	})
}

func ExampleFace() {
	m := demo.Machine()
	on := []wheel.Pin{{Channel: "bar-c5", Step: 0}, {Channel: "bar-c5", Step: 16}}
	to := []wheel.Pin{{Channel: "bar-c5", Step: 0}, {Channel: "bar-e5", Step: 16}}
	p := draw.Face(m, on, to, draw.FaceOptions{})
	fmt.Println(p.Title + ".")
	fmt.Println(p.Description)
	// Output:
	// The wheel of Hailstone, unrolled.
	// 1 pull, 1 drive, 1 pin stays.
}
