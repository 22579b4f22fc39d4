// Package wheel holds the words of the machine: [Machine] with its [Wheel],
// [Lane]s and [Channel]s, and [Pinning] with its [Pin]s; how they are
// checked, and what changes of them are. Package file reads and writes them.
//
// Values stand here as they stand in the files, in millimetres, milliseconds,
// degrees and beats per minute, so that what is written is what was read.
// Package timing turns them into SI units, once, when it works out a machine.
package wheel
