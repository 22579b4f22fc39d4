// Package place brings a pinning to hands. [Changeover] works out the fewest
// pulls and drives that turn one pinning on the wheel into another, in the
// order in which the wheel turns. [Template], [PinList] and [ChangeoverList]
// draw what is laid on the wheel or carried to it, as PDF or SVG; [PinListCSV]
// and [ChangeoverCSV] write the same for other programs.
//
// Places on the wheel: the seam is at arc 0, where the holes of step 0 lie.
// Step s of a wheel with N steps lies at the angle 360° s/N and, on a radius R,
// at the arc s × 2πR/N. Row r lies first_row_mm + r × row_pitch_mm from the
// wheel's edge.
package place
