// Package cards draws what hangs beside a machine: [CrankCard] tells whoever
// turns the crank how fast to turn it, the red line, and what to do when
// something is wrong.
package cards
