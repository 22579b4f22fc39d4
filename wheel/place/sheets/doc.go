// Package sheets draws what a crew pins a wheel from: [Template] is the wheel's
// face at 1:1, [PinList] and [ChangeoverList] are lists to be ticked by hand.
// [PinListCSV] and [ChangeoverCSV] write the lists for other programs.
//
// Where holes lie: the seam is at arc 0, at the holes of step 0. Step s of a
// wheel with N steps lies at the angle 360° s/N and, on a radius R, at the arc
// s × 2πR/N. Row r lies first_row_mm + r × row_pitch_mm from the wheel's edge.
package sheets
