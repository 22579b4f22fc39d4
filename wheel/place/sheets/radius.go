package sheets

import (
	"math"
	"pinwright/wheel"
)

// Radius is what a template is made for. A strip wrapped round pin tips is
// longer than one on the surface.
type Radius string

const (
	Surface Radius = "surface" // surface_radius_mm, or that of the pin tips where the machine's file has none
	Tips    Radius = "tips"    // radius_mm, to the pin tips
)

// MM is the radius on a wheel, in mm.
func (r Radius) MM(w wheel.Wheel) (float64, error) {
	switch r {
	case Surface, "":
		return w.SurfaceMM(), nil
	case Tips:
		return w.RadiusMM, nil
	}
	return 0, wheel.Refuse(wheel.ErrInvalid, "the radius is %q; it should be surface or tips", string(r))
}

// short says which radius sheets are made for, with its figure.
func (r Radius) short(w wheel.Wheel, mm float64) string {
	if r == Tips || w.SurfaceRadiusMM == 0 {
		return "pin tips, radius " + mmText(mm)
	}
	return "wheel's surface, radius " + mmText(mm)
}

// Words says which radius sheets are made for, with its figure in mm, and why
// where that is not the one asked for.
func (r Radius) Words(w wheel.Wheel, mm float64) string {
	if r != Tips && w.SurfaceRadiusMM == 0 {
		return r.short(w, mm) + " (the machine's file has no radius of the surface)"
	}
	return r.short(w, mm)
}

// RoundMM is the way once round a wheel on a radius, both in mm.
func RoundMM(radiusMM float64) float64 { return 2 * math.Pi * radiusMM }
