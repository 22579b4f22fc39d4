// Package say puts numbers, units, plurals and lists into words, once for
// pages, commands and sentences alike.
//
// A tempo is told to a tenth of a beat per minute. An upper bound is rounded
// down and a lower bound up, so that a tempo typed as it was told keeps to the
// bound. Numbers have a true minus sign and no trailing zeros.
package say
