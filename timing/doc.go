// Package timing is the mechanics of the machine: how marbles move, which
// rules a pinning breaks at a tempo, and at which tempos it breaks none.
//
// [Compile] works a machine out in SI units, once. [Works.Turn] puts a pinning
// on its wheel. Everything asked of a [Turn] follows from one fact: every time
// in the machine is affine in the step period p, so many steps plus so many
// seconds. A pair of pins therefore forbids one open interval of p, and the
// tempos that are left are exact: none is found by trying.
package timing
