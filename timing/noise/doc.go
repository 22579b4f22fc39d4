// Package noise answers how long one may stand where it is loud. It is arithmetic
// with a level that someone measured, by published rules, and never a clearance:
// how noise is judged where one stands is for local rules and people trained for
// it.
package noise
