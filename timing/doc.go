// Package timing is the mechanics of the machine: how marbles move, which
// rules a pinning breaks at a tempo, and at which tempos it breaks none.
//
// [Compile] works a machine out in SI units, once. [Works.Turn] puts a pinning
// on its wheel. Everything asked of a [Turn] follows from one fact: every time
// in the machine is affine in the step period p, so many steps plus so many
// seconds. A pair of pins therefore forbids one open interval of p, and the
// tempos that are left are exact: none is found by trying.
//
// That is what the machine could do if every figure were exact and every drop
// alike. How far it can be trusted, files named keep… say: [Turn.Faults] is what
// has to be expected in a turn at a tempo, [Turn.KeepBelow] the tempo up to which
// that is put up with. keepsources.go reads what varies and what is in doubt from
// a machine, keepscatter.go works out how times move with it, keepterms.go and
// keepplate.go list what some pins risk, keepchance.go has the chance of one
// fault and bounds on it, keep.go adds up and searches. keepplaces.go says where
// most faults come from, keepcosts.go what measuring a figure would win and what
// the distance to the bare limit comes from, keepchords.go how many chords are
// heard apart.
package timing
