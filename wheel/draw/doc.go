// Package draw draws a machine from the side, and its wheel unrolled, from the
// machine's own figures.
//
// Lengths of lanes, slopes of ramps and feeds, the radius of the wheel and the
// diameter of a marble are to one scale. Where parts stand beside each other is
// not in a machine's file, so it is schematic, as are the signs for levers,
// gates, plates and lifts; the picture says so, beside its scale bar.
//
// The machine's picture is made in three steps:
//
//   - stations.go gathers channels that share their lanes and their kind into
//     stations, and stations that are alike into one, until few enough are left
//     to be read (a lane that several of them use is drawn once, and is called
//     by a letter elsewhere);
//   - station.go, wheelblock.go and signs.go draw each part at a scale, and
//     captions.go says its figures beneath it;
//   - layout.go sets the parts out in rows at the largest scale at which they
//     fit the width.
//
// Captions stand in columns of their own, so that no label can meet another.
//
// [Face] draws the wheel's face unrolled, with the pins on it and what is to be
// pulled and driven (face.go).
//
// [Machine] and [Face] return a [Picture]: shapes in pixels, a title and a description in
// plain words. svg.go writes it, alone or as a part of a page, where a style
// sheet gives its classes their colours.
package draw
