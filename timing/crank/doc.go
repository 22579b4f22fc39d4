// Package crank answers how a hand turns the crank: how fast, how evenly, and
// whether it turns at all. [Measure] takes what was tapped; a [Sensor] takes what
// a sensor counts, turn by turn, and refuses what makes no sense. A [Report] says
// both in the same words, judged by the tempo window of a pinning. Times come in
// as arguments.
package crank
