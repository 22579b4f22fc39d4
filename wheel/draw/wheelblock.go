package draw

import "math"

// leastRimPX is how far apart marks on the rim have to be to be seen.
const leastRimPX = 2.4

// wheelSketch draws the wheel from its side, its centre at the origin.
func (d *drawing) wheelSketch() *sketch {
	w := d.m.Wheel
	r := w.RadiusMM * d.scale
	k := &sketch{name: "Wheel"}
	k.add(Shape{Kind: Disc, Class: "rim", At: []Point{{}}, R: r})
	if w.SurfaceRadiusMM > 0 {
		k.add(Shape{Kind: Disc, Class: "fine surface", At: []Point{{}}, R: w.SurfaceRadiusMM * d.scale})
	}
	if r < 6 {
		return k
	}
	for _, every := range []struct {
		steps int
		long  float64
	}{{1, 4}, {w.StepsPerBeat, 7}, {w.StepsPerBar(), 12}} {
		marks := float64(w.Steps) / float64(max(every.steps, 1))
		inside := r - every.long/2
		apart := 2 * math.Pi * inside / marks
		if apart < leastRimPX || marks < 1 || inside < 2*every.long {
			continue
		}
		k.add(Shape{Kind: Disc, Class: "steps", At: []Point{{}}, R: inside, Stroke: every.long, Dash: []float64{0.8, apart - 0.8}})
	}
	inner, hub := 0.84*r, 0.1*r
	k.add(Shape{Kind: Disc, Class: "fine", At: []Point{{}}, R: inner})
	const spokes = 8
	for i := range spokes {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / spokes)
		k.line("spoke", Point{hub * cos, hub * sin}, Point{inner * cos, inner * sin})
	}
	k.add(Shape{Kind: Disc, Class: "rim", At: []Point{{}}, R: hub}, Shape{Kind: Disc, Class: "solid", At: []Point{{}}, R: max(0.025*r, 1)})
	return k
}

// lift draws the lift as a belt with pockets, its foot at the origin.
func liftSketch(tall float64) *sketch {
	k := &sketch{name: "Lift"}
	const half = 7
	k.line("lift", Point{-half, -half}, Point{-half, -tall + half})
	k.line("lift", Point{half, -half}, Point{half, -tall + half})
	k.add(Shape{Kind: Disc, Class: "lift", At: []Point{{0, -half}}, R: half},
		Shape{Kind: Disc, Class: "lift", At: []Point{{0, -tall + half}}, R: half})
	const apart = 22
	for y := -2.2 * half; y > -tall+2*half; y -= apart {
		k.line("fine", Point{half, y}, Point{half + 7, y - 3})
		k.add(Shape{Kind: Disc, Class: "solid", At: []Point{{half + 4, y - 4.5}}, R: 2.2})
	}
	return k
}
