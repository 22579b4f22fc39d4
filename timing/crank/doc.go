// Package crank answers how a hand turns the crank: how fast, how evenly, and
// whether it turns at all. [Measure] takes what was tapped; a [Sensor] takes what
// a sensor counts, turn by turn or mark by mark, and refuses what makes no sense.
// A [Report] says both in the same words, judged by the tempo window of a pinning.
// Times come in as arguments.
//
// Unevenness comes in two kinds. Wander is slow and never the same: a hand that
// speeds up and slows down over many beats. It is measured from whole turns of the
// crank, wander.go. Ripple is the same in every turn: a crank that goes light over
// the top. It shows between the marks of a disc only, ripple.go. Over whole turns
// ripple is always alike, so none of it is taken for wander; and each mark's time
// is compared with the turn around it, so that no wander is taken for ripple but
// what changes within a turn, and that is its doubt. Both come with a standard
// uncertainty, twice which holds the truth about 95 times in 100, doubt.go.
package crank
