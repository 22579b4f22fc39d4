// Package paper sets text and drawings on pages and writes them as PDF or SVG.
// Whoever draws a page is given a [Canvas], so that one drawing makes both. All
// lengths are mm on paper. Fonts are embedded; what they lack is shown as a box.
//
// It knows nothing of wheels and pins: packages sheets and cards say what stands
// on the pages.
package paper
