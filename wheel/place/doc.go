// Package place brings pins onto a wheel. [Changeover] works out the fewest
// pulls and drives that turn one pinning on the wheel into another, in the order
// in which the wheel turns. [Apart] is the one place that says what is left to
// do: it compares the pins that are on the wheel with those that should be.
//
// What hands carry to the wheel is drawn in folders of their own: package sheets
// has the face at 1:1 and the lists, package cards the crank card, and package
// paper sets and writes the pages of both.
package place
